#include "models/assay/recovery.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/assay/interval_law.h"
#include "models/counted.h"
#include "models/error.h"

namespace models {

LotRecovery recovery_of(const ControlSeries& series) {
    const ControlMaterial& control = series.control;
    const double assigned = control.assigned_mg_per_kg;
    if (!(assigned > 0.0) || !std::isfinite(assigned)) {
        throw Error(fmt::format("control {} has no assigned content, so there is no recovery of it", control.control),
                    "", "give its assigned_mg_per_kg in the table of controls");
    }
    if (control.standard_uncertainty_mg_per_kg && *control.standard_uncertainty_mg_per_kg < 0.0) {
        throw Error(fmt::format("control {} has an uncertainty below zero", control.control));
    }
    LotRecovery lot;
    lot.control = control;
    lot.method = series.method;
    lot.kit_lot = series.kit_lot;
    double sum = 0.0;
    for (const ControlReading& reading : series.readings) {
        if (reading.test.reading != Reading::value) {
            ++lot.only_bounds;
            continue;
        }
        ReadingRecovery one{reading.test.test, reading.test.time, reading.don_mg_per_kg / assigned, std::nullopt};
        if (control.standard_uncertainty_mg_per_kg) {
            one.standard_uncertainty_from_assigned = one.fraction * *control.standard_uncertainty_mg_per_kg / assigned;
        }
        sum += one.fraction;
        lot.readings.push_back(std::move(one));
    }
    const auto m = static_cast<double>(lot.readings.size());
    const std::string left_out = lot.only_bounds == 0 ? ""
                                                      : fmt::format("; {} below or above the range {} not in the mean",
                                                                    counted(lot.only_bounds, "reading"),
                                                                    by_number(lot.only_bounds, "is", "are"));
    if (lot.readings.empty()) {
        lot.says = "no reading with a number, so there is no recovery" + left_out;
        return lot;
    }
    lot.mean_fraction = sum / m;
    if (lot.readings.size() < 2) {
        lot.says = fmt::format("{:.0f} % of the assigned content in one reading, which has no interval",
                               lot.mean_fraction * 100.0) +
                   left_out;
        return lot;
    }
    double squares = 0.0;
    for (const ReadingRecovery& one : lot.readings) squares += std::pow(one.fraction - lot.mean_fraction, 2);
    const double of_readings = squares / (m - 1.0) / m;
    const double from_assigned = lot.mean_fraction * control.standard_uncertainty_mg_per_kg.value_or(0.0) / assigned;
    const double variance = of_readings + from_assigned * from_assigned;
    // Readings that do not differ at all: what is left is the assigned content's own uncertainty, which is taken as
    // known.
    constexpr double as_good_as_known = 1e6;
    lot.degrees_of_freedom = of_readings > 0.0
                                 ? std::min(as_good_as_known, (m - 1.0) * std::pow(variance / of_readings, 2))
                                 : as_good_as_known;
    const double reach = interval_law::student_quantile(0.95, lot.degrees_of_freedom) * std::sqrt(variance);
    lot.low90 = lot.mean_fraction - reach;
    lot.high90 = lot.mean_fraction + reach;
    lot.holds_all = *lot.low90 <= 1.0 && 1.0 <= *lot.high90;
    lot.says =
        fmt::format("{:.0f} % of the assigned content in {} (90 % interval {:.0f} to {:.0f} %), and 100 % {}{}{}",
                    lot.mean_fraction * 100.0, counted(static_cast<long long>(lot.readings.size()), "reading"),
                    *lot.low90 * 100.0, *lot.high90 * 100.0, *lot.holds_all ? "lies inside" : "does not lie inside",
                    control.standard_uncertainty_mg_per_kg
                        ? ""
                        : "; the uncertainty of the assigned content is not recorded and not in it",
                    left_out);
    return lot;
}

}  // namespace models
