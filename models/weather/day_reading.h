#pragma once

#include <bitset>
#include <cstddef>

#include "models/weather/station_days.h"
#include "models/weather/window.h"

namespace models {

/// The hours of one local day, read for any quantity or condition; what a day's summary and a window share.
class DayReading {
 public:
    /// @param first, last  [first, last) of the series are the hours of that day
    DayReading(const HourlySeries& series, std::size_t first, std::size_t last);

    /// The hours of the clock that the day had.
    std::bitset<24> clock() const { return clock_; }
    HoursOfDay by_the_clock(const HourQuantity& quantity) const;
    HourCount count(const HourCondition& condition) const;

 private:
    HourlyWeather hour(std::size_t i) const {
        return {series_.temperature_degc[i], series_.relative_humidity_pct[i], series_.dew_point_degc[i],
                series_.rain_mm[i]};
    }
    std::size_t hour_of_clock(std::size_t i) const {
        return static_cast<std::size_t>(series_.stamp(i).local_time_of_day() / std::chrono::hours(1));
    }

    const HourlySeries& series_;
    std::size_t first_, last_;
    std::size_t missing_before_ = 0, missing_after_ = 0;  ///< hours of the day beyond the ends of the series
    std::bitset<24> clock_;
    Coverage expected_;
};

}  // namespace models
