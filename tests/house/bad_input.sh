#!/usr/bin/env bash
# Bad input as a user meets it: each case gets one clear sentence, exit code 1 and a store that is as it was; what only
# looks bad (<0.2, Windows line ends, the hour that comes twice in autumn) goes in.
set -u
command -v ogr2ogr >/dev/null || { echo "SKIPPED: ogr2ogr (gdal-bin) is not installed"; exit 77; }
work=$(mktemp -d)
mounted=
clean_up() {
    [ -n "$mounted" ] && umount "$mounted"
    rm -rf "$work"
}
trap clean_up EXIT
# A copy, so that a user without rights can run it wherever the build folder stands.
chmod 755 "$work"
cp "$1" "$work/lodicule"
program=$work/lodicule
if [ -f demo-for-tests/demo.lodicule ]; then
    mkdir "$work/demo" && cp -r demo-for-tests/. "$work/demo/"
else
    "$program" demo "$work/demo" >/dev/null || { echo "the demo store cannot be made"; exit 1; }
fi
cd "$work" || exit 1
cp demo/demo.lodicule season.lodicule
store=season.lodicule
bad=0
complain() { echo "$1"; bad=1; }

kinds="fields crops scouting stations weather limits contracts costs kit-lots calibrators controls loads load-parts bins samples tests moves"
# What a store holds, in bytes: every kind as it is exported, and the chain's last number.
contents() {
    local kind file
    for kind in $kinds; do
        file=contents.csv
        [ "$kind" = fields ] && file=contents.geojson
        rm -f "$file"
        "$program" export "$1" "$kind" --out "$file" >/dev/null 2>&1 || echo "export of $kind failed"
        cat "$file"
    done | sha256sum
    last_record "$1"
}
last_record() { "$program" check "$1" 2>&1 | grep -o 'last [0-9a-f]*'; }
# A store is one file when nobody has it open; after a failure its last records may stand beside it.
copy() {
    rm -f "$2" "$2"-wal "$2"-shm
    cp "$1" "$2"
    [ ! -s "$1-wal" ] || cp "$1-wal" "$2-wal"
}
remember() { copy $store before.lodicule; }
# The same bytes, or (where pages were written and taken back) the same records.
unchanged() {
    cmp -s $store before.lodicule && [ ! -s $store-wal ] && return
    [ "$(contents $store)" = "$(contents before.lodicule)" ] || { complain "$1: the store was changed"; remember; }
}
run() {
    timeout 60 "$program" "$@" >out 2>err
    code=$?
}
show() { head -c 600 err | head -n 4; }

# The whole is refused: exactly one line, from lodicule, with these words; exit code 1.
whole() {
    local what=$1 words=$2
    shift 2
    run "$@"
    [ $code -eq 1 ] || complain "$what: exit code $code, not 1"
    [ "$(wc -l <err)" -eq 1 ] || complain "$what: $(wc -l <err) lines on stderr, not 1: $(show)"
    grep -q '^lodicule: .*\.$' err || complain "$what: not one sentence of lodicule: $(show)"
    grep -qE -- "$words" err || complain "$what: \"$words\" is not said: $(show)"
    unchanged "$what"
}
# Every row is refused: file, row, column, what, how to mend; exit code 1.
rows() {
    local what=$1 number=$2 words=$3
    shift 3
    run "$@"
    [ $code -eq 1 ] || complain "$what: exit code $code, not 1"
    [ "$(wc -l <err)" -eq "$number" ] || complain "$what: $(wc -l <err) lines on stderr, not $number: $(show)"
    [ "$(grep -cE '^[a-z_0-9]+\.(csv|geojson), row [0-9]+, column [a-z_]+: .*[.?] To mend it: .*\.$' err)" -eq "$number" ] ||
        complain "$what: file, row, column, what and how to mend are not all said: $(show)"
    grep -qE -- "$words" err || complain "$what: \"$words\" is not said: $(show)"
    unchanged "$what"
}
good() {
    local what=$1
    shift
    run "$@"
    [ $code -eq 0 ] || complain "$what: refused: $(show)"
    [ ! -s err ] || complain "$what: something on stderr: $(show)"
}
usage() {
    local what=$1 words=$2
    shift 2
    run "$@"
    [ $code -eq 2 ] || complain "$what: exit code $code, not 2"
    [ "$(wc -l <err)" -eq 1 ] || complain "$what: $(wc -l <err) lines on stderr, not 1: $(show)"
    grep -q '^lodicule: ' err || complain "$what: it does not begin with lodicule: $(show)"
    grep -qE -- "$words" err || complain "$what: \"$words\" is not said: $(show)"
    unchanged "$what"
}

