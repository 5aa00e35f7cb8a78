#pragma once

#include <limits>

#include "models/disease/disease_model.h"
#include "models/spoken.h"

namespace models {

/// The two counts of hours that several models ask for, with the windows of De Wolf, Madden & Lipps (2003),
/// Phytopathology 93:428-435 (T15307 and TRH9010 there, both ends included).

/// Hours of 15 to 30 degC from seven days before flowering to the day itself. No range of any data is on record.
inline WeatherTerm warm_hours_before_flowering() {
    return {.name = "warm_hours",
            .title = word("hours of 15 to 30 degC").original,
            .unit = "h",
            .from_day = -7,
            .to_day = 0,
            .data_low = 0.0,
            .data_high = std::numeric_limits<double>::infinity(),
            .measure = warm_hours};
}

/// Hours of 15 to 30 degC with a humidity of at least 90 % from flowering to ten days after it.
inline WeatherTerm warm_wet_hours_from_flowering(double data_high) {
    return {.name = "warm_wet_hours",
            .title = word("hours of 15 to 30 degC and at least 90 %").original,
            .unit = "h",
            .from_day = 0,
            .to_day = 10,
            .data_low = 0.0,
            .data_high = data_high,
            .measure = warm_wet_hours};
}

}  // namespace models
