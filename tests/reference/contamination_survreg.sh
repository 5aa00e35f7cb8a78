#!/usr/bin/env bash
# Censored regression by survival::survreg, live, of the data in contamination_censored_test.cpp: checks that the ovarian
# data there are those of R, and that R still gives the numbers which the test demands of the contamination model. Exit
# 77: R or its package survival is not installed.
set -euo pipefail
if ! command -v Rscript >/dev/null || ! Rscript -e 'stopifnot(requireNamespace("survival", quietly = TRUE))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the package survival is not installed (apt-get install r-cran-survival)"
    exit 77
fi
cases=$(cd "$(dirname "$0")/../models" && pwd)/contamination_censored_test.cpp
Rscript - "$cases" <<'R'
suppressMessages(library(survival))
whole <- paste(readLines(commandArgs(TRUE)[1]), collapse = " ")
numbers <- function(name) {
    list <- sub(paste0(".*std::vector<double> ", name, "\\{([^}]*)\\}.*"), "\\1", whole)
    as.numeric(strsplit(list, ",")[[1]])
}
worst <- 0
check <- function(name, found, within) {
    want <- numbers(name)
    apart <- if (length(found) == length(want)) max(abs(unname(found) / want - 1)) else Inf
    cat(sprintf("%-14s %.2g apart, relative (at most %g)\n", name, apart, within))
    if (Sys.getenv("PRINT") != "") cat(paste(sprintf("%.12f", found), collapse = ", "), "\n")
    worst <<- max(worst, apart / within)
}
fitted <- function(...) survreg(..., dist = "lognormal", control = list(rel.tolerance = 1e-14, maxiter = 200))
check("ovarian_days", ovarian$futime, 1e-15)
check("ovarian_age", ovarian$age, 1e-12)
stopifnot(numbers("ovarian_event") == ovarian$fustat)
fit <- fitted(Surv(futime, fustat) ~ I((age - 56) / 10), ovarian)
check("ovarian_fit", c(coef(fit), fit$scale, fit$loglik[2]), 1e-9)
check("ovarian_vcov", diag(vcov(fit)), 1e-6)
end <- function(x) ifelse(x == 0, NA, x)
d <- data.frame(risk = numbers("mixed_risk"), low = end(numbers("mixed_low")), high = end(numbers("mixed_high")))
fit <- fitted(Surv(low, high, type = "interval2") ~ risk, d)
check("mixed_fit", c(coef(fit), fit$scale, fit$loglik[2]), 1e-9)
check("mixed_vcov", diag(vcov(fit)), 1e-6)
one_end <- d[is.na(d$low) | is.na(d$high) | d$low == d$high, ]
fit <- fitted(Surv(low, high, type = "interval2") ~ 1, one_end)
check("mean_fit", c(coef(fit), fit$scale, fit$loglik[1]), 1e-9)
quit(status = if (is.finite(worst) && worst <= 1) 0 else 1)
R
