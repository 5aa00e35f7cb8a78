#pragma once

#include <chrono>
#include <cmath>
#include <limits>
#include <string>
#include <vector>

#include "models/calendar.h"

namespace models {

/// The hours of one weather station, one entry an hour without gaps in the row of hours: hour i is the hour that
/// begins at first_utc + i h. A quantity that was not measured is NaN; missing rain is missing, not dry. The offset of
/// each hour is the one written in its own stamp, so that a local day has 23, 24 or 25 hours as the clock had them.
/// Shapes: all vectors have the same length. Units: degC, percent of saturation (0 to 100), mm in the hour, minutes.
struct HourlySeries {
    static constexpr double missing = std::numeric_limits<double>::quiet_NaN();

    std::string station;
    std::chrono::sys_seconds first_utc{};
    std::vector<double> temperature_degc;
    std::vector<double> relative_humidity_pct;
    std::vector<double> dew_point_degc;
    std::vector<double> rain_mm;
    std::vector<std::int16_t> offset_min;

    std::size_t size() const { return temperature_degc.size(); }
    bool empty() const { return temperature_degc.empty(); }
    std::chrono::sys_seconds utc(std::size_t hour) const { return first_utc + std::chrono::hours(hour); }
    Stamp stamp(std::size_t hour) const { return {utc(hour), std::chrono::minutes(offset_min[hour])}; }
    LocalDay local_day(std::size_t hour) const { return stamp(hour).local_day(); }
    /// Anything was measured in that hour.
    bool speaks(std::size_t hour) const {
        return !std::isnan(temperature_degc[hour]) || !std::isnan(relative_humidity_pct[hour]) ||
               !std::isnan(dew_point_degc[hour]) || !std::isnan(rain_mm[hour]);
    }
    /// Anything was measured in any hour.
    bool speaks() const {
        for (std::size_t hour = 0; hour < size(); ++hour) {
            if (speaks(hour)) return true;
        }
        return false;
    }
};

}  // namespace models
