#pragma once

#include <functional>
#include <optional>
#include <string>

#include "models/weather/aligned_hours.h"
#include "tests/support/made_weather.h"

namespace tests {

/// A station with whole days of hours from a rule, its clock 2 h ahead of UTC.
inline models::StationWeather made_station(const std::string& name, const models::PointM& place_m, int days,
                                           const std::function<models::HourlyWeather(int day, int hour)>& rule,
                                           std::optional<double> elevation_m = std::nullopt) {
    models::StationWeather made;
    made.station.station = name;
    made.station.place_m = place_m;
    made.station.elevation_m = elevation_m;
    made.hours = made_hours(models::day_of(2026, 5, 20), days, rule);
    made.hours.station = name;
    return made;
}

}  // namespace tests
