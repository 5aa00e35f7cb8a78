#!/usr/bin/env bash
# GDAL is loaded when it is first called: a command that does without it starts without it, and one that needs it says
# what is missing where it cannot be loaded.
set -u
program=$(realpath "$1")
[ "$(uname -sm)" = "Linux x86_64" ] || { echo "GDAL is linked as usual here"; exit 77; }
ldd "$program" | grep -qE 'lib(asan|tsan|ubsan)' && { echo "GDAL is linked as usual under a sanitizer"; exit 77; }
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
bad=0
complain() { echo "$1"; bad=1; }

ldd "$program" | grep -q libgdal && complain "GDAL is loaded before anybody calls it"
name=$(grep -ao 'libgdal\.so\.[0-9][0-9.]*' "$program" | head -n 1)
[ -n "$name" ] || { echo "the program does not know what GDAL is called"; exit 1; }
cat >"$work/fields.geojson" <<'END'
{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"field":"F1"},"geometry":{"type":"Polygon",
"coordinates":[[[10.0,50.0],[10.005,50.0],[10.005,50.003],[10.0,50.003],[10.0,50.0]]]}}]}
END
mkdir "$work/broken"
: >"$work/broken/$name"
without_gdal() { LD_LIBRARY_PATH="$work/broken" "$program" "$@" >"$work/out" 2>&1; }
without_gdal new "$work/a.lodicule" || complain "a store cannot be made without GDAL: $(cat "$work/out")"
without_gdal import "$work/a.lodicule" fields "$work/fields.geojson" && complain "outlines were read without GDAL"
grep -q "$name: a library of this program cannot be used" "$work/out" || complain "no word of GDAL: $(cat "$work/out")"
grep -q "install the package" "$work/out" || complain "no word of how to mend it: $(cat "$work/out")"
"$program" import "$work/a.lodicule" fields "$work/fields.geojson" >"$work/out" 2>&1 ||
    complain "outlines are not read with GDAL: $(cat "$work/out")"
exit $bad
