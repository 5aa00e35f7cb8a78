#!/bin/bash
# krige.sh BENCH_KRIGE: our engine and the R package gstat in turns on the same points, as a table for the README.
# Wall seconds, so run it on a machine with nothing else to do: ours with a thread for each core, gstat has no threads.
# BLAS=/path/to/libopenblas.so.0 gives R a faster linear algebra than the one it was installed with.
set -eo pipefail
bench=$1
here=$(cd "$(dirname "$0")" && pwd)
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
"$bench" points "$folder"
[ -z "$BLAS" ] || echo "gstat runs with $(basename "$BLAS"), one thread"
echo "$(nproc) cores"
echo "| case | gstat, s | ours, s | times faster | goal |"
echo "|---|---|---|---|---|"
while IFS='|' read -r name text goal; do
    # gstat once between two runs of ours, of which the faster counts.
    first=$("$bench" case "$name")
    peer=$(env OPENBLAS_NUM_THREADS=1 ${BLAS:+LD_PRELOAD="$BLAS"} Rscript "$here/krige_gstat.R" "$folder" "$name")
    second=$("$bench" case "$name")
    printf '%s\n%s\n' "$first" "$second" | awk -v peer="$peer" -v text="$text" -v goal="$goal" '
        NR == 1 || $1 < ours { ours = $1 }
        END { split(peer, p, " "); printf "| %s | %.3g | %.3g | %.0fx | %s |\n", text, p[1], ours, p[1] / ours, goal }'
done <<'CASES'
n155|155 points, 1e6 cells, variance|60x
n1000|1,000 points, 1e5 cells, variance|70x
n3000|3,000 points, 1e5 cells, variance|70x
local|10,000 points, 32 nearest, 1e6 cells|25x
simulation|100 simulations of 1e5 cells, 1,000 points|20x
variogram|variogram of 10,000 points|15x
leave-one-out|leave-one-out of 1,000 points|300x
CASES
[ "$2" = table ] || { echo; "$bench" growth; echo; "$bench" limits; }
