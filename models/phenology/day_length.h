#pragma once

#include "models/calendar.h"

namespace models {

/// What counts as the edge of the day: the sun's centre at the horizon; sunrise to sunset as seen (upper edge at the
/// horizon, refraction included); or the end of a twilight.
enum class DayEdge { sun_centre, sunrise_and_sunset, civil_twilight, nautical_twilight, astronomical_twilight };

/// How far below the horizon the sun's centre stands at that edge: 0, 0.8333, 6, 12, 18 degrees.
double degrees_below_horizon(DayEdge edge);

/// Hours of day at a latitude on a date, the same every year:
///   theta = 0.2163108 + 2 atan(0.9671396 tan(0.00860 (J - 186)))     J: day of the year from 1
///   phi = asin(0.39795 cos theta)                                    the sun's declination
///   D = 24 - 24/pi acos((sin p + sin L sin phi) / (cos L cos phi))   p: degrees below the horizon, L: latitude
/// 24 where the sun does not pass the edge on its way down, 0 where it does not on its way up.
/// Source: Forsythe, Rykiel, Stahl, Wu & Schoolfield (1995), A model comparison for daylength as a function of latitude
/// and day of the year, Ecological Modelling 80:87-95 (the CBM model).
/// @param latitude_deg  -90 to 90, south negative
/// @throws Error  the latitude is none
double day_length_h(double latitude_deg, LocalDay day, DayEdge edge = DayEdge::sunrise_and_sunset);

}  // namespace models
