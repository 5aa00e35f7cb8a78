#!/usr/bin/env bash
# The same store, seed and question give the same bytes: again, with one thread or two, and in a German locale on the
# other side of the date line. Stores built at the same told moment have the same chain of records.
set -u
program=$(realpath "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
if [ -f demo-for-tests/demo.lodicule ]; then
    mkdir "$work/demo" && cp -r demo-for-tests/. "$work/demo/"
else
    "$program" demo "$work/demo" >/dev/null || { echo "the demo store cannot be made"; exit 1; }
fi
cd "$work" || exit 1
bad=0
complain() { echo "$1"; bad=1; }

# A German locale (decimal comma) where the machine has one; without it the C library falls back to C.
german=$(locale -a 2>/dev/null | grep -iE '^de_DE\.utf-?8$' | head -n 1)
if [ -z "$german" ] && command -v localedef >/dev/null && [ -f /usr/share/i18n/locales/de_DE ]; then
    mkdir locales && localedef -i de_DE -f UTF-8 "$work/locales/de_DE.UTF-8" 2>/dev/null
    [ -d "$work/locales/de_DE.UTF-8" ] && german=de_DE.UTF-8 && export LOCPATH=$work/locales
fi
said="LC_ALL=${german:-de_DE.UTF-8 (which this machine does not have: it falls back to C)} TZ=Pacific/Apia"

awk 'BEGIN {
    print "x,y,v"
    for (i = 0; i < 80; ++i) printf "%d,%d,%.3f\n", i * 37 % 101, i * 61 % 97, 1 + sin(i * 37 % 101 / 15) + i * 7 % 5 / 10
}' </dev/null >points.csv

start=17.35,47.43  # among the demo's fields
amounts="--kit-lot OM-26-B --commodity wheat --portion 62 --ratio 5 --expect 15"
# Everything that a reporting command says or leaves, in one folder. $1: folder, $2: threads.
ask() {
    local to=$1 threads=$2 status=0
    mkdir "$to"
    cp demo/demo.lodicule "$to/s.lodicule"
    (
        cd "$to" || exit 1
        "$program" risk s.lodicule --season 2026 --json --threads "$threads" >risk.json &&
        "$program" risk s.lodicule --season 2026 --threads "$threads" >risk.txt &&
        "$program" first s.lodicule --season 2026 --limit 0.75 --tests 10 --json --threads "$threads" >first.json &&
        "$program" first s.lodicule --season 2026 --limit 0.75 --tests 4 --walk walks --from "$start" --minutes 300 --route round.gpx --json --threads "$threads" >walk.json &&
        "$program" review s.lodicule --limit 0.75 --json --threads "$threads" --out review.png >review.json &&
        "$program" review s.lodicule --limit 0.75 --field C02 --threads "$threads" >field.txt &&
        "$program" map s.lodicule --season 2026 --limit 0.75 --json --threads "$threads" --out maps >map.json &&
        "$program" bins s.lodicule --season 2026 --json --threads "$threads" >bins.json &&
        "$program" report s.lodicule --season 2026 --limit 0.75 --threads "$threads" --out season.html >report.txt &&
        "$program" variogram ../points.csv --x x --y y --value v --json >variogram.json &&
        "$program" krige ../points.csv --x x --y y --value v --fit least-squares --cell 5 --cross-validate --json --out grid.tif >krige.json &&
        "$program" krige ../points.csv --x x --y y --value v --fit least-squares --cell 5 --json --out grid.csv >krige2.json &&
        "$program" plan-sampling --limit 1.0 --good 0.6 --bad 1.5 --cost-strip 9.5 --lot 24.5 --lots-median 0.5 --lots-cv 80 --json --out plan.svg >plan.json &&
        "$program" plan-sampling --limit 1.25 --rounding 0.05 --out plan.png >plan.txt &&
        "$program" control s.lodicule --json --out bench.png >control.json &&
        "$program" control s.lodicule >control.txt &&
        "$program" results s.lodicule --season 2026 --limit 1.25 --json --threads "$threads" >results.json &&
        "$program" results s.lodicule --season 2026 --limit 1.25 --own-duplicates --threads "$threads" >results.txt &&
        "$program" amounts s.lodicule $amounts --json >amounts.json &&
        "$program" amounts s.lodicule $amounts >amounts.txt &&
        "$program" export s.lodicule tests --out tests.csv >export.txt &&
        "$program" export s.lodicule weather --out weather.csv >>export.txt &&
        "$program" export s.lodicule fields --out fields.geojson >>export.txt &&
        "$program" check s.lodicule >check.txt
    ) 2>"$to.err" || { complain "$to: a command failed: $(tail -n 2 "$to.err")"; status=1; }
    rm -f "$to"/s.lodicule*
    return $status
}
# Two answers are the same, file by file.
same() {
    local a=$1 b=$2 file
    diff <(cd "$a" && find . -type f | sort) <(cd "$b" && find . -type f | sort) >difference || complain "$b: other files than in $a: $(head -n 3 difference)"
    while read -r file; do
        cmp -s "$a/$file" "$b/$file" || complain "$b: ${file#./} differs from that of $a: $(cmp "$a/$file" "$b/$file" 2>&1 | head -n 1)"
    done < <(cd "$a" && find . -type f)
}
ask one-thread 1
[ "$(find one-thread/maps -type f | wc -l)" -ge 3 ] && [ -s one-thread/bins.json ] || complain "there is nothing to compare"
ask two-threads 2
same one-thread two-threads
{ export LC_ALL=${german:-de_DE.UTF-8} TZ=Pacific/Apia; } 2>/dev/null
ask german-in-apia 2
same one-thread german-in-apia
unset LC_ALL TZ LOCPATH

# The moment of a record is the only thing that a clock gives; SOURCE_DATE_EPOCH tells it.
build() {
    "$program" new "$1" >/dev/null || complain "$1 cannot be made"
    local kind
    for kind in fields crops limits kit-lots controls loads bins samples tests; do
        [ $kind = fields ] && file=demo/fields.geojson || file=demo/$kind.csv
        "$program" import "$1" $kind $file --actor Ennoth >/dev/null 2>err || complain "$1: import of $kind: $(head -n 2 err)"
    done
    "$program" import "$1" weather demo/weather-2025.csv --actor Ennoth >/dev/null 2>err || complain "$1: import of weather: $(head -n 2 err)"
    "$program" check "$1" | grep -o 'last hash *[0-9a-f]*' >"$1.last"
}
export SOURCE_DATE_EPOCH=1780000000
build first.lodicule
TZ=Pacific/Apia build second.lodicule
[ -s first.lodicule.last ] && cmp -s first.lodicule.last second.lodicule.last ||
    complain "two stores built at one told moment: $(cat first.lodicule.last), $(cat second.lodicule.last)"
SOURCE_DATE_EPOCH=1780000001 build third.lodicule
cmp -s first.lodicule.last third.lodicule.last && complain "a store built at another moment has the same chain: the moment is not in it"

[ $bad -eq 0 ] && echo "same bytes: again, with 1 and 2 threads, and under $said"
exit $bad
