#pragma once

#include <cmath>
#include <functional>
#include <numbers>
#include <vector>

#include "models/phenology/temperature_days.h"

namespace tests {

/// Daily extremes 6 degC below and above a mean temperature from a rule.
inline std::vector<models::DayExtremes> made_extremes(models::LocalDay first, int days,
                                                      const std::function<double(models::LocalDay)>& mean_degc) {
    std::vector<models::DayExtremes> result;
    for (int n = 0; n < days; ++n) {
        const models::LocalDay day = first + std::chrono::days(n);
        const double mean = mean_degc(day);
        result.push_back({day, mean - 6.0, mean + 6.0});
    }
    return result;
}

inline models::TemperatureDays made_temperatures(models::LocalDay first, int days,
                                                 const std::function<double(models::LocalDay)>& mean_degc) {
    return models::TemperatureDays::from_extremes(made_extremes(first, days, mean_degc));
}

/// A year's course of the mean temperature: warmest on one day of the year, no weather beside the season.
inline std::function<double(models::LocalDay)> seasons(double mean_degc, double swing_degc, models::LocalDay warmest) {
    return [=](models::LocalDay day) {
        const auto away = static_cast<double>((day - warmest).count());
        return mean_degc + swing_degc * std::cos(2.0 * std::numbers::pi * away / 365.25);
    };
}

}  // namespace tests
