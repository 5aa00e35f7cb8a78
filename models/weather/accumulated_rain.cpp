#include "models/weather/accumulated_rain.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstddef>
#include <limits>

namespace models {

namespace {

constexpr double wet_mm = 0.1, same_mm = 0.005, packing_mm = 0.02;

int hour_of_utc_day(std::int64_t hour) {
    return static_cast<int>(((hour % 24) + 24) % 24);
}

}  // namespace

RainCounter find_rain_counter(const std::vector<std::vector<double>>& places, std::int64_t first_hour) {
    long after_wet = 0, still = 0, falls = 0;
    std::array<long, 24> falls_at{}, after_wet_at{};
    for (const std::vector<double>& rain : places) {
        for (std::size_t i = 1; i < rain.size(); ++i) {
            if (!(rain[i - 1] >= wet_mm) || std::isnan(rain[i])) continue;
            const auto of_day = static_cast<std::size_t>(hour_of_utc_day(first_hour + static_cast<std::int64_t>(i)));
            ++after_wet;
            ++after_wet_at[of_day];
            if (rain[i] < rain[i - 1] - same_mm) {
                ++falls;
                ++falls_at[of_day];
            } else if (rain[i] <= rain[i - 1] + same_mm) {
                ++still;
            }
        }
    }
    const auto share = [&](long part) { return static_cast<double>(part) / static_cast<double>(after_wet); };
    if (after_wet == 0 || share(falls) >= 0.30) return {RainTold::each_hour, {}, after_wet};
    const bool rises = still + falls < after_wet;  // the same number for days may be either, or a sensor that hangs
    const auto most = std::max_element(falls_at.begin(), falls_at.end());
    // Rain goes on for days, and the counter hardly ever stands still; but it falls where it is set back alone.
    const long at_reset = *most == 0 ? 0 : after_wet_at[static_cast<std::size_t>(most - falls_at.begin())];
    constexpr long enough = 12;
    const bool falls_nowhere_else = *most == falls && after_wet - at_reset >= enough;
    const bool stands_still = share(still) >= 0.40 && share(falls) <= 0.25;
    if (after_wet < enough || !rises || !(stands_still || falls_nowhere_else)) {
        return {RainTold::unclear, {}, after_wet};
    }
    RainCounter counter{RainTold::counting, {}, after_wet};
    if (falls >= 2 && *most == falls) counter.reset_hour = static_cast<int>(most - falls_at.begin());
    return counter;
}

std::vector<double> rain_of_each_hour(const std::vector<double>& totals_mm, std::int64_t first_hour,
                                      std::optional<int> reset_hour) {
    std::vector<double> rain(totals_mm.size(), std::numeric_limits<double>::quiet_NaN());
    double before = std::numeric_limits<double>::quiet_NaN();  // the highest total since the counter was set back
    for (std::size_t i = 0; i < totals_mm.size(); ++i) {
        const double total = totals_mm[i];
        if (std::isnan(total)) {
            before = total;
            continue;
        }
        const bool begins = reset_hour && hour_of_utc_day(first_hour + static_cast<std::int64_t>(i)) == *reset_hour;
        if (begins || total < before - packing_mm || (std::isnan(before) && total <= packing_mm)) {
            rain[i] = std::max(0.0, total);
            before = total;
        } else if (!std::isnan(before)) {
            rain[i] = std::max(0.0, total - before);
            before = std::max(before, total);
        } else {
            before = total;
        }
    }
    return rain;
}

}  // namespace models
