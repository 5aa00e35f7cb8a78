#!/usr/bin/env bash
# What the window costs at scale: tests/bench/window.sh PROGRAM [FIELDS [TESTS]]        (2000 and 20000)
#   the demo: start to first frame, start to the map; processor time while nothing happens; a key while the fit runs
#   FIELDS fields with TESTS placed tests and a picture of 4 megapixels behind the map: frames while the map is dragged
#   and zoomed, what the map takes when it is drawn anew, resident memory, a key while the fit runs (before there is a
#   map, and with the whole map in sight, when another limit is asked for), idle
# The time of a key is the window's own: from the earliest moment at which it can have come (frame_clock.h) until its
# frame is handed to the display. xdotool's start is not in it, nor what the display server does before and after.
# Without a graphics card (LIBGL_ALWAYS_SOFTWARE=1), under Xvfb; needs xvfb-run, xdotool, gdal-bin.
# A machine that others use is told by the processor time beside the wall. STORE=FILE takes a store that is there,
# KEEP=1 leaves the folder, RUNS=n repeats the demo's start. Reports; passes nothing and fails nothing.
set -euo pipefail
program=$(realpath "$1") fields=${2:-2000} tests=${3:-20000}
[ -z "${STORE:-}" ] || STORE=$(realpath "$STORE")
work=$(mktemp -d)
trap '[ -n "${KEEP:-}" ] || rm -rf "$work"' EXIT
cd "$work"
export XDG_STATE_HOME=$work/state LC_ALL=C

# A district of fields of some 50 ha in rows of 50, outlines of 16 corners; five stations; tests at places of their own.
make_store() {
    awk -v n="$fields" 'BEGIN {
        srand(7)
        print "{\"type\":\"FeatureCollection\",\"features\":["
        for (f = 0; f < n; ++f) {
            x = 19 + (f % 50 + 0.5) * 0.012; y = 47 + (int(f / 50) + 0.5) * 0.008
            printf "%s{\"type\":\"Feature\",\"properties\":{\"field\":\"F%04d\"},\"geometry\":{\"type\":\"Polygon\",\"coordinates\":[[", f ? "," : "", f
            first = ""
            for (k = 0; k < 16; ++k) {
                a = k * 0.392699; r = 0.76 + 0.2 * rand()
                corner = sprintf("[%.6f,%.6f]", x + 0.0058 * r * cos(a), y + 0.0038 * r * sin(a))
                if (!k) first = corner
                printf "%s,", corner
            }
            printf "%s]]}}\n", first
        }
        print "]}"
    }' >fields.geojson
    awk -v n="$fields" 'BEGIN {
        print "field,season,crop,wheat_type,resistance,previous_crop,flowering_date,flowering_source"
        for (f = 0; f < n; ++f) printf "F%04d,2026,wheat,winter,%s,%s,2026-05-%02d,observed\n", f, f % 3 ? "S" : "MR", f % 4 ? "rape" : "maize", 20 + f % 12
    }' >crops.csv
    awk 'BEGIN {
        print "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm"
        for (s = 0; s < 5; ++s) for (h = 0; h < 2000; ++h) {
            day = int(h / 24); hour = h % 24
            month = day < 30 ? 4 : day < 61 ? 5 : 6
            dom = day < 30 ? day + 1 : day < 61 ? day - 29 : day - 60
            t = 14 + 6 * sin((hour - 9) / 24 * 6.2832) + 4 * sin(day / 9 + s)
            rh = 72 - 18 * sin((hour - 9) / 24 * 6.2832) + 10 * sin(day / 5 + s); if (rh > 99) rh = 99
            printf "S%d,%.3f,%.3f,2026-%02d-%02dT%02d:00:00+02:00,%.1f,%.0f,%.1f\n", s, 19.1 + 0.1 * s, 47.05 + 0.05 * s, month, dom, hour, t, rh, (day + s) % 9 == 0 && hour % 5 == 0 ? 0.6 : 0
        }
    }' >weather.csv
    awk -v n="$fields" -v tests="$tests" 'BEGIN {
        srand(11)
        print "sample,stage,kind,field,longitude_deg,latitude_deg,taken_time,increments,mass_g,chosen_because" >"samples.csv"
        print "test,time,sample,don,unit,method,commodity,portion_g" >"tests.csv"
        for (t = 0; t < tests; ++t) {
            f = t % n
            x = 19 + (f % 50 + 0.5) * 0.012 + 0.0056 * (rand() - 0.5); y = 47 + (int(f / 50) + 0.5) * 0.008 + 0.0036 * (rand() - 0.5)
            time = sprintf("2026-07-%02dT%02d:%02d:00+02:00", 1 + t % 14, 6 + t % 12, t % 60)
            don = exp(-0.9 + 0.7 * sin(f / 97) + 0.5 * (rand() + rand() + rand() - 1.5))
            printf "G%05d,standing,point,F%04d,%.6f,%.6f,%s,10,1000,random\n", t, f, x, y, time >"samples.csv"
            printf "T%05d,%s,G%05d,%s,mg/kg,strip,wheat,50\n", t, time, t, don < 0.2 ? "<0.2" : sprintf("%.2f", don) >"tests.csv"
        }
    }'
    "$program" new large.lodicule >/dev/null
    for kind in fields crops weather samples tests; do
        "$program" import large.lodicule "$kind" "$kind".[cg]* >>import.log
    done
}
if [ -n "${STORE:-}" ]; then cp "$STORE" large.lodicule; else make_store; fi

