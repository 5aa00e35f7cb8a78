#!/bin/bash
# Runs survival::survreg on the ten results of assay_censored_lognormal_test.cpp and checks that R still gives the numbers
# that the test demands of fit_censored_lognormal. Exit 77: R or its package survival is not installed.
set -e
if ! command -v Rscript >/dev/null || ! Rscript -e 'stopifnot(requireNamespace("survival", quietly = TRUE))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the package survival is not installed (apt-get install r-cran-survival)"
    exit 77
fi
cases=$(cd "$(dirname "$0")/../models" && pwd)/assay_censored_lognormal_test.cpp
Rscript - "$cases" <<'R'
suppressMessages(library(survival))
test <- readLines(commandArgs(TRUE)[1])
demanded <- function(what) as.numeric(sub(".*Approx\\(([-0-9.]+)\\).*", "\\1", grep(paste0("CHECK\\(", what, " =="), test, value = TRUE)[1]))
seen <- c(.31, .42, .55, .60, .88, 1.30, 2.10)
check <- function(name, low, high) {
    fit <- survreg(Surv(low, high, type = "interval2") ~ 1, dist = "lognormal", control = list(rel.tolerance = 1e-14, maxiter = 200))
    found <- c(mu = unname(coef(fit)), sigma = fit$scale, log_likelihood = fit$loglik[1])
    for (n in names(found)) {
        want <- demanded(paste0(name, "\\.", n))
        cat(sprintf("%-7s %-15s R %.7f, test %.6f\n", name, n, found[n], want))
        if (!is.finite(want) || abs(found[n] - want) > 5.1e-7) quit(status = 1)
    }
}
check("fit", c(rep(NA, 3), seen), c(rep(.25, 3), seen))
check("wider", c(rep(NA, 3), seen, 7.5), c(rep(.25, 3), seen, NA))
R
