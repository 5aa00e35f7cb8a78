#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/weather/hourly_series.h"

namespace models {

/// What is odd about an hour or a run of hours; the first three by the station alone, the others by its neighbours.
enum class FlagKind { range, step, stuck, hour, day, level, gauge, clock };
inline constexpr std::size_t flag_kinds = 8;
std::string_view name_of(FlagKind kind);  ///< "range", "step", ...

/// An hour, or a run of hours, that a working sensor would hardly have written. Nothing is taken out: the reader of
/// the flag decides.
struct WeatherFlag {
    std::size_t first_hour = 0, last_hour = 0;  ///< both included, in the series
    std::string quantity;                       ///< "temperature_degc", "relative_humidity_pct", ...
    std::string reason;                         ///< a sentence with the value and the hour, without its full stop
    FlagKind kind = FlagKind::range;
};

/// Three checks, in the order of the hours:
///   range  temperature outside -50 to 50 degC, humidity below 3 %, rain above 100 mm in the hour
///   step   a temperature more than 10 degC (a humidity more than 50 points) above both its neighbours in time, or
///   below
///          both: a spike; a front moves the hours after it too and is none
///   stuck  the very same temperature, or humidity under 97 %, for 18 hours or more
/// The bounds are the project's own (common practice, no source).
std::vector<WeatherFlag> check_quality(const HourlySeries& series);

}  // namespace models
