#pragma once

#include <functional>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "models/calendar.h"
#include "models/weather/window.h"

namespace models {

struct DayExtremes {
    LocalDay day{};
    double minimum_degc = HourlySeries::missing;
    double maximum_degc = HourlySeries::missing;
};

/// A number of one day, and what it may have been where temperatures are missing: low <= likely <= high. All three are
/// equal where nothing is missing.
struct DayRange {
    double low = 0.0, likely = 0.0, high = 0.0;
};

/// The temperatures of a row of local days, from daily extremes or, better, from hours: what degree days and the
/// development of a crop are computed from. Missing days are never filled in silently: each number comes with the
/// range that the days around allow.
///
/// A day of hours is seen where at least 18 of them are and no gap is longer than 6 hours; hours missing from it were
/// anything from the coldest to the warmest hour seen on it and on its neighbours. A day that is not seen was anything
/// from the coldest to the warmest of its neighbours: the days seen among as many on either side as the gap is long, at
/// least three; the likely value is the neighbours' mean. Before the first and after the last day seen nothing is said.
class TemperatureDays {
 public:
    struct Day {
        LocalDay day{};
        std::vector<double> values_degc;  ///< minimum and maximum, or the hours by the clock; empty: not seen
        int values_missing = 0;           ///< hours of a day that is seen
        bool seen() const { return !values_degc.empty(); }
    };
    /// A function of one day's temperatures that does not fall where one of them rises.
    using OfDay = std::function<double(std::span<const double> values_degc)>;

    TemperatureDays() = default;
    /// @param days  ascending, gaps allowed; a day with a missing extreme (NaN) is not seen
    /// @throws Error  days out of order or twice, a minimum above the maximum, a temperature outside -90 to 60 degC
    static TemperatureDays from_extremes(std::span<const DayExtremes> days);
    /// @throws Error  a temperature outside -90 to 60 degC
    static TemperatureDays from_hours(const KnownWeather& weather);

    bool empty() const { return days_.empty(); }
    bool of_hours() const { return of_hours_; }
    const std::vector<Day>& days() const { return days_; }  ///< without a gap, from the first to the last day seen
    const Day* day(LocalDay day) const;                     ///< nullptr before the first and after the last day seen
    /// The same weather as it was known at the end of that day.
    TemperatureDays until(LocalDay day) const;

    /// nullopt before the first and after the last day seen.
    std::optional<DayRange> range(LocalDay day, const OfDay& number) const;
    std::optional<DayRange> mean_degc(LocalDay day) const;

 private:
    void keep_seen();
    DayRange range_of_seen(std::size_t i, const OfDay& number) const;
    DayRange range_of_gap(std::size_t i, const OfDay& number) const;

    std::vector<Day> days_;
    bool of_hours_ = false;
};

/// How many days of a window are known: seen, or not seen between days that are.
struct DayCoverage {
    int days = 0, missing = 0, longest_gap = 0;
    int beyond = 0;  ///< of the missing: before the first or after the last day seen
    double share() const { return days > 0 ? static_cast<double>(days - missing) / days : 0.0; }
};
DayCoverage coverage_of(const TemperatureDays& temperatures, const DayWindow& window);

}  // namespace models
