#!/usr/bin/env bash
# Weather of many seasons: tests/bench/weather_seasons.sh build/lodicule [BENCH_WEATHER_TERMS [SEASONS]]
#   500 stations with the hours of 16 weeks a season, 20 seasons (26.9 million hours); 10,000 fields a season.
#   Import of 5 million rows; disease risk of every field in every season by all models, from the store; the models'
#   weather terms from hours in memory, ours and with R's data.table where those are there.
# Reports; passes nothing and fails nothing. Takes 4 GB of disk and some minutes, most of them to write the tables.
set -euo pipefail
program=$(realpath "$1")
terms=${2:+$(realpath "$2")}
seasons=${3:-20}
here=$(dirname "$(realpath "$0")")
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
cd "$work"
measured() { /usr/bin/time -f "%e s, %M KiB" -o measured.txt "$@" >out.txt; cat measured.txt; }

weather_of() { # season
    awk -v year="$1" 'BEGIN {
        print "station,time,temperature_degc,relative_humidity_pct,rain_mm"
        split("30 31 30 31", length_of, " ")
        for (s = 0; s < 500; ++s) {
            month = 4; dom = 1
            for (day = 0; day < 112; ++day) {
                for (hour = 0; hour < 24; ++hour) {
                    wave = sin((hour - 9) / 24 * 6.2832)
                    t = 14 + 6 * wave + 4 * sin(day / 9 + s + year)
                    rh = 76 - 18 * wave + 12 * sin(day / 5 + s / 7 + year); if (rh > 99) rh = 99
                    rain = (day + s + year) % 7 == 0 && hour % 5 == 0 ? 0.6 : 0
                    printf "S%03d,%d-%02d-%02dT%02d:00:00+02:00,%.1f,%.0f,%.1f\n", s, year, month, dom, hour, t, rh, rain
                }
                if (++dom > length_of[month - 3]) { dom = 1; ++month }
            }
        }
    }'
}
awk 'BEGIN {
    print "station,longitude_deg,latitude_deg"
    for (s = 0; s < 500; ++s) printf "S%03d,%.5f,%.5f\n", s, 19 + (s % 25) * 0.032, 47 + int(s / 25) * 0.027
}' >stations.csv
awk 'BEGIN {
    print "{\"type\":\"FeatureCollection\",\"features\":["
    for (f = 0; f < 10000; ++f) {
        x = 19 + (f % 100) * 0.008; y = 47 + int(f / 100) * 0.0054
        printf "%s{\"type\":\"Feature\",\"properties\":{\"field\":\"F%05d\"},\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[[[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f],[%.6f,%.6f]]]}}\n", f ? "," : "", f, x, y, x + 0.006, y, x + 0.006, y + 0.004, x, y + 0.004, x, y
    }
    print "]}"
}' >fields.geojson
awk -v seasons="$seasons" 'BEGIN {
    print "field,season,crop,wheat_type,resistance,previous_crop,heading_date,flowering_date,flowering_source"
    for (y = 2026 - seasons + 1; y <= 2026; ++y)
        for (f = 0; f < 10000; ++f)
            printf "F%05d,%d,wheat,winter,%s,%s,%d-05-%02d,%d-05-%02d,observed\n", f, y, f % 3 ? "S" : "MR", f % 4 ? "rape" : "maize", y, 15 + (f + y) % 12, y, 20 + (f + y) % 12
}' >crops.csv
"$program" new big.lodicule >/dev/null
"$program" import big.lodicule fields fields.geojson >/dev/null
"$program" import big.lodicule stations stations.csv >/dev/null
echo "import of $((seasons * 10000)) crop records                $(measured "$program" import big.lodicule crops crops.csv)"
for year in $(seq $((2026 - seasons + 1)) 2026); do
    weather_of "$year" >"weather-$year.csv"
    "$program" import big.lodicule weather "weather-$year.csv" >/dev/null
done
"$program" new five.lodicule >/dev/null
"$program" import five.lodicule stations stations.csv >/dev/null
{ cat weather-2026.csv; for year in 2025 2024 2023; do tail -n +2 "weather-$year.csv"; done; } | awk 'NR <= 5000001' >five.csv
echo "import of 5,000,000 weather rows         $(measured "$program" import five.lodicule weather five.csv)"
rm -f five.csv five.lodicule*
range=$((2026 - seasons + 1))-2026
for _ in 1 2; do
    echo "risk, all seasons, all models            $(measured "$program" risk big.lodicule --seasons "$range" --all-models)"
done
echo "risk, all seasons, the default model     $(measured "$program" risk big.lodicule --seasons "$range")"
[ -z "$terms" ] || "$terms" big.lodicule
if command -v Rscript >/dev/null && Rscript -e 'quit(status = !requireNamespace("data.table", quietly = TRUE))'; then
    /usr/bin/time -f "data.table in all                        %e s, %M KiB" Rscript "$here/weather_seasons.R" "$seasons"
fi