tests=test,time,sample,don,unit
# One test of a sample that the demo has; the reading is what is bad.
reading() { printf '%s\n%s,2026-07-04T08:00+02:00,G26-016,%s,%s\n' $tests "$1" "$2" "${3:-mg/kg}"; }
remember

# Tables ------------------------------------------------------------------------------------------------------------
: >empty.csv
whole "an empty file" "empty.csv: the file is empty \(0 bytes\)" import $store tests empty.csv
echo $tests >header.csv
good "a header only" import $store tests header.csv
grep -q "header.csv: there is a header and no row under it" out || complain "a header only: not said"
unchanged "a header only"
echo "test,tme,sample,don,unit" >missing.csv
echo "B1,2026-07-04T08:00+02:00,G26-016,0.5,mg/kg" >>missing.csv
whole "a missing column" 'required column time is missing; "tme" comes near' import $store tests missing.csv
reading B1 0.5 percent >unit.csv
rows "a wrong unit" 1 'row 2, column unit: "percent" is no known unit.*mg/kg, ppm, ug/kg or ppb' import $store tests unit.csv
reading B1 '"1,25"' >comma.csv
rows "a decimal comma" 1 'column don: "1,25" has a decimal comma.*1\.25.*decimal = ","' import $store tests comma.csv
reading B1 -0.2 >negative.csv
rows "a negative content" 1 "column don: -0.2 is negative.*<0.2" import $store tests negative.csv
for word in NaN nan inf -inf 1e400; do
    reading B1 $word >nan.csv
    rows "the result $word" 1 "column don: \"?$word\"? is (no number|too big)|is negative" import $store tests nan.csv
done
reading B1 '' >nothing.csv
rows "no result" 1 "column don: there is no result.*valid = no" import $store tests nothing.csv
reading S26-021 4.44 >other.csv
rows "a test that is there with other content" 1 "column test: test S26-021 is there already, with other content.*--correct" \
    import $store tests other.csv
{ reading B1 0.5; reading B1 0.6 | tail -n 1; } >twice.csv
whole "a test twice with other content, --strict" \
    "--strict refuses the whole file; the first: twice.csv, row 3, column test: test B1 comes twice in this file: don_mg_per_kg is 0.5" \
    import $store tests twice.csv --strict
printf 'sample,stage,kind,field,chosen_because\nB1,standing,composite,C0l,random\n' >field.csv
rows "an unknown field" 1 'column field: there is no field "C0l" in the store; did you mean "C0[0-9]"' import $store samples field.csv
printf '%s\nB1,2031-07-04T08:00+02:00,G26-016,0.5,mg/kg\n' $tests >season.csv
rows "a test of another season" 1 "column time: .* lies in season 2031, of which field C02 has no crop record" \
    import $store tests season.csv
printf 'field,season,crop,flowering_date\nC01,2027,wheat,2025-05-20\n' >flowering.csv
rows "a flowering date of another season" 1 "column flowering_date: flowering_date 2025-05-20 is of another season than 2027" \
    import $store crops flowering.csv
reading B1 450 >unit.csv
rows "a result in another unit" 1 "column don: 450 mg/kg is more DON than grain is found with.*--as-written" \
    import $store tests unit.csv
printf 'move,time,from,to,mass_t\nB1,2026-07-28T18:00+02:00,H1,S6,5\n' >move.csv
rows "a move out of an empty bin" 1 "column mass_t: 5.0 t are to leave bin H1, in which 0.0 t lie" \
    import $store moves move.csv
