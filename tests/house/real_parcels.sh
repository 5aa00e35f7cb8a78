#!/usr/bin/env bash
# The whole main job on ground and weather that nobody here made: Danish parcels (agricultural land, 2026) and the hours
# of six loggers in wheat (North Carolina, 2022). The loggers stand far from the parcels, so their stations are put into
# the middle of the six largest farms; their hours are as measured. Crops, tests, loads and bins are invented for them,
# by arithmetic, with flowering on the days observed where the loggers stood.
set -u
shared=${LODICULE_SHARED:-}
here=$(cd "$(dirname "${BASH_SOURCE[0]}")/../.." && pwd)
[ -n "$shared" ] || shared=$here/../shared
[ -d "$shared/data/fields" ] || { echo "SKIPPED: the open data is not here (LODICULE_SHARED or ../shared)"; exit 77; }
shared=$(cd "$shared" && pwd)
for tool in ogr2ogr python3; do
    command -v $tool >/dev/null || { echo "SKIPPED: $tool is not installed"; exit 77; }
done
program=$(realpath "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work" || exit 1
bad=0
complain() { echo "$1"; bad=1; }
parcels=$shared/data/fields/dk_Marker_2026_shp_epsg25832.zip
hours=$shared/data/weather/snb_nc_2022_hourly.csv
run() {
    timeout 120 "$program" "$@" >out 2>err
    code=$?
    [ $code -eq 0 ] || complain "lodicule $*: exit code $code: $(head -n 3 err)"
}
# All rows of a file go in, none is refused.
import() {
    local rows=$1
    shift
    run import farm.lodicule "$@"
    grep -q ": $rows added$" out || complain "import $1: not $rows rows: $(tail -n 1 out)"
}

# In ----------------------------------------------------------------------------------------------------------------
run new farm.lodicule
printf '[columns]\nfield = "Journalnr+Marknr"\n' >parcels.toml
import 100 fields "$parcels" --columns parcels.toml
run export farm.lodicule fields --out fields.geojson
ogr2ogr -f CSV places.csv fields.geojson -dialect SQLite -sql "SELECT field, ST_X(ST_Centroid(geometry)) AS x,
    ST_Y(ST_Centroid(geometry)) AS y, ST_Area(ST_Transform(geometry, 25832)) / 10000 AS ha, IMK_areal FROM fields ORDER BY field" 2>err ||
    complain "the fields that came out cannot be read: $(head -n 2 err)"
sed -i 's/"//g' places.csv
python3 - <<'PYTHON' || bad=1
import csv, statistics
# Declared areas are net of features: half of the parcels agree within 0.25 %.
off = [abs(float(r["ha"]) / float(r["IMK_areal"]) - 1) for r in csv.DictReader(open("places.csv")) if float(r["IMK_areal"]) > 0]
if len(off) < 95 or statistics.median(off) > 0.0027:
    print(f"areas: {len(off)} parcels, median difference from the declared area {statistics.median(off):.4f}"); raise SystemExit(1)
PYTHON
# A logger to each of the six largest farms, the day of flowering to each field from the nearest logger.
awk -F, -v sites="$shared/data/weather/snb_nc_2022_sites.csv" '
    BEGIN {
        while ((getline line <sites) > 0) { split(line, cell, ","); day[cell[1]] = cell[5] }
        split("CL22 26-0010561 MR22 26-0022444 PY22 26-0009722 SB22 26-0023282 KS22 26-0001601 RW22 26-0010401", pair, " ")
        for (i = 1; i <= 12; i += 2) at[pair[i + 1]] = pair[i]
    }
    NR > 1 {
        split($1, name, " "); site = at[name[1]]; ++n; field[n] = $1; x[n] = $2; y[n] = $3
        if (site != "") { sx[site] += $2; sy[site] += $3; ++many[site] }
    }
    END {
        print "station,longitude_deg,latitude_deg" >"stations.csv"
        for (site in many) { sx[site] /= many[site]; sy[site] /= many[site]; print site "," sx[site] "," sy[site] >"stations.csv" }
        print "field,season,crop,wheat_type,cultivar,resistance,previous_crop,residue,tillage,flowering_date,flowering_source,status,yield_t_per_ha" >"crops.csv"
        for (i = 1; i <= n; ++i) {
            least = 1e9
            for (site in many) {
                d = ((x[i] - sx[site]) * 0.55) ^ 2 + (y[i] - sy[site]) ^ 2
                if (d < least) { least = d; near = site }
            }
            print field[i] ",2022,wheat,winter,Ambrisol," (i % 3 ? "MS" : "S") "," (i % 4 ? "rape" : "maize") "," (i % 4 ? "some" : "heavy") \
                ",reduced," day[near] ",observed,standing," 6 + i % 5 >"crops.csv"
        }
    }' places.csv
import 6 stations stations.csv
import 100 crops crops.csv
cat >loggers.toml <<'MAP'
[columns]
station = "site"
time = "time_utc"
temperature_degc = "temp_c"
relative_humidity_pct = "rh_pct"
dew_point_degc = "dew_c"
rain_mm = "rain_mm"
MAP
# Hours of North Carolina are too warm for where the stations are put: taken as they stand.
import 13476 weather "$hours" --columns loggers.toml --as-written

# Tests: every third field, drawn beforehand; most between 0.2 and 2 mg/kg, some outside the range of the strips.
awk -F, 'NR > 1 && NR % 3 == 2 {
    if (!n++) print "test,time,don,unit,method,sample,stage,kind,field,increments,mass_g,moisture_pct,chosen_because"
    don = 0.45 * exp(0.8 * sin(1.7 * n) + 0.4 * cos(0.6 * n))
    text = n % 11 == 3 ? "<0.2" : (n % 16 == 5 ? ">5" : sprintf("%.2f", don))
    printf "P%02d,2022-06-%02dT10:%02d+02:00,%s,mg/kg,strip,P%02d,standing,composite,%s,20,2000,15.%d,random\n",
        n, 10 + n % 5, n, text, n, $1, n % 10
}' places.csv >tests.csv
count=$(($(wc -l <tests.csv) - 1))
import $count tests tests.csv

