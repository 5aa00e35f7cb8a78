#pragma once

#include <cmath>
#include <functional>
#include <optional>

#include "models/weather/station_days.h"

namespace models {

/// Local days, both ends included: flowering to flowering + 10 is 11 days, 264 hours where the clock does not change.
struct DayWindow {
    LocalDay first{};
    LocalDay last{};
    int days() const { return static_cast<int>((last - first).count()) + 1; }
};
/// The window grown until it holds the other one too.
void widen(std::optional<DayWindow>& window, const std::optional<DayWindow>& by);
/// Day d of a window is the flowering date + d.
DayWindow window_around(LocalDay flowering, int from_day, int to_day);

/// The weather of a station as it was known at the end of some day: later hours count as missing.
struct KnownWeather {
    const StationDays* station = nullptr;  ///< nullptr: no station, everything is missing
    std::optional<LocalDay> as_of;
    const DailySummary* day(LocalDay day) const;
};

/// One hour as a condition sees it; NaN where not measured.
struct HourlyWeather {
    double temperature_degc, relative_humidity_pct, dew_point_degc, rain_mm;
};
enum class Truth { no, yes, unknown };
/// Both ends included; unknown for NaN.
inline Truth is_within(double value, double lowest, double highest) {
    if (std::isnan(value)) return Truth::unknown;
    return value >= lowest && value <= highest ? Truth::yes : Truth::no;
}
/// No as soon as one is no.
inline Truth all_of(Truth a, Truth b) {
    if (a == Truth::no || b == Truth::no) return Truth::no;
    return a == Truth::unknown || b == Truth::unknown ? Truth::unknown : Truth::yes;
}
using HourCondition = std::function<Truth(const HourlyWeather&)>;
using HourQuantity = std::function<double(const HourlyWeather&)>;

/// Hours that meet a condition. With N hours expected of which S could be decided and C met it: lower = C,
/// upper = C + (N - S), value = C N / S where the coverage is enough.
WindowValue count_hours(const KnownWeather& weather, const DayWindow& window, const HourCondition& condition);
/// The same of the condition that days keep: 15 to 30 degC and at least 90 %, both included. De Wolf, Madden & Lipps
/// (2003), Phytopathology 93:428-435, call it TRH9010 for flowering to flowering + 10.
WindowValue warm_wet_hours(const KnownWeather& weather, const DayWindow& window);
/// Hours of 15 to 30 degC, both included, whatever the humidity; in the same paper T15307 for the week before
/// flowering.
WindowValue warm_hours(const KnownWeather& weather, const DayWindow& window);

/// Means over all hours, first for every hour of the clock over the days, then over the clock, so that a gap at night
/// does not shift them. Days that are not usable are left out. The lower (upper) bound takes every missing hour as the
/// lowest (highest) hour seen in the window; there is none where less than half of the hours was seen.
WindowValue mean_relative_humidity_pct(const KnownWeather& weather, const DayWindow& window);
WindowValue mean_dew_point_depression_degc(const KnownWeather& weather, const DayWindow& window);
WindowValue mean_temperature_degc(const KnownWeather& weather, const DayWindow& window);
WindowValue mean_of_hours(const KnownWeather& weather, const DayWindow& window, const HourQuantity& quantity);

/// Mean of the daily minima. A day needs its hours from 02 to 08 o'clock; otherwise its minimum could only have been
/// lower than what was seen, down to the lowest minimum of the window.
WindowValue mean_daily_minimum_degc(const KnownWeather& weather, const DayWindow& window);

/// Rain in all. Missing rain is not dry: with hours missing the value is an "at least", and in the upper bound each of
/// them may have brought `heaviest_hour_mm` (a cloudburst; common practice, no source).
WindowValue rain_sum_mm(const KnownWeather& weather, const DayWindow& window);
inline constexpr double heaviest_hour_mm = 30.0;

}  // namespace models
