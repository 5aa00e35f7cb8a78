#!/usr/bin/env bash
# How long the advice for the truck on the scale takes with thousands of loads in the store: the demo, and beside it
# LOADS loads of its fields, TESTED of them with a result of their own, moved into bins of their own.
#   tests/bench/pit.sh PROGRAM [LOADS [TESTED]]        (5000 and 100)
# Prints seconds of one run each of --next (with nothing kept of the fit; with it; after one more result of a load),
# --queue (that result later; with its fit kept) and --outbound, and of the program that does nothing.
set -eu
program=$(realpath "$1") loads=${2:-5000} tested=${3:-100}
work=$(mktemp -d)
trap '[ -n "${KEEP:-}" ] || rm -rf "$work"' EXIT
cd "$work"
"$program" demo d >demo.log
store=d/demo.lodicule
# Every wheat field of 2026 in turn; a load every four minutes of forty harvest days, twelve hours each.
fields=$(awk -F, '$3 == 2026 && $4 == "wheat" && $2 == "" { printf "%s ", $1 }' d/crops.csv)
awk -v n="$loads" -v tested="$tested" -v fields="$fields" 'BEGIN {
    k = split(fields, field, " ")
    print "load,time,commodity,net_t,moisture_pct,status" >"loads.csv"
    print "load,field,share" >"load-parts.csv"
    print "bin,capacity_t,purpose,limit_id,draw_off" >"bins.csv"
    print "move,time,from,to,mass_t,kind" >"moves.csv"
    print "sample,stage,kind,load,taken_time,increments,mass_g,moisture_pct,chosen_because" >"samples.csv"
    print "test,time,sample,don,unit,method,commodity,portion_g" >"tests.csv"
    for (b = 1; b <= 60; ++b) printf "X%02d,100000,food,eu-food-wheat,first_in\n", b >"bins.csv"
    for (i = 1; i <= n; ++i) {
        day = 1 + int((i - 1) * 14 / n)
        minute = 360 + i % 600
        time = sprintf("2026-07-%02dT%02d:%02d+02:00", day, int(minute / 60), minute % 60)
        printf "X%05d,%s,wheat,20,14,dumped\n", i, time >"loads.csv"
        printf "X%05d,%s,1\n", i, field[1 + i % k] >"load-parts.csv"
        later = sprintf("2026-07-%02dT%02d:%02d+02:00", day, int(minute / 60) + 3, minute % 60)
        printf "XM%05d,%s,X%05d,X%02d,20,dumped\n", i, later, i, 1 + i % 60 >"moves.csv"
        if (tested > 0 && i % int(n / tested) == 0) {
            printf "XG%05d,truck,composite,X%05d,%s,10,1000,14,plan\n", i, i, time >"samples.csv"
            printf "XT%05d,%s,XG%05d,%.2f,mg/kg,strip,wheat,50\n", i, later, i, 0.25 + (i * 7919 % 100) / 250 >"tests.csv"
        }
    }
}'
for kind in bins loads load-parts samples moves tests; do "$program" import "$store" "$kind" "$kind.csv" >>import.log; done
waiting=$(awk -F, '$12 == "awaiting" { print $1; exit }' d/loads.csv)
echo "$loads loads, $tested of them tested, the truck on the scale is $waiting"
TIMEFORMAT='%R s by the clock, %U s of processor'
time "$program" --version >out
rm -f "$store".kept-*
echo "--next, with nothing kept of the fit"
time "$program" bins "$store" --season 2026 --next "$waiting" >out.fit
echo "--next, from the kept fit"
time "$program" bins "$store" --season 2026 --next "$waiting" >out.kept
cmp out.fit out.kept
{
    echo "sample,stage,kind,load,taken_time,increments,mass_g,moisture_pct,chosen_because"
    echo "XGnew,truck,composite,X00002,2026-07-14T20:00:00+02:00,10,1000,14,plan"
} >samples.csv
{
    echo "test,time,sample,don,unit,method,commodity,portion_g"
    echo "XTnew,2026-07-14T20:10:00+02:00,XGnew,0.4,mg/kg,strip,wheat,50"
} >tests.csv
for kind in samples tests; do "$program" import "$store" "$kind" "$kind.csv" >>import.log; done
echo "--next, a result later"
time "$program" bins "$store" --season 2026 --next "$waiting" >out
echo "--queue, that result later: told from a fit of all results"
time "$program" bins "$store" --season 2026 --queue >out.fit
echo "--queue, from the kept fit"
time "$program" bins "$store" --season 2026 --queue >out.kept
cmp out.fit out.kept
echo "--outbound, from the kept fit"
time "$program" bins "$store" --season 2026 --outbound 25 >out
