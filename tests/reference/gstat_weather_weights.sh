#!/bin/bash
# Weights of five stations for a field, by inverse distance and by ordinary kriging, from the R package gstat, live:
# checks that R still gives the numbers that weather_interpolation_test.cpp demands. A weight is the estimate from values
# that are 1 at one station and 0 at the others. Exit 77: R or its package gstat is not installed.
set -e
if ! command -v Rscript >/dev/null || ! Rscript -e 'library(gstat); library(sp)' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the packages gstat and sp is not installed"
    exit 77
fi
cases=$(cd "$(dirname "$0")/../models" && pwd)/weather_interpolation_test.cpp
OPENBLAS_NUM_THREADS=1 Rscript - "$cases" <<'R'
suppressMessages({library(sp); library(gstat)})
test <- readLines(commandArgs(TRUE)[1])
demanded <- function(what) as.numeric(sub(".*Approx\\(([-0-9.e]+)\\).*", "\\1", grep(paste0("CHECK\\(", what, " =="), test, value = TRUE)[1]))
x <- c(0, 30, -20, 5, 60); y <- c(0, 10, 25, -40, -15)
field <- SpatialPoints(cbind(12, 4))
weight <- function(k, ...) {
    at <- data.frame(x = x, y = y, v = as.numeric(seq_along(x) == k)); coordinates(at) <- ~x+y
    found <- NULL
    invisible(capture.output(found <- suppressWarnings(krige(v~1, at, field, ..., debug.level = 0))))
    found$var1.pred
}
by_distance <- function(k) {
    at <- data.frame(x = x, y = y, v = as.numeric(seq_along(x) == k)); coordinates(at) <- ~x+y
    idw(v~1, at, field, idp = 2, debug.level = 0)$var1.pred
}
failed <- FALSE
for (k in seq_along(x)) for (way in c("kriged", "by_distance", "without_nugget")) {
    found <- switch(way, kriged = weight(k, vgm(2, "Exp", 40, 0.3)), without_nugget = weight(k, vgm(2, "Sph", 90)),
                    by_distance = by_distance(k))
    want <- demanded(sprintf("%s\\[%d\\]", way, k - 1))
    cat(sprintf("%-14s station %d  R %.10f, test %.9f\n", way, k, found, want))
    if (!is.finite(want) || abs(found - want) > 1e-9) failed <- TRUE
}
quit(status = if (failed) 1 else 0)
R
