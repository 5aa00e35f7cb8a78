#!/usr/bin/env bash
# loads_late.sh LODICULE: the libraries that most commands never call are not loaded with the program, and each is found
# when a command calls it. A processor for which they are linked as usual is told and passed by; with a sanitizer, for
# which they are linked so too, CMakeLists.txt leaves this test out.
set -u
program=$(realpath "$1")
command -v objdump >/dev/null || { echo "SKIPPED: objdump (package binutils) is not installed"; exit 77; }
[ "$(uname -sm)" = "Linux x86_64" ] || { echo "SKIPPED: here libraries are linked as usual"; exit 77; }
needed=$(objdump -p "$program" | awk '$1 == "NEEDED" { print $2 }')
bad=0
for library in gdal proj spatialite geos_c cairo fontconfig freetype glfw GL EGL; do
    if grep -q "^lib$library\.so" <<<"$needed"; then
        echo "lib$library is loaded at the start of every command"
        bad=1
    fi
done
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
[ -f demo-for-tests/demo.lodicule ] || { echo "the demo store is not there"; exit 1; }
cp demo-for-tests/demo.lodicule "$work/s.lodicule"
loaded() {  # LIBRARY COMMAND...: the command ends well and the dynamic linker tells that it loaded the library
    local library=$1
    shift
    LD_DEBUG=files LD_DEBUG_OUTPUT="$work/told" "$program" "$@" >"$work/out" 2>&1 ||
        { echo "fails: $*"; cat "$work/out"; bad=1; return; }
    grep -qh "calling init: .*/lib$library\.so" "$work"/told.* || { echo "lib$library was not called by: $*"; bad=1; }
    rm -f "$work"/told.*
}
loaded proj bins "$work/s.lodicule" --queue
loaded geos_c bins "$work/s.lodicule" --queue
loaded spatialite check "$work/s.lodicule"
loaded gdal map "$work/s.lodicule" --limit 1.25 --out "$work/maps"
loaded cairo map "$work/s.lodicule" --limit 1.25 --out "$work/maps"
exit $bad