# Loads: 18 from tested fields, the last one from two; all but two probed at the pit; three lie in bins already.
awk -F, 'NR > 1 && NR % 5 == 2 { field[++n] = $1 }
    END {
        print "load,time,ticket,truck,commodity,gross_t,tare_t,net_t,moisture_pct,status,keep_apart" >"loads.csv"
        print "load,field,part,share" >"parts.csv"
        print "test,time,don,unit,method,sample,stage,kind,load,increments,mass_g,moisture_pct,chosen_because" >"probes.csv"
        for (i = 1; i <= 18; ++i) {
            net = 8 + i * 7 % 11
            printf "L%02d,2022-07-%02dT%02d:15+02:00,%d,T%d,wheat,%.1f,12.5,%.1f,14.%d,%s,%s\n", i, 10 + i % 4, 8 + i % 9,
                900 + i, i % 3, net + 12.5, net, i % 10, i <= 3 ? "dumped" : "probed", i == 9 ? "organic" : "" >"loads.csv"
            if (i < 18) print "L" sprintf("%02d", i) "," field[i] ",,1" >"parts.csv"
            else print "L18," field[18] ",,0.6\nL18," field[19] ",,0.4" >"parts.csv"
            don = i <= 3 ? 0.25 + 0.05 * i : 0.4 * exp(1.3 * sin(2.1 * i))
            if (i != 7 && i != 13)
                printf "Q%02d,2022-07-%02dT%02d:40+02:00,%s,mg/kg,strip,Q%02d,truck,composite,L%02d,12,3000,14.%d,plan\n", i, 10 + i % 4,
                    8 + i % 9, (i == 4 ? "<0.2" : (i == 10 ? ">5" : sprintf("%.2f", don))), i, i, i % 10 >"probes.csv"
        }
    }' places.csv