printf 'sample,stage,kind,longitude_deg,latitude_deg,chosen_because\nB1,standing,point,47.43,17.35,random\n' >swapped.csv
rows "longitude and latitude swapped" 1 "column longitude_deg: .*when the two are swapped.*swap longitude_deg and latitude_deg" \
    import $store samples swapped.csv
printf 'sample,stage,kind,longitude_deg,latitude_deg,chosen_because\nB1,standing,point,17.35,97,random\n' >pole.csv
rows "a latitude beyond the pole" 1 "column latitude_deg: 97 is out of range" import $store samples pole.csv

# Results, controls, amounts and plans ------------------------------------------------------------------------------
heavy=test,time,sample,don,unit,portion_g
printf '%s\nB1,2026-07-04T08:00+02:00,G26-016,0.5,mg/kg,90000\n' $heavy >heavy.csv
rows "a portion heavier than its sample" 1 "column portion_g: the portion of test B1 weighs 90000 g, and the sample G26-016 .*check both" \
    import $store tests heavy.csv
printf 'kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,signal,curve_a,curve_b,curve_c,curve_d\nB9,wheat,1,0.3,5,test,1.2,1.1,%s,0.08\nB9,wheat,1,0.3,5,test,1.2,1.1,%s,0.08\n' 0.9 0.8 >curves.csv
whole "a kit lot twice with different curves, --strict" "kit_lot B9, wheat, 1 comes twice in this file: curve_c is 0.9 there, here 0.8" \
    import $store kit-lots curves.csv --strict
whole "a chart of no such control" 'there is no control "K999"' control $store --control K999
whole "a run rule of no such name" 'there is no rule "beyond"; did you mean "beyond-3"' control $store --rules beyond
whole "charts as no known picture" "bench\.xyz" control $store --out bench.xyz
whole "results in no such basis" '"wet" is no basis.*as_is, dry or pct12' results $store --basis wet
whole "results against a negative limit" "-1 mg/kg is no limit.*above 0" results $store --limit -1
whole "results of a season without tests" "the season 1990 has no test of grain.*2024, 2025, 2026" results $store --season 1990
whole "amounts for no such kit lot" 'no kit lot "OM-26-Z"|OM-26-Z' amounts $store --kit-lot OM-26-Z
whole "amounts with a portion larger than the sample" "a portion of 62 g is larger than the sample of 40 g" \
    amounts $store --kit-lot OM-26-B --commodity wheat --portion 62 --sample-mass 40 --ratio 5
whole "amounts without a ratio" "ratio" amounts $store --kit-lot OM-26-B --commodity wheat --portion 62
whole "a plan for a limit of nothing" "0 mg/kg is no limit" plan-sampling --limit 0
whole "a plan whose good lots are worse than its bad ones" "does not lie on both sides" plan-sampling --limit 1 --good 2 --bad 1

# Files -------------------------------------------------------------------------------------------------------------
reading B1 0.5 | iconv -f UTF-8 -t UTF-16 >utf16.csv
whole "UTF-16" "utf16.csv: the file is UTF-16.*UTF-8" import $store tests utf16.csv
reading B1 0.5 | iconv -f UTF-8 -t UTF-16LE >utf16le.csv
whole "UTF-16 without a mark" "utf16le.csv, row 1: .*UTF-16.*UTF-8" import $store tests utf16le.csv
printf '%s,operator\nB1,2026-07-04T08:00+02:00,G26-016,0.5,mg/kg,M\374ller\n' $tests >latin1.csv
whole "Latin-1" "latin1.csv, row 2: .*UTF-8" import $store tests latin1.csv
{ echo $tests; head -c 50000000 /dev/zero | tr '\0' a; echo; } >long.csv
run import $store tests long.csv
[ $code -eq 1 ] || complain "a line of 50 MB: exit code $code, not 1"
[ "$(wc -c <err)" -lt 1000 ] || complain "a line of 50 MB: the answer has $(wc -c <err) letters"
grep -q "^long.csv, row 2: the row has 1 cells where the first row has 5" err || complain "a line of 50 MB: $(show)"
unchanged "a line of 50 MB"
rm -f long.csv
mkdir folder
whole "a folder instead of a table" "folder: this is a folder, not a file" import $store tests folder
whole "a folder instead of outlines" "lodicule: folder: " import $store fields folder
whole "a missing file" "nothere.csv: there is no such file" import $store tests nothere.csv
whole "missing outlines" "nothere.geojson: there is no such file" import $store fields nothere.geojson
reading B1 0.5 >good.csv
whole "an unknown kind" 'no kind of table called "tets"; did you mean "tests"' import $store tets good.csv
whole "an unknown kind to export" 'no kind of table called "weahter"; did you mean "weather"' export $store weahter --out x.csv
whole "an unknown kind to add" 'no kind of table called "sample"; did you mean "samples"' add $store sample sample=B1
whole "an unknown column to add" 'no column "tst" in tests; did you mean "test"' add $store tests tst=B1
usage "an unknown command" 'no command "rsk"; did you mean "risk"' rsk $store
usage "an unknown option" "--seson" risk $store --seson 2026
usage "an option without its value" "--limit" map $store --limit
whole "a column map that is not there" 'no column map "nomap.toml"' import $store tests good.csv --columns nomap.toml
echo '[colums]' >map.toml
whole "a column map with a wrong word" '"colums" says nothing to a column map; did you mean "columns"' \
    import $store tests good.csv --columns map.toml
