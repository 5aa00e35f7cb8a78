#pragma once

#include <string>
#include <vector>

#include "models/weather/hourly_series.h"

namespace models {

/// An hour, or a run of hours, that a working sensor would hardly have written. Nothing is taken out: the reader of
/// the flag decides.
struct WeatherFlag {
    std::size_t first_hour = 0, last_hour = 0;  ///< both included, in the series
    std::string quantity;                       ///< "temperature_degc", "relative_humidity_pct", ...
    std::string reason;                         ///< a sentence with the value and the hour
};

/// Three checks, in the order of the hours:
///   range  temperature outside -50 to 50 degC, humidity below 3 %, rain above 100 mm in the hour
///   step   an hour that leaves both its neighbours by more than 10 degC (or 50 points of humidity) the same way,
///          while these agree: a spike; a front moves the hours after it too and is none
///   stuck  a temperature or humidity under 97 % that does not move for 12 hours or more
/// The bounds are the project's own (common practice, no source).
std::vector<WeatherFlag> check_quality(const HourlySeries& series);

}  // namespace models
