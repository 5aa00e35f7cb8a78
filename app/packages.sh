# What lodicule needs from the distribution, in one place. Sourced by app/start and tests/run.

build_packages=(
    build-essential cmake ninja-build pkg-config ccache ca-certificates tzdata
    libeigen3-dev libfmt-dev libnanoflann-dev libboost-dev libboost-locale-dev gettext coinor-libcbc-dev libkissfft-dev nlohmann-json3-dev libcli11-dev libtomlplusplus-dev libssl-dev
    libhowardhinnant-date-dev
    libgdal-dev libproj-dev libgeos-dev libspatialite-dev libsqlite3-dev
    libimgui-dev libstb-dev libglfw3-dev libgl-dev libegl-dev libgl1-mesa-dri
    libcairo2-dev libzint-dev libfreetype-dev libfontconfig-dev fonts-inter fonts-dejavu-core
)

# The tests also ask outside programs: gstat in R for kriging, GLPK for mixed-integer choices, netCDF4 and ecCodes for
# gridded weather, xdotool in a real window.
test_packages=(
    catch2 git glpk-utils r-base-core r-cran-gstat r-cran-sp r-cran-survival r-cran-nlme r-cran-lme4
    qemu-user xvfb xauth xdotool x11-utils imagemagick zbar-tools poppler-utils gdal-bin python3 python3-netcdf4 libeccodes-tools
)

# Installs what is missing and asks nothing; calls apt only if something is missing.
install_missing() {
    local missing=() package
    for package in "$@"; do
        dpkg-query -W -f='${db:Status-Status}\n' "$package" 2>/dev/null | grep -qx installed || missing+=("$package")
    done
    [ ${#missing[@]} -eq 0 ] && return 0
    if ! command -v apt-get >/dev/null; then
        echo "lodicule needs a Debian-like system with apt-get, or these packages installed by hand: ${missing[*]}" >&2
        return 1
    fi
    local as_root=()
    if [ "$(id -u)" -ne 0 ]; then
        if ! sudo -n true 2>/dev/null; then
            echo "lodicule needs ${#missing[@]} packages that are not installed. As root: apt-get install --no-install-recommends ${missing[*]}" >&2
            return 1
        fi
        as_root=(sudo -n)
    fi
    echo "== installing ${#missing[@]} packages from the distribution"
    local log
    log=$(mktemp)
    if ! { "${as_root[@]}" apt-get -o DPkg::Lock::Timeout=400 update &&
           "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive apt-get -o DPkg::Lock::Timeout=400 install -y \
               --no-install-recommends "${missing[@]}"; } >"$log" 2>&1 </dev/null; then
        tail -n 20 "$log" >&2
        echo "The packages could not be installed (whole log: $log). lodicule needs: ${missing[*]}" >&2
        return 1
    fi
    rm -f "$log"
}

# As many compilers at once as there are processors, but one for each 1.5 GB of memory.
build_jobs() {
    local processors memory_jobs
    processors=$(nproc)
    memory_jobs=$(awk '/MemAvailable/ {print int($2 / 1500000)}' /proc/meminfo)
    [ "$memory_jobs" -ge 1 ] || memory_jobs=1
    [ "$processors" -lt "$memory_jobs" ] && echo "$processors" || echo "$memory_jobs"
}
