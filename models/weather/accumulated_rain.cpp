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
    std::array<long, 24> falls_at{};
    for (const std::vector<double>& rain : places) {
        for (std::size_t i = 1; i < rain.size(); ++i) {
            if (!(rain[i - 1] >= wet_mm) || std::isnan(rain[i])) continue;
            ++after_wet;
            if (rain[i] < rain[i - 1] - same_mm) {
                ++falls;
                ++falls_at[static_cast<std::size_t>(hour_of_utc_day(first_hour + static_cast<std::int64_t>(i)))];
            } else if (rain[i] <= rain[i - 1] + same_mm) {
                ++still;
            }
        }
    }
    const auto share = [&](long part) { return static_cast<double>(part) / static_cast<double>(after_wet); };
    if (after_wet == 0 || share(falls) >= 0.30) return {RainTold::each_hour, {}};
    const bool rises = still + falls < after_wet;  // the same number for days may be either, or a sensor that hangs
    if (after_wet < 12 || !rises || share(still) < 0.40 || share(falls) > 0.25) return {RainTold::unclear, {}};
    RainCounter counter{RainTold::counting, {}};
    const auto most = std::max_element(falls_at.begin(), falls_at.end());
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
