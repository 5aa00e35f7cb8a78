#include "models/phenology/day_length.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

double radians_of_degrees(double degrees) {
    return degrees * std::numbers::pi / 180.0;
}

/// From 1 for the first of January.
int day_of_year(LocalDay day) {
    return static_cast<int>((day - day_of(year_of(day), 1, 1)).count()) + 1;
}

}  // namespace

double degrees_below_horizon(DayEdge edge) {
    switch (edge) {
        case DayEdge::sun_centre:
            return 0.0;
        case DayEdge::sunrise_and_sunset:
            return 0.8333;
        case DayEdge::civil_twilight:
            return 6.0;
        case DayEdge::nautical_twilight:
            return 12.0;
        case DayEdge::astronomical_twilight:
            return 18.0;
    }
    return 0.0;
}

double day_length_h(double latitude_deg, LocalDay day, DayEdge edge) {
    if (!(std::abs(latitude_deg) <= 90.0)) {
        throw Error(fmt::format("{} is no latitude", latitude_deg), "day length",
                    "give degrees from -90 (south) to 90 (north)");
    }
    const double theta = 0.2163108 + 2.0 * std::atan(0.9671396 * std::tan(0.00860 * (day_of_year(day) - 186)));
    const double declination = std::asin(0.39795 * std::cos(theta));
    const double latitude = radians_of_degrees(latitude_deg);
    const double cosine =
        (std::sin(radians_of_degrees(degrees_below_horizon(edge))) + std::sin(latitude) * std::sin(declination)) /
        (std::cos(latitude) * std::cos(declination));
    return 24.0 - 24.0 / std::numbers::pi * std::acos(std::clamp(cosine, -1.0, 1.0));
}

}  // namespace models
