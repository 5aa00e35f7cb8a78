#!/usr/bin/env bash
# tests/bench/refit_field_table.R on a simulated table of 999 fields: its fits are those of R's glm, what the program
# ships is read from the program, and a difference is told and only a difference. $1: the program. Exit 77: R is not
# installed.
set -euo pipefail
program=$(realpath "$1")
command -v Rscript >/dev/null || { echo "SKIPPED: Rscript is not installed (apt-get install r-base-core)"; exit 77; }
here=$(cd "$(dirname "${BASH_SOURCE[0]}")" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
cd "$folder"
export OPENBLAS_NUM_THREADS=1
bad=0
complain() { echo "$1"; bad=1; }
Rscript "$here/refit_field_table.R" write

study() { # ends with $1, and says $2 (an extended regular expression over the lines joined)
    local code=0
    Rscript "$here/../bench/refit_field_table.R" "${@:3}" >out 2>err || code=$?
    [ $code -eq "$1" ] || complain "it ends with $code instead of $1 ($2): $(cat err)"
    cat out err | tr '\n' ' ' | grep -qE "$2" || complain "it does not say \"$2\": $(tail -n 3 out) $(cat err)"
}
# What the program ships was made from another table.
study 1 "numbers do not come out as shipped: cultivar-and-residue \(all 8\); .*The shipped refits are not those" \
    fields.csv --program "$program"
cp out shipped.txt
# These were made from this one; then one of them is off by one in its last digit.
Rscript "$here/refit_field_table.R" check || bad=1
study 0 "All 72 numbers of 8 refits come out as shipped" fields.csv --models agreed.json
study 0 "All 72 numbers of 8 refits" renamed.csv --models agreed.json --column severity=severity_pct \
    --column humid_days=humid
study 1 " 1 of 72 numbers do not come out as shipped: dew-point-depression \(spring\)\." fields.csv --models off.json
study 1 " 1 of 72 numbers do not come out as shipped: humid-days \(Brier\)\." fields.csv --models off_skill.json

study 2 "lacks columns for severity \(looked for \"S\"\), humid_days \(.*RH.G70.CD.3.*: --column severity=NAME" \
    renamed.csv --models agreed.json
study 2 "has 998 rows; the refits were made from 999 fields" short.csv --models agreed.json
study 2 "272 fields have a severity .* of at least 10 %; the refits were made from 273" healthy.csv --models agreed.json
study 2 "\"resist\" for resistance holds \"R\" in row 3;" resistant.csv --models agreed.json
study 2 "\"TDD.A.6\" for depression_around is empty in rows 5, 9;" gap.csv --models agreed.json
study 2 "has a single column" semicolons.csv
study 2 "no ROLE=NAME; the roles are severity, year" fields.csv --column frost=F
study 2 "there is no program .*nowhere; build it" fields.csv --program "$folder/nowhere"
[ $bad -eq 0 ] && echo "the refits are made as glm makes them, and differences are told"
exit $bad
