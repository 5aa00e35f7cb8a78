#include <cmath>

#include <catch2/catch.hpp>

#include "models/weather/nearest_station.h"
#include "models/weather/quality.h"
#include "tests/support/made_weather.h"
#include "tests/support/shared_data.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

HourlySeries ordinary_week() {
    return tests::made_hours(day_of(2026, 6, 1), 7, [](int day, int hour) {
        const double swing = std::sin(0.2617993877991494 * (hour - 9));
        return HourlyWeather{16.0 + 7.0 * swing + 0.3 * day, 75.0 - 20.0 * swing, HourlySeries::missing, 0.0};
    });
}

}  // namespace

TEST_CASE("an ordinary week has no flag") {
    CHECK(check_quality(ordinary_week()).empty());
}

TEST_CASE("a spike is flagged and a front is not") {
    HourlySeries series = ordinary_week();
    series.temperature_degc[60] -= 15.0;
    series.relative_humidity_pct[80] -= 65.0;
    for (std::size_t i = 100; i < series.size(); ++i) series.temperature_degc[i] -= 14.0;
    const auto flags = check_quality(series);
    REQUIRE(flags.size() == 2);
    CHECK(flags[0].first_hour == 60);
    CHECK(flags[0].quantity == "temperature_degc");
    CHECK_THAT(flags[0].reason, Contains("2026-06-03T12:00:00+02:00 stands alone between"));
    CHECK(flags[1].first_hour == 80);
    CHECK(flags[1].quantity == "relative_humidity_pct");
}

TEST_CASE("a sensor that stands still is flagged once with its hours and fog is not") {
    HourlySeries series = ordinary_week();
    for (std::size_t i = 30; i < 50; ++i) series.temperature_degc[i] = 15.0;
    for (std::size_t i = 70; i < 110; ++i) series.relative_humidity_pct[i] = 100.0;
    for (std::size_t i = 120; i < 137; ++i) series.relative_humidity_pct[i] = 60.0;
    const auto flags = check_quality(series);
    REQUIRE(flags.size() == 1);
    CHECK(flags[0].first_hour == 30);
    CHECK(flags[0].last_hour == 49);
    CHECK_THAT(flags[0].reason, Contains("stays at 15 degC for 20 hours from 2026-06-02T06:00:00+02:00"));
}

TEST_CASE("values that weather does not have are flagged and missing ones are not") {
    HourlySeries series = ordinary_week();
    series.temperature_degc[0] = 55.0;
    series.relative_humidity_pct[167] = 1.0;
    series.rain_mm[50] = 120.0;
    series.temperature_degc[90] = series.rain_mm[90] = HourlySeries::missing;
    const auto flags = check_quality(series);
    REQUIRE(flags.size() == 3);
    CHECK_THAT(flags[0].reason, Contains("a temperature of 55 degC"));
    CHECK_THAT(flags[1].reason, Contains("a rain of 120 mm"));
    CHECK_THAT(flags[2].reason, Contains("a humidity of 1 %"));
    CHECK(check_quality(HourlySeries{}).empty());
}

TEST_CASE("of two months of three airports only the known fault is flagged") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table table(shared / "data/weather/nyc_airports_2013_may_june.csv");
    std::vector<std::string> reasons;
    for (const char* airport : {"EWR", "JFK", "LGA"}) {
        HourlySeries series;
        series.station = airport;
        for (std::size_t row = 0; row < table.rows(); ++row) {
            if (table.text(row, "origin") != airport) continue;
            const auto utc = parse_stamp(table.text(row, "time_hour"))->utc;
            if (series.empty()) series.first_utc = utc;
            for (bool missing = true; missing;) {
                missing = series.utc(series.size()) < utc;
                const double gap = HourlySeries::missing;
                series.temperature_degc.push_back(missing ? gap : (table.number(row, "temp") - 32.0) / 1.8);
                series.relative_humidity_pct.push_back(missing ? gap : table.number(row, "humid"));
                series.dew_point_degc.push_back(gap);
                series.rain_mm.push_back(missing ? gap : table.number(row, "precip") * 25.4);
                series.offset_min.push_back(-240);
            }
        }
        for (const WeatherFlag& flag : check_quality(series)) {
            reasons.push_back(series.station + " " + to_text(series.utc(flag.first_hour)) + " " + flag.reason);
        }
    }
    REQUIRE(reasons.size() == 1);
    CHECK_THAT(reasons[0],
               Contains("JFK 2013-05-09T02:00:00Z a temperature of -10.5 degC") && Contains("stands alone"));
}

TEST_CASE("the nearest station is the nearest and of two equally near the first") {
    const auto at = [](const char* name, double x_m, double y_m) {
        Station station;
        station.station = name;
        station.place_m = {x_m, y_m};
        return station;
    };
    const std::vector<Station> stations = {at("far", 9000, 0), at("east", 300, 400), at("west", -300, -400)};
    const auto nearest = nearest_station({0, 0}, stations);
    REQUIRE(nearest.has_value());
    CHECK(nearest->index == 1);
    CHECK(nearest->distance_m == 500.0);
    CHECK_FALSE(nearest_station({0, 0}, {}).has_value());
    const auto within = stations_by_distance({8000, 0}, stations, 8310.0);
    REQUIRE(within.size() == 3);
    CHECK(within[0].index == 0);
    CHECK(within[1].index == 1);
    CHECK(stations_by_distance({8000, 0}, stations, 1000.0).size() == 1);
}

TEST_CASE("a degree of latitude is 111 kilometres and the way round the earth is the short one") {
    CHECK(distance_on_earth_m(9.0, 55.0, 9.0, 56.0) == Approx(6371008.8 * 3.14159265358979 / 180.0));
    CHECK(distance_on_earth_m(179.5, 10.0, -179.5, 10.0) == Approx(distance_on_earth_m(0.0, 10.0, 1.0, 10.0)));
    CHECK(distance_on_earth_m(5.0, 60.0, 5.0, 60.0) == 0.0);
    // Flinders Peak to Buninyong, 54972.271 m on the ellipsoid: the worked line of the GDA technical manual (ICSM).
    CHECK(distance_on_earth_m(144.4249679, -37.9510334, 143.9264955, -37.6528211) == Approx(54972.271).epsilon(0.006));
}
