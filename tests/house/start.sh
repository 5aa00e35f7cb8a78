#!/usr/bin/env bash
# The command of the README without a screen, on the build that is there: the three users get their answers, the files
# that it names are left behind, and a second run says the same.
set -u
program=$(realpath "$1")
start=$(realpath "$(dirname "${BASH_SOURCE[0]}")/../../app/start")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
bad=0
complain() { echo "$1"; bad=1; }

LODICULE_BUILD=$(dirname "$program")
export LODICULE_BUILD LIBGL_ALWAYS_SOFTWARE=1
unset DISPLAY WAYLAND_DISPLAY
stamp() { stat -c '%n %Y %s' "$LODICULE_BUILD/build.ninja" "$LODICULE_BUILD/CMakeCache.txt" "$program" 2>/dev/null; }
before=$(stamp)

for run in first second; do
    "$start" --no-window --out "$work/out" >"$work/$run" 2>"$work/err" ||
        complain "the $run run ends with $?: $(tail -n 3 "$work/err")"
    [ ! -s "$work/err" ] || complain "the $run run writes to stderr: $(head -n 3 "$work/err")"
done
said=$work/first
grep -q "^== making the demo seasons" "$said" || complain "the demo seasons are not made"
# One section of what was said: from its heading to the next.
section() { awk -v heading="$1" '/^== /{ inside = index($0, heading) > 0; next } inside' "$said"; }

# The agronomist: a first field, which is the one that the command itself puts first.
store=$work/out/demo.lodicule
"$program" first "$store" --season 2026 --limit 1.0 --tests 10 --json >"$work/first.json" || complain "first --json fails"
field=$(grep -m 1 '"field"' "$work/first.json" | sed 's/.*: "\(.*\)".*/\1/')
[ -n "$field" ] || complain "first --json names no field"
section "which field first?" | grep -qE "^ *1 +$field " || complain "which field first: $field is not in the first place"
# The grower: the fields' numbers, the verdict on structure, and the caution that goes with them.
section "how is it" >"$work/map.txt"
grep -q "^Structure within fields: " "$work/map.txt" || complain "the map gives no verdict on structure"
[ "$(grep -cE '^[A-Z][0-9]{2}' "$work/map.txt")" -ge 40 ] || complain "the map lists $(grep -cE '^[A-Z][0-9]{2}' "$work/map.txt") fields"
grep -q "not a certificate" "$work/map.txt" || complain "the map carries no caution"
# The intake: the plan, and each bin of the demo.
section "which load to which bin?" >"$work/bins.txt"
grep -qE "^Bin plan, season 2026: [1-9][0-9]* loads? waits?" "$work/bins.txt" || complain "the bin plan does not say how many loads wait"
for bin in S1 S2 S6 H1; do
    grep -qE "^$bin " "$work/bins.txt" || complain "the bin plan does not list bin $bin"
done

# What is left behind.
section "which load to which bin?" | grep -qF "are in $work/out: map/, report.html, window.png" ||
    complain "the last line does not say where the files are"
kind() { head -c 4 "$1" 2>/dev/null | od -An -tx1 | tr -d ' \n'; }
for picture in "$work/out/window.png" "$work"/out/map/*.png; do
    [ "$(kind "$picture")" = 89504e47 ] || complain "$picture is no PNG"
done
for raster in "$work"/out/map/*.tif; do
    case $(kind "$raster") in 49492a00 | 4d4d002a) ;; *) complain "$raster is no TIFF" ;; esac
done
for layer in "$work"/out/map/*.gpkg; do
    [ "$(head -c 13 "$layer" 2>/dev/null)" = "SQLite format" ] || complain "$layer is no GeoPackage"
done
grep -q "</html>" "$work/out/report.html" 2>/dev/null || complain "the report is not there or not whole"

# Again: the demo is not made anew, and every answer is the same.
grep -q "^== making the demo seasons" "$work/second" && complain "the second run makes the demo anew"
diff <(grep -v "making the demo seasons" "$work/first" | sed -n '/^== disease risk/,$p') \
    <(sed -n '/^== disease risk/,$p' "$work/second") >"$work/diff" || complain "the second run says something else: $(head -n 5 "$work/diff")"
[ "$(stamp)" = "$before" ] || complain "the build folder is not as it was"

# A folder without the program is refused in a sentence.
LODICULE_BUILD=$work "$start" --no-window --out "$work/none" >"$work/none-out" 2>"$work/err"
[ $? -eq 1 ] && [ "$(wc -l <"$work/err")" -eq 1 ] && grep -q "holds no program lodicule" "$work/err" && [ ! -s "$work/none-out" ] ||
    complain "a folder without the program: $(head -n 2 "$work/err")"
[ ! -e "$work/none" ] || complain "a refused start leaves files behind"

[ $bad -eq 0 ] && echo "app/start --no-window: three answers, maps, plan, report and picture; twice the same"
exit $bad
