#!/bin/bash
# Kriging by the R package gstat, live, of the fourteen places of contamination_kriging_test.cpp: checks that it still
# gives the numbers that the test demands of the contamination model. Exit 77: R or gstat is not installed.
set -e
if ! command -v Rscript >/dev/null || ! Rscript -e 'library(gstat); library(sp)' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the packages gstat and sp is not installed (apt-get install r-cran-gstat)"
    exit 77
fi
cases=$(cd "$(dirname "$0")/../models" && pwd)/contamination_kriging_test.cpp
Rscript - "$cases" <<'R'
suppressMessages({library(sp); library(gstat)})
whole <- paste(readLines(commandArgs(TRUE)[1]), collapse = " ")
numbers <- function(name) {
    list <- sub(paste0(".*std::vector<double> ", name, "\\{([^}]*)\\}.*"), "\\1", whole)
    as.numeric(strsplit(list, ",")[[1]])
}
all <- data.frame(x = numbers("east_m"), y = numbers("north_m"), drift = numbers("drift"))
don <- numbers("don"); error <- numbers("error")
n <- length(don)
stopifnot(n == 14, length(error) == 14, nrow(all) == 20)
data <- all[1:n, ]; data$z <- log(don)
targets <- all[(n + 1):20, ]
coordinates(data) <- ~x+y; coordinates(targets) <- ~x+y
worst <- 0
check <- function(name, ...) {
    invisible(capture.output(k <- krige(..., debug.level = 0)))
    want <- c(numbers(paste0(name, "_estimate")), numbers(paste0(name, "_variance")))
    apart <- max(abs(c(k$var1.pred, k$var1.var) - want))
    cat(sprintf("%-11s %g apart\n", name, apart))
    if (Sys.getenv("PRINT") != "") {
        cat(paste(sprintf("%.13f", k$var1.pred), collapse = ", "), "\n")
        cat(paste(sprintf("%.13f", k$var1.var), collapse = ", "), "\n")
    }
    worst <<- max(worst, apart)
}
model <- vgm(0.35, "Exp", 6000, 0.09)
one_error <- vgm(0.05, "Err", 0, add.to = model)
check("ordinary", z ~ 1, data, targets, one_error)
check("universal", z ~ drift, data, targets, one_error)
check("filtered", z ~ drift, data, targets, model, weights = 1 / error)
check("block", z ~ 1, data, targets, one_error, block = c(4000, 3000))
check("drift_block", z ~ drift, data, targets, one_error, block = c(4000, 3000))
quit(status = if (is.finite(worst) && worst < 1e-11) 0 else 1)
R