import 18 loads loads.csv
import 19 load-parts parts.csv
import 16 tests probes.csv
cat >bins.csv <<'TABLE'
bin,capacity_t,purpose,limit_id,keep_apart,draw_off,opening_mass_t,opening_mean_mg_per_kg,opening_sd_mg_per_kg
A1,60,food,eu-food-wheat-until-2024-06,,first_in,0,,
A2,25,food,eu-food-wheat-until-2024-06,,mixed,0,,
A3,50,food,eu-food-wheat-until-2024-06,organic,first_in,0,,
C1,70,feed,eu-feed-cereals,,first_in,5,1.6,0.4
D1,60,hold,,,unknown,0,,
TABLE
import 5 bins bins.csv
awk -F, 'BEGIN { print "move,time,from,to,mass_t,kind,operator,reason" }
    NR > 1 && NR <= 4 { print "V" NR - 1 ",2022-07-14T1" NR ":00+02:00," $1 "," (NR == 4 ? "A2" : "A1") "," $8 ",dumped,Ennoth," }' loads.csv >moves.csv
import 3 moves moves.csv

# Out ---------------------------------------------------------------------------------------------------------------
limit=1.25
run risk farm.lodicule --season 2022 --json && cp out risk.json
run first farm.lodicule --season 2022 --limit $limit --tests 10 --json && cp out first.json
run map farm.lodicule --season 2022 --limit $limit --out maps --json && cp out map.json
run bins farm.lodicule --season 2022 --json && cp out bins.json
run bins farm.lodicule --season 2022 --next L05 --json && cp out next.json
for command in "risk" "first --limit $limit --tests 5" "map --limit $limit" "bins"; do
    set -- $command
    name=$1
    shift
    run "$name" farm.lodicule --season 2022 "$@"
    [ "$(wc -l <out)" -gt 10 ] || complain "$name: the readable table has $(wc -l <out) lines"
done
run report farm.lodicule --season 2022 --limit $limit --out season.html
grep -q "26-0010561" season.html && grep -qi "screening result, not a certificate" season.html || complain "report: a field or the caution is missing"
LIBGL_ALWAYS_SOFTWARE=1 run window farm.lodicule --season 2022 --limit $limit --picture window.png
LIBGL_ALWAYS_SOFTWARE=1 run window farm.lodicule --season 2022 --limit $limit --room bins --picture bins.png
for picture in window.png bins.png; do
    [ "$(head -c 8 $picture 2>/dev/null | od -An -tx1 | tr -d ' ')" = 89504e470d0a1a0a ] && [ "$(stat -c %s $picture)" -gt 20000 ] ||
        complain "window: $picture is no picture of anything"
done
cmp -s window.png bins.png && complain "window: two rooms look the same"

python3 - <<'PYTHON' || bad=1
import csv, json, math, os, sys
wrong = []
def claim(true, words):
    if not true: wrong.append(words)
def keys(where, thing, names):
    for name in names.split():
        claim(name in thing, f"{where}: the key {name} is missing")
number = lambda v: isinstance(v, (int, float)) and math.isfinite(v)
fields = [r["field"] for r in csv.DictReader(open("crops.csv"))]

risk = json.load(open("risk.json"))
keys("risk", risk, "season model source fields")
claim(risk["season"] == 2022 and sorted(f["field"] for f in risk["fields"]) == sorted(fields), "risk: not the 100 fields of 2022")
covered = 0
for f in risk["fields"]:
    keys("risk", f, "field kind value low high coverage weather_source notes")
    if f["value"] is not None:
        claim(f["kind"] == "probability" and 0 <= f["low"] <= f["value"] <= f["high"] <= 1, f"risk: {f['field']} lies outside its own interval")
    claim(0 <= f["coverage"] <= 1, f"risk: coverage {f['coverage']}")
    covered += f["coverage"] == 1
    if f["weather_source"] == "KS22":   # these hours end before ten days after flowering
        claim(f["coverage"] < 1 and (f["missing"] or f["notes"]), f"risk: {f['field']} has weather to its end, which the logger has not")
