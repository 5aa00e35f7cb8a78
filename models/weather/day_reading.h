#pragma once

#include <algorithm>
#include <array>
#include <bitset>
#include <cmath>
#include <cstddef>
#include <cstdint>
#include <vector>

#include "models/weather/station_days.h"
#include "models/weather/window.h"

namespace models {

/// The hours of one local day, read for any quantity or condition; what a day's summary and a window share. Both take a
/// callable of an HourlyWeather: they are run for every hour of every season.
class DayReading {
 public:
    /// @param first, last  [first, last) of the series are the hours of that day
    DayReading(const HourlySeries& series, std::size_t first, std::size_t last);

    /// The hours of the clock that the day had.
    std::bitset<24> clock() const { return clock_; }

    template <typename Quantity>
    HoursOfDay by_the_clock(const Quantity& quantity) const {
        HoursOfDay day;
        day.at.fill(HourlySeries::missing);
        day.day.coverage = expected_;
        std::array<int, 24> readings{};
        std::size_t gap = missing_before_, longest_gap = missing_before_;
        for (std::size_t i = first_; i < last_; ++i) {
            const double value = quantity(hour(i));
            gap = std::isnan(value) ? gap + 1 : 0;
            longest_gap = std::max(longest_gap, gap);
            if (gap > 0) continue;
            const std::size_t h = clock_of_[i - first_];
            see(day.day.coverage, h);
            day.at[h] = readings[h] == 0 ? value : day.at[h] + (value - day.at[h]) / (readings[h] + 1);
            ++readings[h];
            if (!(day.day.lowest <= value)) day.day.lowest = value;
            if (!(day.day.highest >= value)) day.day.highest = value;
        }
        longest_gap = std::max(longest_gap, gap + missing_after_);
        day.day.usable = day.day.coverage.hours_seen >= fewest_hours && longest_gap <= longest_gap_h;
        return day;
    }

    template <typename Condition>
    HourCount count(const Condition& condition) const {
        HourCount count;
        count.coverage = expected_;
        for (std::size_t i = first_; i < last_; ++i) {
            const Truth truth = condition(hour(i));
            if (truth == Truth::unknown) continue;
            see(count.coverage, clock_of_[i - first_]);
            if (truth == Truth::yes) ++count.counted;
        }
        return count;
    }

 private:
    static constexpr int fewest_hours = 18;
    static constexpr std::size_t longest_gap_h = 6;

    static void see(Coverage& coverage, std::size_t hour_of_clock) {
        ++coverage.hours_seen;
        ++coverage.seen_in_band[hour_of_clock / 6];
    }
    void expect(std::size_t hour_of_clock);
    HourlyWeather hour(std::size_t i) const {
        return {series_.temperature_degc[i], series_.relative_humidity_pct[i], series_.dew_point_degc[i],
                series_.rain_mm[i]};
    }

    const HourlySeries& series_;
    std::size_t first_, last_;
    std::vector<std::uint8_t> clock_of_;                  ///< the hour of the clock that each hour began at
    std::size_t missing_before_ = 0, missing_after_ = 0;  ///< hours of the day beyond the ends of the series
    std::bitset<24> clock_;
    Coverage expected_;
};

}  // namespace models
