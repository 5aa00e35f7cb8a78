#!/usr/bin/env bash
# How long the main job takes: tests/bench/main_job.sh build/lodicule
#   import of 1,000,000 weather rows; risk of 10,000 fields of one season with 500 stations; map of the demo.
# The window has a study of its own, window.sh.
# Reports; passes nothing and fails nothing.
set -euo pipefail
program=$(realpath "$1")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
seconds() { local from to; from=$(date +%s.%N); "$@" >/dev/null; to=$(date +%s.%N); awk -v a="$from" -v b="$to" 'BEGIN {printf "%.2f s", b - a}'; }

# 500 stations on a grid of 25 x 20 over some 60 x 60 km, 2,000 hours each (83 days from 1 April): a million rows.
awk 'BEGIN {
    print "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm"
    for (s = 0; s < 500; ++s) {
        lon = 19 + (s % 25) * 0.032; lat = 47 + int(s / 25) * 0.027
        for (h = 0; h < 2000; ++h) {
            day = int(h / 24); hour = h % 24
            month = day < 30 ? 4 : day < 61 ? 5 : 6
            dom = day < 30 ? day + 1 : day < 61 ? day - 29 : day - 60
            t = 14 + 6 * sin((hour - 9) / 24 * 6.2832) + 4 * sin(day / 9 + s)
            rh = 72 - 18 * sin((hour - 9) / 24 * 6.2832) + 10 * sin(day / 5 + s / 7); if (rh > 99) rh = 99
            rain = (day + s) % 9 == 0 && hour % 5 == 0 ? 0.6 : 0
            printf "S%03d,%.5f,%.5f,2026-%02d-%02dT%02d:00:00+02:00,%.1f,%.0f,%.1f\n", s, lon, lat, month, dom, hour, t, rh, rain
        }
    }
}' >weather.csv
awk 'BEGIN {
    print "{\"type\":\"FeatureCollection\",\"features\":["
    for (f = 0; f < 10000; ++f) {
        x = 19 + (f % 100) * 0.008; y = 47 + int(f / 100) * 0.0054
        printf "%s{\"type\":\"Feature\",\"properties\":{\"field\":\"F%05d\"},\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[[[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f]]]}}\n", f ? "," : "", f, x, y, x + 0.006, y, x + 0.006, y + 0.004, x, y + 0.004, x, y
    }
    print "]}"
}' >fields.geojson
awk 'BEGIN {
    print "field,season,crop,wheat_type,resistance,previous_crop,flowering_date,flowering_source"
    for (f = 0; f < 10000; ++f) printf "F%05d,2026,wheat,winter,%s,%s,2026-05-%02d,observed\n", f, f % 3 ? "S" : "MR", f % 4 ? "rape" : "maize", 20 + f % 12
}' >crops.csv
"$program" new big.lodicule >/dev/null
echo "import 10,000 fields              $(seconds "$program" import big.lodicule fields fields.geojson)"
echo "import 10,000 crop records        $(seconds "$program" import big.lodicule crops crops.csv)"
echo "import 1,000,000 weather rows     $(seconds "$program" import big.lodicule weather weather.csv)"
echo "risk, 10,000 fields, 500 stations $(seconds "$program" risk big.lodicule --season 2026 --json)"
"$program" demo demo >/dev/null
echo "map of the demo, all files        $(seconds "$program" map demo/demo.lodicule --season 2026 --limit 1.0 --out map)"
echo "first of the demo, 10 tests       $(seconds "$program" first demo/demo.lodicule --season 2026 --limit 1.0)"
echo "bins of the demo                  $(seconds "$program" bins demo/demo.lodicule --season 2026)"
