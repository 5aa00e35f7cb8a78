#include "models/weather/quality.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

namespace models {

namespace {

/// What an ordinary hour of one quantity looks like.
struct Ordinary {
    const char* quantity;
    const char* words;
    const char* unit;
    double lowest, highest;
    double largest_step;         ///< infinite: steps say nothing
    std::size_t longest_rest_h;  ///< 0: standing still says nothing
    double restless_below;       ///< values from here on may stand still: fog
};

constexpr double no_limit = std::numeric_limits<double>::infinity();
constexpr Ordinary ordinary_temperature = {"temperature_degc", "temperature", "degC", -50.0, 50.0, 10.0, 18, no_limit};
constexpr Ordinary ordinary_humidity = {"relative_humidity_pct", "humidity", "%", 3.0, 100.5, 50.0, 18, 97.0};
constexpr Ordinary ordinary_rain = {"rain_mm", "rain", "mm", 0.0, 100.0, no_limit, 0, 0.0};

void check_quantity(const HourlySeries& series, const std::vector<double>& values, const Ordinary& ordinary,
                    std::vector<WeatherFlag>& flags) {
    const auto flag = [&](FlagKind kind, std::size_t first, std::size_t last, std::string reason) {
        flags.push_back({first, last, ordinary.quantity, std::move(reason), kind});
    };
    for (std::size_t i = 0; i < values.size(); ++i) {
        const double value = values[i];
        if (value < ordinary.lowest || value > ordinary.highest) {
            flag(FlagKind::range, i, i,
                 fmt::format("a {} of {:.4g} {} at {} is out of the ordinary", ordinary.words, value, ordinary.unit,
                             to_text(series.stamp(i))));
        }
        if (i == 0 || i + 1 == values.size()) continue;
        const double rise = value - values[i - 1], fall = value - values[i + 1];
        const bool spike = rise * fall > 0.0 && std::min(std::abs(rise), std::abs(fall)) > ordinary.largest_step;
        if (spike) {
            flag(FlagKind::step, i, i,
                 fmt::format("a {} of {:.4g} {} at {} stands alone between {:.4g} and {:.4g}", ordinary.words, value,
                             ordinary.unit, to_text(series.stamp(i)), values[i - 1], values[i + 1]));
        }
    }
    if (ordinary.longest_rest_h == 0) return;
    for (std::size_t first = 0; first < values.size();) {
        std::size_t end = first + 1;
        while (end < values.size() && values[end] == values[first]) ++end;
        if (end - first >= ordinary.longest_rest_h && values[first] < ordinary.restless_below) {
            flag(FlagKind::stuck, first, end - 1,
                 fmt::format("the {} stays at {:.4g} {} for {} hours from {}: a sensor that stands still",
                             ordinary.words, values[first], ordinary.unit, end - first, to_text(series.stamp(first))));
        }
        first = end;
    }
}

}  // namespace

std::string_view name_of(FlagKind kind) {
    constexpr std::array<std::string_view, flag_kinds> names = {"range", "step",  "stuck", "hour",
                                                                "day",   "level", "gauge", "clock"};
    return names[static_cast<std::size_t>(kind)];
}

std::vector<WeatherFlag> check_quality(const HourlySeries& series) {
    std::vector<WeatherFlag> flags;
    check_quantity(series, series.temperature_degc, ordinary_temperature, flags);
    check_quantity(series, series.relative_humidity_pct, ordinary_humidity, flags);
    check_quantity(series, series.rain_mm, ordinary_rain, flags);
    std::stable_sort(flags.begin(), flags.end(),
                     [](const WeatherFlag& a, const WeatherFlag& b) { return a.first_hour < b.first_hour; });
    return flags;
}

}  // namespace models