claim({f["weather_source"].split(",")[0] for f in risk["fields"] if f["weather_source"]} >= {"CL22", "MR22", "PY22", "SB22", "KS22"}, "risk: not each logger speaks for its farm")
claim(covered >= 60, f"risk: only {covered} fields have all hours")
claim(len({f["value"] for f in risk["fields"]}) > 4, "risk: the same for every field")

tests = list(csv.DictReader(open("tests.csv")))
tested = {t["field"] for t in tests}
first = json.load(open("first.json"))
keys("first", first, "season limit_mg_per_kg fields")
claim(first["limit_mg_per_kg"] == 1.25 and len(first["fields"]) >= 10, "first: not ten fields")
claim([f["rank"] for f in first["fields"]] == list(range(1, len(first["fields"]) + 1)), "first: ranks do not count from 1")
for f in first["fields"]:
    keys("first", f, "rank field exceedance expected_gain tonnes tests_so_far why")
    claim(f["field"] not in tested and f["tests_so_far"] == 0, f"first: {f['field']} was tested already")
    claim(0 <= f["exceedance"] <= 1 and len(f["why"]) > 20, f"first: {f['field']} has no reason or no chance")
claim(any(f["expected_gain"] > 0 for f in first["fields"]), "first: no test is worth anything")

m = json.load(open("map.json"))
keys("map", m, "season limit_mg_per_kg structure_within_fields fields files")
keys("map", m["structure_within_fields"], "supported reason evidence_ratio leave_one_out_skill power fields")
claim(m["structure_within_fields"]["supported"] is False, "map: structure within fields, and each field has one composite at most")
claim(sorted(f["field"] for f in m["fields"]) == sorted(fields), "map: not the 100 fields of 2022")
for f in m["fields"]:
    keys("map", f, "field tests median_mg_per_kg mean_mg_per_kg low90_mg_per_kg high90_mg_per_kg low50_mg_per_kg high50_mg_per_kg exceedance")
    row = [f[k] for k in ("low90_mg_per_kg", "low50_mg_per_kg", "median_mg_per_kg", "high50_mg_per_kg", "high90_mg_per_kg")]
    claim(all(map(number, row)) and row == sorted(row) and 0 <= row[0] < row[4], f"map: the quantiles of {f['field']} are out of order: {row}")
    claim(0 <= f["exceedance"] <= 1 and f["low90_mg_per_kg"] < f["mean_mg_per_kg"] < f["high90_mg_per_kg"], f"map: {f['field']} mean or exceedance")
    claim((f["exceedance"] > 0.5) == (f["median_mg_per_kg"] > 1.25) or abs(f["exceedance"] - 0.5) < 0.02, f"map: median and exceedance of {f['field']} disagree")
claim({f["field"] for f in m["fields"] if f["tests"] > 0} >= tested, "map: a tested field has no test behind it")
width = lambda want: [math.log(f["high90_mg_per_kg"] / max(f["low90_mg_per_kg"], 0.05)) for f in m["fields"] if (f["field"] in tested) == want]
claim(sum(width(True)) / len(width(True)) < 0.9 * sum(width(False)) / len(width(False)), "map: a tested field is known no better than an untested one")
median = {f["field"]: f["median_mg_per_kg"] for f in m["fields"]}
high = [median[t["field"]] for t in tests if t["don"].startswith(">") or (t["don"][0] != "<" and float(t["don"]) > 1)]
low = [median[t["field"]] for t in tests if t["don"].startswith("<") or (t["don"][0] != ">" and float(t["don"]) < 0.3)]
claim(high and low and sum(high) / len(high) > 1.5 * sum(low) / len(low), "map: fields with high strips are not above those with low ones")
claim(m["files"] and all(os.path.getsize(p) > 500 for p in m["files"]), f"map: files {m['files']}")
claim({os.path.splitext(p)[1] for p in m["files"]} >= {".tif", ".gpkg", ".png"}, f"map: not raster, outlines and picture: {m['files']}")