echo 'x = [' >map.toml
whole "a column map that is no TOML" "map.toml, line 1: this is no TOML" import $store tests good.csv --columns map.toml

# Outlines ----------------------------------------------------------------------------------------------------------
outline() {
    echo '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"field":"'"$1"'"},"geometry":{"type":"Polygon","coordinates":[['"$2"']]}}]}'
}
outline B1 '[47.40,17.43],[47.40,17.44],[47.41,17.44],[47.41,17.43],[47.40,17.43]' >swap.geojson
rows "an outline with swapped coordinates" 1 'field "B1" has longitude and latitude swapped' import $store fields swap.geojson
outline B1 '[17.40,47.43],[17.41,47.44],[17.40,47.43],[17.40,47.43]' >line.geojson
rows "an outline without ground" 1 'field "B1" .*encloses no ground' import $store fields line.geojson
ogr2ogr -f "ESRI Shapefile" nosystem.shp demo/fields.geojson 2>/dev/null
rm -f nosystem.prj
whole "outlines without a reference system" "nosystem.shp: the outlines have no reference system.*\.prj" import $store fields nosystem.shp
ogr2ogr -f GPKG whole.gpkg demo/fields.geojson
for size in 3000 60000 $(($(stat -c %s whole.gpkg) - 8192)); do
    head -c "$size" whole.gpkg >cut.gpkg
    whole "a GeoPackage of which $size bytes came" "cut.gpkg: the GeoPackage is damaged or cut short" import $store fields cut.gpkg
done
head -c 30000 demo/fields.geojson >cut.geojson
whole "a GeoJSON cut short" "lodicule: cut.geojson: " import $store fields cut.geojson
sed 's/"field"/"feld"/' demo/fields.geojson >feld.geojson
whole "outlines without the attribute" 'no attribute "field"; did you mean "feld"' import $store fields feld.geojson

