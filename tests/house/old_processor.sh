#!/bin/bash
# old_processor.sh LODICULE: the engine on an emulated processor of 2008, which has no AVX: it starts, takes the plain
# kernels, and its maps are those of this processor. The emulator of Debian's qemu-user knows AVX2 but not AVX-512.
set -eo pipefail
lodicule=$1
emulator=$(command -v qemu-x86_64 || command -v qemu-x86_64-static || true)
[ -n "$emulator" ] || { echo "qemu-user is not installed"; exit 77; }
[ "$(uname -m)" = x86_64 ] || { echo "this is no x86-64 processor"; exit 77; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
awk -v OFS=, 'BEGIN { print "x,y,value"; for (i = 0; i < 60; ++i)
    print (i * 377) % 1511, (i * 513) % 977, sin(i) + (i * 377) % 1511 / 900 }' > "$folder/points.csv"
model="nugget 0.05 + exponential 0.5 range 300"

krige() {  # NAME COMMAND...: a global and a local map of the points
    local name=$1
    shift
    "$@" krige "$folder/points.csv" --value value --variogram "$model" --cell 20 --out "$folder/$name.csv" > /dev/null
    "$@" krige "$folder/points.csv" --value value --variogram "$model" --cell 40 --neighbours 9 \
        --out "$folder/$name-local.csv" > /dev/null
}

compare() {  # A B: the same numbers to 1e-11
    paste -d, "$1" "$2" | awk -F, -v file="$2" '
        NR > 1 { for (k = 1; k <= NF / 2; ++k) { gap = $k - $(k + NF / 2); if (gap < 0) gap = -gap
                 if (gap > 1e-11 * (1 + ($k < 0 ? -$k : $k))) { print file ", line " NR ": " $0; bad = 1; exit 1 } } }
        END { if (!bad && NR < 100) { print "only " NR " lines"; exit 1 } }'
}

krige here "$lodicule"
krige old "$emulator" -cpu Nehalem "$lodicule"
compare "$folder/here.csv" "$folder/old.csv"
compare "$folder/here-local.csv" "$folder/old-local.csv"
# It really was such a processor: the newer kernels are refused there.
if LODICULE_KERNEL=avx2 "$emulator" -cpu Nehalem "$lodicule" krige "$folder/points.csv" --value value --variogram "$model" \
    --cross-validate 2> "$folder/refusal"; then
    echo "the emulated processor took AVX2 kernels"
    exit 1
fi
grep -q 'no kernel level "avx2"' "$folder/refusal"
echo "the plain kernels agree with this processor's"
