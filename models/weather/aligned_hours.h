#pragma once

#include <chrono>
#include <cstdint>
#include <vector>

#include "models/records.h"
#include "models/weather/hourly_series.h"

namespace models {

/// A station and what it measured.
struct StationWeather {
    Station station;
    HourlySeries hours;
};

/// The hours of several stations side by side on one row of hours, NaN where a station has none: what stations are
/// compared and averaged on. Hour i begins at first_utc + i h; a station whose hours begin at another minute (where the
/// clock is half an hour from UTC) gives each to the hour in which it begins. Of humidity and dew point the one that is
/// missing is computed from the other (models/weather/humidity.h); humidity over 100 % counts as 100 %.
/// Shapes: the outer vectors one entry a station, the inner ones one an hour. Units: degC, %, mm in the hour, minutes.
struct AlignedHours {
    std::chrono::sys_seconds first_utc{};
    std::size_t hours = 0;
    std::vector<std::vector<double>> temperature_degc, dew_point_degc, relative_humidity_pct, rain_mm;
    /// A station's clock; beyond the ends of its series the clock of its first or last hour, 0 without any.
    std::vector<std::vector<std::int16_t>> offset_min;
    std::vector<std::size_t> first_of;  ///< where each station's own series begins
    std::vector<std::size_t> hours_of;  ///< and how long it is

    std::size_t stations() const { return temperature_degc.size(); }
    std::chrono::sys_seconds utc(std::size_t hour) const { return first_utc + std::chrono::hours(hour); }
    /// Hour of the clock of UTC, 0 to 23.
    std::size_t clock_utc(std::size_t hour) const;
};

/// @throws Error  a station stands at no place; its quantities differ in length
AlignedHours align(const std::vector<StationWeather>& stations);

/// What stands in the middle of some numbers, of an even count the mean of both; NaN of none.
double median_of(std::vector<double> values);

}  // namespace models
