#!/usr/bin/env bash
# Restricted likelihood by lme4::lmer, live: the data and the numbers of contamination_restricted_test.cpp that come
# from lme4 (Penicillin, Dyestuff2). Exit 77: R or its package lme4 is not installed.
set -euo pipefail
if ! command -v Rscript >/dev/null || ! Rscript -e 'stopifnot(requireNamespace("lme4", quietly = TRUE))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the package lme4 is not installed (apt-get install r-cran-lme4)"
    exit 77
fi
here=$(cd "$(dirname "$0")" && pwd)
export OPENBLAS_NUM_THREADS=1
Rscript "$here/restricted_lme4.R" "$here/../models/contamination_restricted_test.cpp"
