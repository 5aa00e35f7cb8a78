#include "models/assay/basis.h"

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

/// Dry matter in a unit of grain on that basis.
double dry_matter(Basis basis, double moisture) {
    switch (basis) {
        case Basis::dry:
            return 1.0;
        case Basis::pct12:
            return 0.88;
        case Basis::as_is:
            break;
    }
    return 1.0 - moisture;
}

}  // namespace

double convert_basis(double don_mg_per_kg, Basis from, Basis to, double moisture) {
    if (from == to) return don_mg_per_kg;
    const bool moisture_matters = from == Basis::as_is || to == Basis::as_is;
    if (moisture_matters && !(moisture >= 0.0 && moisture < 1.0))
        throw Error(fmt::format("a moisture of {} % is not possible for grain", moisture * 100.0), "",
                    "write the moisture in percent of the wet mass, for example 13.5");
    return don_mg_per_kg * dry_matter(to, moisture) / dry_matter(from, moisture);
}

}  // namespace models
