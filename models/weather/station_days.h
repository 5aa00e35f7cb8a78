#pragma once

#include <array>
#include <bitset>
#include <cstddef>
#include <optional>
#include <vector>

#include "models/calendar.h"
#include "models/weather/coverage.h"
#include "models/weather/hourly_series.h"

namespace models {

/// One quantity over one local day. A day serves for means and lows when at least 18 hours of it were seen and no gap
/// is longer than 6 hours.
struct DayQuantity {
    Coverage coverage;
    bool usable = false;
    double lowest = HourlySeries::missing;  ///< of the hours seen; NaN where there are none
    double highest = HourlySeries::missing;
};

/// A quantity by the clock: entry h is the hour that began at h o'clock, NaN where it was not seen. The hour that the
/// autumn clock repeats is the mean of both; the one that the spring clock skips is NaN and not expected.
struct HoursOfDay {
    DayQuantity day;
    std::array<double, 24> at{};
};

/// Hours of a day that meet a condition; coverage counts the hours for which it could be decided.
struct HourCount {
    int counted = 0;
    Coverage coverage;
};

/// Everything that the disease models ask of one station on one local day, computed once however many fields ask.
struct DailySummary {
    LocalDay day{};
    std::bitset<24> clock;  ///< the hours that this day's clock had: all, but for the one skipped in spring
    std::size_t first_hour = 0, last_hour = 0;  ///< [first, last) in the series; fewer than expected where it ends
    HoursOfDay relative_humidity_pct;
    HoursOfDay dew_point_depression_degc;  ///< temperature - dew point
    HourCount warm_wet;                    ///< hours of 15 to 30 degC with a humidity of at least 90 %
    HourCount warm;                        ///< hours of 15 to 30 degC
    HoursOfDay temperature_degc;           ///< day.lowest = the day's minimum
    bool night_complete = false;           ///< every hour from 02 to 08 o'clock has a temperature: the minimum is one
    double rain_mm = 0.0;                  ///< of the hours seen
    Coverage rain;
};

/// The hours of one station cut into local days, in order and without a gap in the row of days. A day at the edge of
/// the series that is not whole is there with the hours that are missing. Where only one of humidity and dew point is
/// known the other is computed; a humidity above 100 % counts as 100 %, a dew point above the temperature as
/// saturation.
class StationDays {
 public:
    StationDays() = default;
    /// @throws Error  the vectors of the series differ in length
    explicit StationDays(HourlySeries series);

    const HourlySeries& series() const { return series_; }
    const std::vector<DailySummary>& days() const { return days_; }
    /// nullptr for a day that the series does not touch.
    const DailySummary* day(LocalDay day) const;

 private:
    HourlySeries series_;
    std::vector<DailySummary> days_;
};

}  // namespace models
