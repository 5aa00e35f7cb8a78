#!/bin/bash
# Fits R's nls to the fourteen calibrators of assay_standard_curve_test.cpp, with and without weights, and checks that R
# still gives the parameters and standard errors that the test demands of fit_curve. Exit 77: R is not installed.
set -e
if ! command -v Rscript >/dev/null || ! Rscript -e 'stopifnot("nDcentral" %in% names(formals(nls.control)))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript (4.1 or newer) is not installed (apt-get install r-base-core)"
    exit 77
fi
cases=$(cd "$(dirname "$0")/../models" && pwd)/assay_standard_curve_test.cpp
Rscript - "$cases" <<'R'
test <- readLines(commandArgs(TRUE)[1])
whole <- paste(test, collapse = " ")
numbers <- function(name) {
    list <- sub(paste0(".*std::vector<double> ", name, " = \\{([^}]*)\\}.*"), "\\1", whole)
    as.numeric(strsplit(list, ",")[[1]])
}
demanded <- function(what) {
    as.numeric(sub(".*Approx\\(([-0-9.e]+)\\).*", "\\1", grep(paste0("CHECK(", what, " == Approx("), test, fixed = TRUE, value = TRUE)[1]))
}
x <- numbers("contents")
y <- numbers("signals")
sds <- numbers("sds")
stopifnot(length(x) == 14, length(y) == 14, length(sds) == 14)
check <- function(name, weights) {
    fit <- nls(y ~ d + (a - d) / (1 + (x / c)^b), start = list(a = 1.2, b = 1.1, c = 0.9, d = 0.08), weights = weights,
               control = nls.control(tol = 1e-9, maxiter = 200, nDcentral = TRUE))
    found <- c(coef(fit), sigma(fit), sqrt(diag(vcov(fit))))
    names <- c(paste0(name, ".curve.", c("a", "b", "c", "d")), paste0(name, ".residual_sd"), paste0(name, "_errors(", 0:3, ")"))
    for (i in seq_along(found)) {
        want <- demanded(names[i])
        cat(sprintf("%-24s R %.9g, test %.9g\n", names[i], found[i], want))
        if (!is.finite(want) || abs(found[i] - want) > 1e-7 * abs(found[i])) quit(status = 1)
    }
}
check("plain", rep(1, 14))
check("weighed", 1 / sds^2)
R