# Stores ------------------------------------------------------------------------------------------------------------
# Every command meets a file that is no store in the same words, and leaves its bytes alone.
no_store() {
    local what=$1 file=$2 words=$3 sum
    sum=$(sha256sum <"$file")
    whole "$what, check" "$words" check "$file"
    whole "$what, import" "$words" import "$file" tests good.csv
    whole "$what, add" "$words" add "$file" costs name=hour value=3
    whole "$what, export" "$words" export "$file" tests --out x.csv
    whole "$what, risk" "$words" risk "$file"
    whole "$what, first" "$words" first "$file" --limit 1
    whole "$what, map" "$words" map "$file" --limit 1 --out maps
    whole "$what, bins" "$words" bins "$file"
    whole "$what, window" "$words" window "$file" --picture x.png
    [ "$(sha256sum <"$file")" = "$sum" ] || complain "$what: its bytes were changed"
    [ ! -e x.csv ] && [ ! -e x.png ] && [ ! -e maps ] || complain "$what: something was written beside it"
    rm -rf x.csv x.png maps
}
: >zero.lodicule
no_store "a store of 0 bytes" zero.lodicule "zero.lodicule: the file is empty \(0 bytes\)"
echo "a letter to nobody" >text.lodicule
no_store "a text" text.lodicule "text.lodicule: the file is no store"
ogr2ogr -f SQLite foreign.lodicule demo/fields.geojson
no_store "another program's database" foreign.lodicule "foreign.lodicule: the file is a database of another program"
cp demo/demo.lodicule newer.lodicule
# The number of the schema stands at bytes 60 to 63 of an SQLite file.
printf '\0\0\0\143' | dd of=newer.lodicule bs=1 seek=60 conv=notrunc 2>/dev/null
no_store "a newer store" newer.lodicule "newer.lodicule: the store was made by a newer lodicule \(schema 99, this program knows"
head -c 500000 demo/demo.lodicule >short.lodicule
no_store "a store cut short" short.lodicule "short.lodicule: the store is damaged"
whole "a store that is not there" "nothere.lodicule: there is no such store.*lodicule new" import nothere.lodicule tests good.csv
[ ! -e nothere.lodicule ] || complain "a store that is not there: it was made"
whole "a new store over an old one" "season.lodicule: there is a file of this name already" new $store
whole "a new store nowhere" "there is no folder .*nowhere" new nowhere/x.lodicule
whole "a folder for a store" "this is a folder, not a store" check folder

# A folder without the right to write -------------------------------------------------------------------------------
as_nobody=()
[ "$(id -u)" -eq 0 ] && as_nobody=(setpriv --reuid=65534 --regid=65534 --clear-groups env "HOME=$work")
mkdir locked && cp demo/demo.lodicule locked/ && chmod 444 locked/demo.lodicule && chmod 555 locked
locked=$(sha256sum <locked/demo.lodicule)
refused_there() {
    local what=$1 words=$2
    shift 2
    timeout 60 "${as_nobody[@]}" "$program" "$@" >out 2>err
    code=$?
    [ $code -eq 1 ] || complain "$what in a read-only folder: exit code $code, not 1"
    [ "$(wc -l <err)" -eq 1 ] || complain "$what in a read-only folder: $(wc -l <err) lines on stderr: $(show)"
    grep -qE -- "^lodicule: locked/$words" err || complain "$what in a read-only folder: \"$words\" is not said: $(show)"
}
refused_there import "demo.lodicule: the store or its folder cannot be written" import locked/demo.lodicule tests good.csv
refused_there add "demo.lodicule: the store or its folder cannot be written" add locked/demo.lodicule costs name=hour value=3
refused_there new "x.lodicule: the store cannot be made" new locked/x.lodicule
refused_there export "x.csv: the folder cannot be written" export locked/demo.lodicule tests --out locked/x.csv
refused_there map "maps: the folder cannot be made" map locked/demo.lodicule --limit 1 --out locked/maps
refused_there demo "demo: the folder cannot be made" demo locked/demo
refused_there window "x.png: the file cannot be written" window locked/demo.lodicule --picture locked/x.png
"${as_nobody[@]}" "$program" check locked/demo.lodicule >/dev/null 2>err || complain "check does not read a read-only store: $(show)"
"${as_nobody[@]}" "$program" risk locked/demo.lodicule --json >/dev/null 2>err || complain "risk does not read a read-only store: $(show)"
chmod 000 locked/demo.lodicule
refused_there check "demo.lodicule: no right to read the store" check locked/demo.lodicule
chmod 444 locked/demo.lodicule
[ "$(sha256sum <locked/demo.lodicule)" = "$locked" ] || complain "a read-only folder: the store was changed"
[ "$(ls locked)" = demo.lodicule ] || complain "a read-only folder: something was left in it: $(ls locked)"

