#include <cmath>
#include <numbers>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/phenology/day_length.h"

using namespace models;

namespace {

constexpr double radians_per_degree = std::numbers::pi / 180.0;

/// Slow and obvious: the minutes of one turn of the earth for which the sun stands above the edge, with the declination
/// of the Astronomical Almanac's low-precision formulae (page C5, good to 0.01 degrees).
double day_length_by_minutes_h(double latitude_deg, LocalDay day, double degrees_below) {
    const auto n = static_cast<double>((day - day_of(2000, 1, 1)).count());
    const double anomaly = (357.528 + 0.9856003 * n) * radians_per_degree;
    const double longitude =
        (280.460 + 0.9856474 * n + 1.915 * std::sin(anomaly) + 0.020 * std::sin(2.0 * anomaly)) * radians_per_degree;
    const double declination = std::asin(std::sin((23.439 - 0.0000004 * n) * radians_per_degree) * std::sin(longitude));
    int minutes = 0;
    for (int minute = 0; minute < 1440; ++minute) {
        const double hour_angle = (minute + 0.5) / 1440.0 * 360.0 * radians_per_degree;
        const double sine = std::sin(latitude_deg * radians_per_degree) * std::sin(declination) +
                            std::cos(latitude_deg * radians_per_degree) * std::cos(declination) * std::cos(hour_angle);
        minutes += std::asin(sine) > -degrees_below * radians_per_degree ? 1 : 0;
    }
    return minutes / 60.0;
}

}  // namespace

TEST_CASE("the length of the day agrees with the minutes that the sun is up") {
    // The formula is a mean year's course; the sun of one year departs from it by 5 minutes at 52 degrees of latitude.
    for (const double latitude : {-45.0, -28.0, 0.0, 20.0, 35.7, 45.0, 52.0}) {
        for (LocalDay day = day_of(2022, 1, 3); day <= day_of(2022, 12, 31); day += std::chrono::days(11)) {
            for (const DayEdge edge : {DayEdge::sun_centre, DayEdge::sunrise_and_sunset, DayEdge::civil_twilight}) {
                INFO(latitude << " " << to_text(day) << " " << degrees_below_horizon(edge));
                CHECK(day_length_h(latitude, day, edge) ==
                      Approx(day_length_by_minutes_h(latitude, day, degrees_below_horizon(edge)))
                          .margin(0.09)
                          .epsilon(0.0)
                          .epsilon(0.0)
                          .epsilon(0));
            }
        }
    }
}

TEST_CASE("the third of September at 20 degrees south has about 11.7 hours") {
    // FAO Irrigation and Drainage Paper 56, example 9: day 246, 11.7 hours (11.66559 unrounded), from a declination of
    // one sine wave a year: the two formulas differ by 3 minutes.
    CHECK(day_length_h(-20.0, day_of(2021, 9, 3), DayEdge::sun_centre) == Approx(11.66559).margin(0.06).epsilon(0));
}

TEST_CASE("days north and days and nights south of the line are each other's mirror") {
    for (const double latitude : {5.0, 35.0, 52.0, 64.0}) {
        for (LocalDay day = day_of(2024, 1, 1); day <= day_of(2024, 12, 31); day += std::chrono::days(7)) {
            const double north = day_length_h(latitude, day, DayEdge::sun_centre);
            CHECK(north + day_length_h(-latitude, day, DayEdge::sun_centre) == Approx(24.0));
            CHECK(day_length_h(latitude, day) > north);
            CHECK(day_length_h(latitude, day, DayEdge::civil_twilight) > day_length_h(latitude, day));
            CHECK(day_length_h(latitude, day, DayEdge::astronomical_twilight) >=
                  day_length_h(latitude, day, DayEdge::nautical_twilight));
        }
    }
}

TEST_CASE("beyond the polar circles the day may last 24 hours or none") {
    CHECK(day_length_h(75.0, day_of(2022, 6, 21)) == 24.0);
    CHECK(day_length_h(75.0, day_of(2022, 12, 21)) == 0.0);
    CHECK(day_length_h(-90.0, day_of(2022, 12, 21)) == 24.0);
}

TEST_CASE("a latitude beyond the poles is refused") {
    CHECK_THROWS_WITH(day_length_h(90.5, day_of(2022, 6, 1)), Catch::Matchers::Contains("90.5 is no latitude"));
    CHECK_THROWS_AS(day_length_h(NAN, day_of(2022, 6, 1)), Error);
}