b = json.load(open("bins.json"))
keys("bins", b, "season assignments unplaced bins value compared_with")
place = {r["bin"]: r for r in csv.DictReader(open("bins.csv"))}
limits = {"A1": 1.25, "A2": 1.25, "A3": 1.25, "C1": 8.0}
loads = {r["load"]: r for r in csv.DictReader(open("loads.csv"))}
probe = {r["load"]: r["don"] for r in csv.DictReader(open("probes.csv"))}
moved = {}
for r in csv.DictReader(open("moves.csv")): moved[r["to"]] = moved.get(r["to"], 0) + float(r["mass_t"])
waiting = {l for l, r in loads.items() if r["status"] == "probed"}
named = [a["load"] for a in b["assignments"]] + [u["load"] for u in b["unplaced"]]
claim(sorted(named) == sorted(waiting), f"bins: not each waiting load once: {sorted(named)}")
for a in b["assignments"] + b["unplaced"]:
    claim(abs(a["mass_t"] - float(loads[a["load"]]["net_t"])) < 1e-9, f"bins: the mass of {a['load']}")
filled = {}
for a in b["assignments"]:
    to, load = a["bin"], loads[a["load"]]
    filled[to] = filled.get(to, 0) + a["mass_t"]
    claim(place[to]["keep_apart"] == load["keep_apart"] or (place[to]["purpose"] == "hold" and not place[to]["keep_apart"]), f"bins: {a['load']} ({load['keep_apart']}) goes to {to} ({place[to]['keep_apart']})")
    don = probe.get(a["load"])
    if place[to]["purpose"] != "hold":
        claim(a["state"] == "cleared", f"bins: {a['load']} is {a['state']} and goes to {to}")
        claim(don is None or don[0] == "<" or (don[0] != ">" and float(don) <= limits[to]), f"bins: {a['load']} read {don} and goes to {to}, limit {limits[to]}")
claim(any(place[a["bin"]]["purpose"] == "food" for a in b["assignments"]), "bins: no load at all is cleared for food")
claim(all(len(u["reason"]) > 15 for u in b["unplaced"]), "bins: something is not placed and nobody says why")
claim({x["bin"] for x in b["bins"]} == set(place), "bins: not each bin is told")
for x in b["bins"]:
    keys("bins", x, "bin content_t mean_mg_per_kg low90_mg_per_kg high90_mg_per_kg exceedance rejection_probability")
    inside = float(place[x["bin"]]["opening_mass_t"]) + moved.get(x["bin"], 0)
    after = inside + filled.get(x["bin"], 0)
    claim(abs(x["content_t"] - after) < 1e-6, f"bins: {x['bin']} holds {x['content_t']} after the plan, and {after} goes in")
    claim(after <= float(place[x["bin"]]["capacity_t"]) + 1e-9, f"bins: {x['bin']} runs over")
    if after > 0:
        claim(x["low90_mg_per_kg"] <= x["mean_mg_per_kg"] <= x["high90_mg_per_kg"], f"bins: the mean of {x['bin']} is outside its interval")
    for name in ("exceedance", "rejection_probability"):
        claim(x[name] is None or 0 <= x[name] <= 1, f"bins: {name} of {x['bin']}")
claim(b["compared_with"] and all({"rule", "value"} <= set(c) for c in b["compared_with"]), "bins: compared with nothing")
following = json.load(open("next.json"))
claim([a["load"] for a in following["assignments"] + following["unplaced"]] == ["L05"], "bins --next: not the one load")

for line in wrong[:20]: print(line)
sys.exit(bool(wrong))
PYTHON