# A full disk -------------------------------------------------------------------------------------------------------
# A year and a half of 15 stations, invented.
awk 'BEGIN {
    print "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm"
    for (s = 0; s < 15; ++s) for (m = 1; m <= 18; ++m) for (d = 1; d <= 28; ++d) for (h = 0; h < 24; ++h) {
        n = ((s * 18 + m) * 28 + d) * 24 + h
        printf "B%02d,17.3%02d,47.4%02d,%d-%02d-%02dT%02d:00+00:00,%.1f,%.1f,%.1f\n", s, s, s, 2020 + int((m - 1) / 12),
            (m - 1) % 12 + 1, d, h, n * 7919 % 397 / 10 - 15, 10 + n * 104729 % 887 / 10, n * 31 % 47 / 10
    }
}' </dev/null >year.csv
remember
( ulimit -f 1500; timeout 60 "$program" import $store weather year.csv >out 2>err; echo $? >code )
[ "$(cat code)" = 1 ] || complain "a limit on the size of files: exit code $(cat code), not 1"
[ "$(wc -l <err)" -eq 1 ] && grep -q "^lodicule: .*\(disk is full\|disk took no more\|room\)" err ||
    complain "a limit on the size of files: $(show)"
unchanged "a limit on the size of files"
mkdir disk
if [ "$(id -u)" -eq 0 ] && mount -t tmpfs -o size=500k none disk 2>/dev/null; then
    mounted=$work/disk
    whole "a new store on a small disk" "disk is full" new disk/x.lodicule
    [ -z "$(ls disk)" ] || complain "a new store on a full disk: it left $(ls disk)"
    run demo disk/demo
    [ $code -eq 1 ] && [ "$(wc -l <err)" -eq 1 ] && grep -q '^lodicule: disk/demo/.*room' err || complain "a demo on a small disk: exit code $code, $(show)"
    [ ! -e disk/demo/demo.lodicule ] || complain "a demo on a full disk left a store"
    rm -rf disk/*
    head -c 1048576 /dev/zero >disk/fill 2>/dev/null
    whole "an export to a full disk" "disk/x.csv: the disk took no more" export $store tests --out disk/x.csv
    [ "$(ls disk)" = fill ] || complain "an export to a full disk: it left $(ls disk)"
    whole "maps on a full disk" "lodicule: disk/maps.*(room|disk)" map $store --season 2026 --limit 1 --out disk/maps
    [ -z "$(ls disk/maps 2>/dev/null)" ] || complain "maps on a full disk: it left $(ls disk/maps)"
    rm -rf disk/*
    umount disk && mounted=
    mount -t tmpfs -o size=4m none disk && mounted=$work/disk
    cp $store disk/
    run import disk/$store weather year.csv
    [ $code -eq 1 ] && [ "$(wc -l <err)" -eq 1 ] && grep -q '^lodicule: .*disk' err || complain "an import on a full disk: exit code $code, $(show)"
    copy disk/$store folder/$store && [ "$(last_record folder/$store)" = "$(last_record before.lodicule)" ] || complain "an import on a full disk changed the store"
    umount disk && mounted=
else
    echo "no right to mount a small disk: the full disk was tried by a limit on the size of files alone"
fi

# Killed in the middle of an import ---------------------------------------------------------------------------------
copy $store done.lodicule
"$program" import done.lodicule weather year.csv >/dev/null 2>err || complain "the big import itself: $(show)"
"$program" export $store weather --out old.csv >/dev/null
"$program" export done.lodicule weather --out full.csv >/dev/null
in_the_middle=0
for delay in 0.1 wal wal 0.3; do
    copy $store killed.lodicule
    "$program" import killed.lodicule weather year.csv >/dev/null 2>&1 &
    pid=$!
    if [ $delay = wal ]; then  # pages of the open transaction are on the disk already
        until [ -s killed.lodicule-wal ] || ! kill -0 $pid 2>/dev/null; do sleep 0.005; done
    else
        sleep $delay
    fi
    kill -9 $pid 2>/dev/null
    wait $pid 2>/dev/null
    [ $? -eq 137 ] && killed=1 || killed=0
    "$program" check killed.lodicule >out 2>&1 || complain "killed after $delay: check fails: $(grep -v ' good ' out | head -n 3)"
    "$program" export killed.lodicule weather --out left.csv >/dev/null
    if cmp -s left.csv old.csv; then
        [ "$(last_record killed.lodicule)" = "$(last_record before.lodicule)" ] || complain "killed after $delay: the store is not as before"
        [ $killed -eq 1 ] && in_the_middle=$((in_the_middle + 1))
    else
        cmp -s left.csv full.csv || complain "killed after $delay: half of the file is in the store"
    fi
done
[ $in_the_middle -gt 0 ] || complain "no import could be killed in its middle"

# Good after all ----------------------------------------------------------------------------------------------------
comes_out() {
    "$program" export $store tests --out again.csv >/dev/null
    grep -qE -- "$1" again.csv || complain "export does not give $1 again: $(grep "^${1:1:2}" again.csv)"
}
printf '%s,colour,smell\nB1,2026-07-04T08:00+02:00,G26-016,0.5,mg/kg,red,sweet\n' $tests >unknown.csv
good "unknown columns" import $store tests unknown.csv
for column in colour smell; do grep -q "\"$column\" is kept as a note" out || complain "unknown columns: $column is not reported"; done
comes_out '^B1,.*,red,sweet$'
{ reading B2 '<0.2'; reading B3 '>6' | tail -n 1; } >range.csv
good "results outside the range" import $store tests range.csv
comes_out '^B2,2026-07-04T08:00:00\+02:00,G26-016,<0\.2,mg/kg,'
comes_out '^B3,2026-07-04T08:00:00\+02:00,G26-016,>6,mg/kg,'
reading B4 0.5 | sed 's/$/\r/' >crlf.csv
good "Windows line ends" import $store tests crlf.csv
comes_out '^B4,2026-07-04T08:00:00\+02:00,G26-016,0\.5,mg/kg,[^\r]*$'
{ printf '\357\273\277'; reading B5 0.5; } >bom.csv
good "a byte order mark" import $store tests bom.csv
comes_out '^B5,'
{ echo "$tests,$(seq -s, -f 'c%g' 300)"; echo "B6,2026-07-04T08:00+02:00,G26-016,0.5,mg/kg,$(seq -s, 300)"; } >wide.csv
good "300 columns more" import $store tests wide.csv
comes_out '^B6,.*,299,'
good "the same file again" import $store tests wide.csv
grep -q "0 added, 1 there already" out || complain "the same file again: $(head -n 1 out)"
weather=station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm
printf '%s\nClock,17.35,47.43,2026-10-25T02:00+02:00,9,80,0\nClock,17.35,47.43,2026-10-25T02:00+01:00,8,81,0\n' $weather >clock.csv
good "the hour that comes twice in autumn" import $store weather clock.csv
"$program" export $store weather --out again.csv >/dev/null
[ "$(grep -c '^Clock,' again.csv)" -eq 2 ] || complain "the hour that comes twice in autumn: $(grep -c '^Clock,' again.csv) hours came out"
outline B1 '[17.40,47.43],[17.41,47.44],[17.41,47.43],[17.40,47.44],[17.40,47.43]' >bow.geojson
good "an outline that crosses itself" import $store fields bow.geojson
grep -q 'field "B1" crosses itself near .*mended' out || complain "an outline that crosses itself: no note: $(head -n 2 out)"
remember
printf '%s\nClock,17.35,47.43,2026-10-25T02:00+02:00,9.5,80,0\n' $weather >hour.csv
rows "an hour that is there with other values" 1 "column time: station Clock has other values for 2026-10-25T02:00:00\+02:00 already" \
    import $store weather hour.csv
printf '%s\nClock,17.35,47.43,2026-10-25T03:00,9.5,80,0\n' $weather >hour.csv
rows "an hour of an unknown clock" 1 "column time: .*does not say how far its clock is from UTC" import $store weather hour.csv
printf '%s\nClock,17.35,47.43,2026-10-25T05:00+01:00,9.5,80,0\nClock,17.35,47.43,2026-10-25T05:00+01:00,9.6,80,0\n' $weather >hour.csv
whole "an hour twice with other values, --strict" \
    "row 3, column time: station Clock has the hour 2026-10-25T05:00:00\+01:00 twice, with other values in row 2" \
    import $store weather hour.csv --strict
"$program" check $store >out 2>&1 || complain "after all this check fails: $(grep -v ' good ' out)"

[ $bad -eq 0 ] && echo "bad input is met with one sentence, and the store stays as it was"
exit $bad
