#!/usr/bin/env bash
# Gridded weather, written by netCDF4 for Python and by the tools of ecCodes, comes through `lodicule import` with the numbers that
# these tools read back themselves: packed NetCDF with rain of each hour, NetCDF with CF names and rain that counts by
# the day (its times forwards and backwards), GRIB of both editions with rain since the start of the forecast, GRIB with
# a turned pole; a reduced grid is refused. $1: the program. Exit 77: one of the two is not installed.
set -euo pipefail
program=$(realpath "$1")
script=$(realpath "$(dirname "${BASH_SOURCE[0]}")/weather_grids.py")
python=/usr/bin/python3
if ! [ -x $python ] || ! $python -c 'import netCDF4' >/dev/null 2>&1 || ! command -v grib_filter >/dev/null; then
    echo "SKIPPED: python3-netcdf4 and libeccodes-tools are not installed"
    exit 77
fi
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
$python "$script" write .

square() {
    echo '{"type":"Feature","properties":{"field":"'"$1"'"},"geometry":{"type":"Polygon","coordinates":[[['"$2,$3],[$4,$3],[$4,$5],[$2,$5],[$2,$3]]]}}"
}
echo '{"type":"FeatureCollection","features":['"$(square Ford -79.96 36.09 -79.95 36.10),$(square Glen -80.31 36.40 -80.30 36.41)]}" >outlines.geojson
echo 'offset = "-05:00"' >clock.toml

fail() { echo "$1"; exit 1; }
for file in hourly.nc by_the_day.nc backwards.nc edition1.grib edition2.grib; do
    rm -f farm.lodicule
    "$program" new farm.lodicule >/dev/null
    "$program" import farm.lodicule fields outlines.geojson >/dev/null
    "$program" import farm.lodicule weather $file --columns clock.toml --strict >"$file.txt" || fail "$file is refused"
    "$program" export farm.lodicule weather --out "$file.csv" >/dev/null
    grep -q "grid 80.00 W 36.00 N stands for Ford" "$file.txt" || fail "$file: no note on the cell of Ford"
done
grep -q "it counts on from 00:00 UTC of each day" by_the_day.nc.txt || fail "the counting of rain is not told"
$python "$script" compare .

# The cell of a turned grid is the one that ecCodes finds nearest; rows of unlike lengths are no grid of ours.
rm -f farm.lodicule
"$program" new farm.lodicule >/dev/null
"$program" import farm.lodicule fields outlines.geojson >/dev/null
"$program" import farm.lodicule weather turned.grib --columns clock.toml --strict >/dev/null || fail "turned.grib is refused"
"$program" export farm.lodicule weather --out turned.csv >/dev/null
wanted=$(grib_get -w shortName=2t,step=5 -l 36.095,-79.955,1 turned.grib)
found=$(awk -F, '/2026-06-01T00:00:00-05:00/ && $2 > -80.1 {print $5 + 273.15}' turned.csv)
awk -v a="$wanted" -v b="$found" 'BEGIN {exit !(b != "" && a - b < 0.006 && b - a < 0.006)}' ||
    fail "turned.grib: ecCodes sees $wanted K at Ford, the program $found"
samples=$(codes_info -s)
cp "${samples%%:*}/reduced_gg_pl_48_grib2.tmpl" reduced.grib
if timeout 60 "$program" import farm.lodicule weather reduced.grib >said.txt 2>&1; then fail "a reduced grid is read"; fi
grep -q "each row of its grid has a number of cells of its own (a reduced grid), which is not read here" said.txt ||
    fail "$(cat said.txt)"
rm -f farm.lodicule
"$program" new farm.lodicule >/dev/null
"$program" import farm.lodicule fields outlines.geojson >/dev/null
"$program" import farm.lodicule weather edition2.grib --columns clock.toml >/dev/null

# A forecast says so, or is not read; it stands beside the station of its cell.
if "$program" import farm.lodicule weather long.grib >said.txt 2>&1; then fail "a forecast passed for observed hours"; fi
grep -q "the file is a forecast: it was made 2026-06-01 00:00 UTC and reaches 47 hours on" said.txt || fail "$(cat said.txt)"
"$program" import farm.lodicule weather long.grib --columns clock.toml --forecast-made 2026-06-01T00:00Z >said.txt
"$program" export farm.lodicule stations --out stations.csv >/dev/null
grep -q 'grid 80.00 W 36.00 N, forecast 2026-06-01 00:00 UTC' stations.csv || fail "$(cat stations.csv)"
