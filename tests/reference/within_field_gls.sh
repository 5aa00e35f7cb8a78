#!/bin/bash
# Runs nlme::gls (R) on the Meuse zinc of R's sp package and checks that R still gives the restricted log likelihoods
# that contamination_within_field_test.cpp demands of within_field_log_likelihood. Exit 77: R, nlme or sp is missing.
set -e
if ! command -v Rscript >/dev/null ||
    ! Rscript -e 'stopifnot(requireNamespace("nlme", quietly = TRUE), requireNamespace("sp", quietly = TRUE))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the packages nlme and sp is not installed (apt-get install r-cran-nlme r-cran-sp)"
    exit 77
fi
cases=$(cd "$(dirname "$0")/../models" && pwd)/contamination_within_field_test.cpp
Rscript - "$cases" <<'R'
suppressMessages({library(nlme); library(sp)})
data(meuse)
test <- readLines(commandArgs(TRUE)[1])
demanded <- function(what) as.numeric(sub(".*= *(-?[0-9.]+);.*", "\\1", grep(paste0("double ", what, " ="), test, value = TRUE)[1]))
m <- data.frame(x = meuse$x, y = meuse$y, z = log(meuse$zinc), side = factor(meuse$x < 179700))
# sd .7, structured share .85, range 250 m, error variance q: R's sigma^2 is the sum, its nugget what is not structured.
loglik <- function(model, form, q) {
    total <- .7^2 + q
    fit <- gls(model, m, corExp(c(250, 1 - .85 * .7^2 / total), form = form, nugget = TRUE, fixed = TRUE),
               method = "REML", control = glsControl(sigma = sqrt(total)))
    as.numeric(logLik(fit))
}
check <- function(name, found) {
    want <- demanded(name)
    cat(sprintf("%-10s R %.9f, test %.9f\n", name, found, want))
    if (!is.finite(want) || abs(found - want) > 2e-8) quit(status = 1)
}
check("one_field", loglik(z ~ 1, ~ x + y, .02))
check("without_error", loglik(z ~ 1, ~ x + y, 0))
check("two_fields", loglik(z ~ 0 + side, ~ x + y | side, .02))
R
