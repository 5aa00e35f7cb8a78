#!/usr/bin/env bash
# Variograms, fits and kriging by `lodicule variogram` and `lodicule krige` against the R package gstat, live, on the
# Meuse data that R's sp package ships. $1: the program. Exit 77: R or gstat is not installed.
set -euo pipefail
program=$(realpath "$1")
if ! command -v Rscript >/dev/null || ! Rscript -e 'library(gstat); library(sp)' >/dev/null 2>&1; then
    echo "SKIPPED: Rscript with the packages gstat and sp is not installed"
    exit 77
fi
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cp "$(dirname "${BASH_SOURCE[0]}")/gstat_meuse.R" "$folder/"
cd "$folder"
export OPENBLAS_NUM_THREADS=1
Rscript gstat_meuse.R write

zinc="nugget 0.05066243 + spherical 0.5906078 range 897.0209"
krige() { "$program" krige meuse.csv --x x --y y --value zinc --log "$@" >/dev/null 2>>notes.txt; }
"$program" variogram meuse.csv --value zinc --log --json >variogram.json
"$program" variogram meuse.csv --value zinc --log --robust --json >robust.json
"$program" variogram meuse.csv --value zinc --log --direction 0,45,90,135 --json >directions.json
"$program" variogram meuse.csv --value zinc --log --drift root_dist --json >residual.json
krige --at grid.csv --variogram "$zinc" --cross-validate --residuals residuals.csv --out ordinary.csv
krige --variogram "$zinc" --folds 5 --residuals folds.csv
krige --at grid.csv --variogram "$zinc" --mean 365.03746786532862 --out simple.csv
krige --at grid.csv --variogram "nugget 0.0798 + spherical 0.1485283 range 877.3" --drift root_dist --out drift.csv
krige --at grid.csv --variogram "$zinc" --drift east,north --out trend.csv
krige --at grid.csv --variogram "$zinc" --neighbours 16 --within 400 --out near.csv
krige --at grid.csv --variogram "nugget 0.05 + spherical 0.59 range 1200 azimuth 30 ratio 0.4" --out turned.csv
krige --at grid.csv --variogram "nugget 0.01 + spherical 0.59 range 897" --error-variance error --out errors.csv
krige --at grid.csv --variogram "error 0.05066243 + spherical 0.5906078 range 897.0209" --out filtered.csv
"$program" krige meuse.csv --value log_zinc --at grid.csv --variogram "$zinc" --block 40x40 --out block.csv \
    >/dev/null 2>>notes.txt
"$program" krige meuse.csv --value log_zinc --crs EPSG:28992 --over area.geojson --variogram "$zinc" --out area.csv \
    >/dev/null 2>>notes.txt
Rscript gstat_meuse.R compare