# Round trip: what went in comes out and goes into a new store, and everything said of it is the same -----------------
run check farm.lodicule
run new again.lodicule
for kind in fields stations crops weather loads load-parts bins samples tests moves; do
    [ $kind = fields ] && file=$kind.gpkg || file=all-$kind.csv
    run export farm.lodicule $kind --out $file
    as_is=
    [ $kind = weather ] && as_is=--as-written
    run import again.lodicule $kind $file $as_is
    grep -q ' added$' out && ! grep -q refused out || complain "round trip of $kind: $(tail -n 1 out)"
    run export again.lodicule $kind --out second-$file
    [ $kind = fields ] || cmp -s $file second-$file || complain "round trip of $kind: the second export differs: $(diff $file second-$file | head -n 3)"
done
run export farm.lodicule fields --out one.geojson
run export again.lodicule fields --out two.geojson
cmp -s one.geojson two.geojson || complain "round trip of fields: the outlines differ: $(diff one.geojson two.geojson | head -n 2 | cut -c1-200)"
run check again.lodicule
for command in risk "first --limit $limit --tests 10" "map --limit $limit" bins; do
    set -- $command
    name=$1
    shift
    run "$name" farm.lodicule --season 2022 --json "$@"
    mv out one
    run "$name" again.lodicule --season 2022 --json "$@"
    cmp -s one out || complain "round trip: $name says something else: $(diff one out | head -n 4)"
done

# An airport's hours in deg F and inches (New York, 2013) -------------------------------------------------------------
airports=$shared/data/weather/nyc_airports_2013_may_june.csv
printf 'station,longitude_deg,latitude_deg\nEWR,-74.1687,40.6925\nJFK,-73.7789,40.6398\nLGA,-73.8726,40.7772\n' >airports.csv
cat >airports.toml <<'MAP'
missing = ["NA"]
[columns]
station = "origin"
time = "time_hour"
temperature_degc = { from = "temp", unit = "degF" }
dew_point_degc = { from = "dewp", unit = "degF" }
relative_humidity_pct = "humid"
rain_mm = { from = "precip", unit = "inch" }
MAP
run new airports.lodicule
run import airports.lodicule stations airports.csv
run import airports.lodicule weather "$airports" --columns airports.toml
grep -q ': 4392 added$' out || complain "airports: not 4392 hours: $(tail -n 1 out)"
# Its one sensor fault: JFK, 2013-05-09T02Z, 13.1 deg F between hours of some 50.
[ "$(cat out err 2>/dev/null | grep -c 'station [A-Z]*: .*-10\.5')" -eq 1 ] || complain "airports: the faulty hour of JFK is not flagged: $(cat out err 2>/dev/null | head -n 20)"
cat out err 2>/dev/null | grep -E 'station (EWR|LGA): ' | grep -q 'temperature' && complain "airports: a good hour is flagged: $(cat out err | grep 'station')"
run export airports.lodicule weather --out hours.csv
python3 - "$airports" <<'PYTHON' || bad=1
import csv, sys
given = {(r["origin"], r["time_hour"][:13]): r for r in csv.DictReader(open(sys.argv[1]))}
kept = {(r["station"], r["time"][:13]): r for r in csv.DictReader(open("hours.csv"))}
wrong = [] if given.keys() == kept.keys() else ["airports: not the same hours came out"]
for key, row in given.items():
    for theirs, ours, change in (("temp", "temperature_degc", lambda f: (f - 32) / 1.8), ("dewp", "dew_point_degc", lambda f: (f - 32) / 1.8),
                                 ("humid", "relative_humidity_pct", lambda p: p), ("precip", "rain_mm", lambda i: i * 25.4)):
        value = kept[key][ours] if key in kept else ""
        if (row[theirs] == "NA") != (value == "") or (value and abs(float(value) - change(float(row[theirs]))) > 1e-9):
            wrong.append(f"airports: {key}: {theirs} {row[theirs]} became {ours} {value}")
for line in wrong[:5]: print(line)
sys.exit(bool(wrong))
PYTHON

[ $bad -eq 0 ] && echo "the main job stands on real parcels and real weather"
exit $bad