# 2,000 x 2,000 pixels of three colours over the district, in degrees.
make_picture() {
    awk 'BEGIN {
        printf "P6\n2000 2000\n255\n"
        for (y = 0; y < 2000; ++y) {
            wave = 40 * sin(y / 131)
            for (x = 0; x < 2000; ++x) {
                v = 110 + wave + 40 * sin(x / 97) + (x * 7 + y * 13) % 31
                printf "%c%c%c", v - 20, v, v / 2 + 20
            }
        }
    }' >picture.ppm
    gdal_translate -q -a_srs EPSG:4326 -a_ullr 18.99 $(awk -v n="$fields" 'BEGIN { print 47 + n / 50 * 0.008 + 0.01 }') 19.61 46.99 \
        -co TILED=YES -co COMPRESS=DEFLATE picture.ppm picture.tif
    rm picture.ppm
}

cat >functions.sh <<'TEXT'
processor() { awk '{ print ($14 + $15) / 100 }' "/proc/$1/stat"; }
memory() { awk '/^VmRSS|^VmHWM/ { printf "%s %.0f MB, ", ($1 == "VmRSS:" ? "resident" : "at most"), $2 / 1024 }' "/proc/$1/status"; }
wait_for() { until grep -q "$1" "$2" 2>/dev/null; do sleep 0.5; kill -0 "$3" 2>/dev/null || return 0; done; }
idle_for_5_s() {
    local before after
    sleep 3
    before=$(processor "$1"); sleep 5; after=$(processor "$1")
    awk -v a="$before" -v b="$after" 'BEGIN { printf "idle: %.0f %% of a processor over 5 s\n", (b - a) / 5 * 100 }'
}
keys() { for key in "$@"; do xdotool key "$key"; sleep 0.15; done; }
TEXT
export program work
export LIBGL_ALWAYS_SOFTWARE=1 LODICULE_TIMING=1

"$program" demo demo >/dev/null
cat >demo.sh <<'TEXT'
. ./functions.sh
for run in $(seq "${RUNS:-3}"); do
    "$program" window demo/demo.lodicule --fresh --season 2026 --limit 1.0 --width 1440 --height 900 2>timing.$run &
    pid=$!
    wait_for "with an answer" timing.$run $pid
    if [ "$run" = 1 ]; then
        sleep 1
        # Another limit each time: the season is worked out anew while keys come. Typed as a hand does: keys 30 ms apart
        # are a scanner's, and choose nothing.
        for limit in 0.7 0.8 0.9; do
            xdotool key l; sleep 0.2; xdotool type --delay 120 "$limit"; sleep 0.1; xdotool key Return; sleep 0.05
            keys Right Left n Up Down p
        done
        sleep 4
        memory $pid; idle_for_5_s $pid
    fi
    xdotool key ctrl+q
    wait $pid 2>/dev/null
    cat timing.$run
done
TEXT
cat >large.sh <<'TEXT'
. ./functions.sh
"$program" window large.lodicule --fresh --season 2026 --limit 1.0 --width 1440 --height 900 ${PICTURE:-} 2>timing &
pid=$!
wait_for "first frame" timing $pid
sleep 2
keys F1 F1 F3 F3 F1 F1 F3 F3 F1 F1
wait_for "with an answer" timing $pid
sleep 6
# The pointer moves while the button is down; over and over from the middle, so that the map stays in sight.
for stroke in 1 2 3 4; do
    xdotool mousemove 500 450; sleep 0.1; xdotool mousedown 1; sleep 0.1
    for i in $(seq 60); do xdotool mousemove_relative -- $((stroke % 2 ? 5 : -5)) 2; sleep 0.02; done
    xdotool mouseup 1; sleep 0.3
done
xdotool mousemove 500 450
for i in $(seq 12); do xdotool click 4; sleep 0.05; done
for i in $(seq 12); do xdotool click 5; sleep 0.05; done
sleep 1
keys n Right Left p Up Down n
sleep 3
memory $pid; idle_for_5_s $pid
# Another limit: the season is worked out anew beside the map, and left when the keys have been told.
xdotool key l; sleep 0.2; xdotool type --delay 120 0.9; sleep 0.1; xdotool key Return; sleep 0.3
keys Right Left n Up Down p Right Left n Up Down p
xdotool key ctrl+q
wait $pid 2>/dev/null
cat timing
TEXT
show() { xvfb-run -a -n "${SERVER:-99}" -s "-screen 0 1600x1000x24 -noreset" bash "$1" 2>/dev/null; }
if ! command -v xvfb-run >/dev/null || ! command -v xdotool >/dev/null; then
    echo "xvfb-run and xdotool are needed" >&2
    exit 1
fi
if [ "${ONLY:-demo}" = demo ]; then
    echo "== the demo"
    show demo.sh
fi
if [ "${ONLY:-large}" = large ]; then
    echo "== $fields fields, $tests tests, a picture of 4 megapixels"
    if "$program" window --help | grep -q -e --backdrop; then
        make_picture
        export PICTURE="--backdrop picture.tif"
    fi
    show large.sh
fi
