#!/usr/bin/env bash
# The house keeps its shape: what stands at the top, who includes whom, what never stands in the code.
set -u
cd "$(dirname "${BASH_SOURCE[0]}")/../.."
bad=0
complain() { echo "$1"; bad=1; }

sources() { find "$@" \( -name '*.h' -o -name '*.cpp' \) 2>/dev/null; }
list=$(git ls-files 2>/dev/null || true)
[ -n "$list" ] || list=$(find . -type f -not -path './.git/*' -not -path './build*/*' -not -path './demo-output/*' | sed 's|^\./||')

for entry in $(echo "$list" | cut -d/ -f1 | sort -u); do
    case $entry in
        README.md | DEVELOPERS.md | CMakeLists.txt | LICENSE | app | geo | models | tests | demo-data | .*) ;;
        *) complain "the top level has \"$entry\", which is not part of the house" ;;
    esac
done

# app -> geo -> models, and no library of the outside world above its floor.
hit=$(sources models | xargs grep -nE '#include *[<"](gdal|ogr|cpl_|proj|sqlite3|spatialite|geos|libpq|nlohmann|toml|CLI|cairo|imgui|GLFW|GL/|EGL/|geo/|app/|tests/)' | head)
[ -z "$hit" ] || complain "models/ reaches outside itself:"$'\n'"$hit"
hit=$(sources geo | xargs grep -nE '#include *[<"](CLI|cairo|imgui|GLFW|GL/|EGL/|app/|tests/)' | head)
[ -z "$hit" ] || complain "geo/ includes app or a window:"$'\n'"$hit"
hit=$(sources app | grep -v '^app/window/' | xargs grep -nE '#include *[<"](imgui|GLFW|GL/|EGL/|gdal|ogr|cpl_|proj\.h|sqlite3|spatialite|geos)' | head)
[ -z "$hit" ] || complain "app/ outside app/window/ includes a window or a geographic library:"$'\n'"$hit"
hit=$(find geo models -name '*.h' | xargs grep -nE '#include *<(gdal|ogr|cpl_|proj|sqlite3|spatialite|geos|nlohmann|toml|openssl)' | head)
[ -z "$hit" ] || complain "a header shows a library that belongs in a .cpp:"$'\n'"$hit"

hit=$(sources app geo models demo-data tests | grep -v '^models/decision/mip_solver\.cpp$' | xargs grep -nE '#include *[<"](coin/|Cbc|Clp)' | head)
[ -z "$hit" ] || complain "the solver is known outside models/decision/mip_solver.cpp:"$'\n'"$hit"

# Numbers never depend on the locale; nothing is left unfinished.
hit=$(sources app geo models demo-data | xargs grep -nE '\b(strtod|stod|stof|atof|setlocale)\b *\(' | head)
[ -z "$hit" ] || complain "a number is read by the locale's rules:"$'\n'"$hit"
hit=$(sources app geo models demo-data tests | xargs grep -nE '\b(TODO|FIXME|XXX)\b' | head)
[ -z "$hit" ] || complain "unfinished words:"$'\n'"$hit"
hit=$(echo "$list" | grep -E '\.(cpp|h|sh)$' | xargs -r grep -lF "$(pwd)/" 2>/dev/null | head)
[ -z "$hit" ] || complain "a path of this machine stands in:"$'\n'"$hit"

[ $bad -eq 0 ] && echo "the house stands as drawn"
exit $bad
