#!/bin/bash
# Runs lme4::lmer and a restricted likelihood written out with dense matrices on the data of
# assay_variance_components_test.cpp and checks that R still gives the numbers that the test demands of
# variance_components. Exit 77: R or its package lme4 is not installed.
set -e
if ! command -v Rscript >/dev/null || ! Rscript -e 'stopifnot(requireNamespace("lme4", quietly = TRUE))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the package lme4 is not installed (apt-get install r-cran-lme4)"
    exit 77
fi
here=$(cd "$(dirname "$0")" && pwd)
Rscript "$here/variance_components.R" "$here/../models/assay_variance_components_test.cpp"
