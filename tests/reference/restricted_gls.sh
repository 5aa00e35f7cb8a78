#!/usr/bin/env bash
# Restricted likelihood by nlme::gls with exponential correlation, live: the numbers of contamination_restricted_test.cpp
# (Meuse, R's package sp), and `lodicule variogram --fit reml` on the Meuse and on the wheat trial that nlme ships
# (Wheat2: 224 plots, 56 varieties; Pinheiro & Bates 2000, Mixed-Effects Models in S and S-PLUS, section 5.4). $1: the
# program. Exit 77: R, nlme or sp is not installed.
set -euo pipefail
program=$(realpath "$1")
if ! command -v Rscript >/dev/null ||
    ! Rscript -e 'stopifnot(requireNamespace("nlme", quietly = TRUE), requireNamespace("sp", quietly = TRUE))' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the packages nlme and sp is not installed (apt-get install r-cran-nlme r-cran-sp)"
    exit 77
fi
here=$(cd "$(dirname "$0")" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
export OPENBLAS_NUM_THREADS=1
Rscript "$here/restricted_gls.R" write
"$program" variogram meuse.csv --value log_zinc --drift root_dist --fit reml --shape "nugget + exponential" --json \
    >meuse.json
"$program" variogram wheat.csv --value yield --drift "$(seq -s, -f 'v%.0f' 2 56)" --fit reml --shape exponential --json \
    >wheat.json
Rscript "$here/restricted_gls.R" compare "$here/../models/contamination_restricted_test.cpp"
