#include <cmath>
#include <limits>
#include <map>
#include <optional>
#include <random>
#include <string>

#include <catch2/catch.hpp>

#include "models/weather/accumulated_rain.h"
#include "tests/support/made_weather.h"
#include "tests/support/shared_data.h"
#include "tests/support/table.h"

using namespace models;

namespace {

constexpr double no_total = std::numeric_limits<double>::quiet_NaN();

/// Showers of some hours: 40 days of them, hour by hour.
std::vector<double> showers(unsigned seed) {
    std::mt19937 random(seed);
    std::vector<double> rain(960, 0.0);
    bool wet = false;
    for (double& hour : rain) {
        wet = random() % 100 < (wet ? 70u : 6u);
        if (wet) hour = 0.2 * static_cast<double>(1 + random() % 20);
    }
    return rain;
}

/// What a counter shows that is set back with the hour `reset` of each day, or never.
std::vector<double> counted_on(const std::vector<double>& rain, std::optional<int> reset) {
    std::vector<double> totals;
    double total = 0.0;
    for (std::size_t i = 0; i < rain.size(); ++i) {
        if (reset && static_cast<int>(i % 24) == *reset) total = 0.0;
        totals.push_back(total += rain[i]);
    }
    return totals;
}

}  // namespace

TEST_CASE("rain of each hour and a counter are told apart by what follows a wet hour") {
    for (unsigned seed = 1; seed <= 20; ++seed) {
        const std::vector<double> rain = showers(seed);
        CHECK(find_rain_counter({rain}, 0).told == RainTold::each_hour);
        const RainCounter daily = find_rain_counter({counted_on(rain, 7)}, 0);
        CHECK(daily.told == RainTold::counting);
        CHECK(daily.reset_hour == 7);
        const RainCounter since_start = find_rain_counter({counted_on(rain, {})}, 0);
        CHECK(since_start.told == RainTold::counting);
        CHECK_FALSE(since_start.reset_hour);
    }
}

TEST_CASE("a counter gives back the rain that it counted") {
    const std::vector<double> rain = showers(3);
    for (const std::optional<int> reset : {std::optional<int>(7), std::optional<int>()}) {
        const std::vector<double> back = rain_of_each_hour(counted_on(rain, reset), 0, reset);
        REQUIRE(back.size() == rain.size());
        for (std::size_t i = 0; i < rain.size(); ++i) {
            if (i == 0 && std::isnan(back[i])) continue;
            REQUIRE(back[i] == Approx(rain[i]).margin(1e-9).epsilon(0.0));
        }
    }
}

TEST_CASE("a counter that is set back and a gap in it cost one hour at most") {
    const std::vector<double> totals = {3.0, 3.5, 0.4, 0.4, no_total, 1.0, 1.2, no_total, 0.0, 0.3};
    const std::vector<double> rain = rain_of_each_hour(totals, 0, {});
    CHECK(std::isnan(rain[0]));  // what fell before is in it
    CHECK(rain[1] == Approx(0.5));
    CHECK(rain[2] == Approx(0.4));  // set back, and 0.4 mm since
    CHECK(rain[3] == 0.0);
    CHECK(std::isnan(rain[4]));
    CHECK(std::isnan(rain[5]));  // 0.6 mm of two hours
    CHECK(rain[6] == Approx(0.2));
    CHECK(rain[8] == 0.0);  // a total of nothing leaves nothing for the hour
    CHECK(rain[9] == Approx(0.3));
}

TEST_CASE("more rain in the first hour of the day than the day before had is found where the reset is known") {
    const std::vector<double> totals = {0.2, 0.2, 5.0, 5.5};
    CHECK(rain_of_each_hour(totals, 22, 0)[2] == 5.0);
    CHECK(rain_of_each_hour(totals, 22, {})[2] == Approx(4.8));  // nothing tells that it was set back
}

TEST_CASE("the noise of packed numbers is no rain and no reset") {
    const std::vector<double> rain = rain_of_each_hour({4.0, 3.99, 4.005, 4.0, 4.5}, 0, {});
    CHECK(rain[1] == 0.0);
    CHECK(rain[2] == Approx(0.005));
    CHECK(rain[3] == 0.0);
    CHECK(rain[4] == Approx(0.495));
}

TEST_CASE("dry weather is the same either way and a few wet hours that only rise are unclear") {
    CHECK(find_rain_counter({{0, 0, 0, 0}}, 0).told == RainTold::each_hour);
    CHECK(find_rain_counter({}, 0).told == RainTold::each_hour);
    CHECK(find_rain_counter({{0, 0.4, 0.9, 1.3, 2.0}}, 0).told == RainTold::unclear);
    CHECK(find_rain_counter({std::vector<double>(48, 0.2)}, 0).told == RainTold::unclear);
    CHECK(find_rain_counter({{0, 0.4, 0.9, 0.0, 0.0}}, 0).told == RainTold::each_hour);
}

TEST_CASE("a counter through three days of rain is told by falling at its reset alone") {
    std::vector<double> rain(72, 0.0);
    for (std::size_t i = 20; i < 60; ++i) rain[i] = i % 4 == 0 ? 0.0 : 0.3 + 0.1 * static_cast<double>(i % 5);
    const RainCounter counter = find_rain_counter({counted_on(rain, 0)}, 0);
    CHECK(counter.told == RainTold::counting);
    CHECK(counter.reset_hour == 0);
    CHECK(find_rain_counter({rain}, 0).told == RainTold::each_hour);
    // One shower late in the day leaves too few hours to tell.
    std::vector<double> evening(72, 0.0);
    evening[19] = evening[21] = 1.2;
    const RainCounter few = find_rain_counter({counted_on(evening, 0)}, 0);
    CHECK(few.told == RainTold::unclear);
    CHECK(few.after_wet == 5);
}

TEST_CASE("three days of the six loggers and the three airports are never taken for a counter") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const tests::Table airports(shared / "data/weather/nyc_airports_2013_may_june.csv");
    std::map<std::string, std::vector<double>> by_place;
    for (std::size_t row = 0; row < hourly.rows(); ++row)
        by_place[hourly.text(row, "site")].push_back(hourly.number(row, "rain_mm"));
    for (std::size_t row = 0; row < airports.rows(); ++row)
        by_place[airports.text(row, "origin")].push_back(airports.number(row, "precip") * 25.4);
    int wet = 0, unclear = 0, counters_taken_for_hours = 0;
    for (const auto& [place, rain] : by_place) {
        for (std::size_t first = 0; first + 72 <= rain.size(); first += 24) {
            const std::vector<double> days(rain.begin() + static_cast<std::ptrdiff_t>(first),
                                           rain.begin() + static_cast<std::ptrdiff_t>(first + 72));
            const RainTold told = find_rain_counter({days}, 0).told;
            REQUIRE(told != RainTold::counting);
            if (find_rain_counter({days}, 0).after_wet < 2) continue;
            ++wet;
            unclear += told == RainTold::unclear ? 1 : 0;
            std::vector<double> known = days;
            for (double& hour : known) hour = std::isnan(hour) ? 0.0 : hour;
            counters_taken_for_hours +=
                find_rain_counter({counted_on(known, 0)}, 0).told == RainTold::each_hour ? 1 : 0;
        }
    }
    CHECK(wet > 300);
    CHECK(unclear < wet / 50);                   // asked without need
    CHECK(counters_taken_for_hours < wet / 25);  // rain in the last hours of days alone
}

TEST_CASE("the rain of the six loggers and the three airports is rain of each hour") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const tests::Table airports(shared / "data/weather/nyc_airports_2013_may_june.csv");
    std::map<std::string, std::vector<double>> by_place;
    for (std::size_t row = 0; row < hourly.rows(); ++row) {
        by_place[hourly.text(row, "site")].push_back(hourly.number(row, "rain_mm"));
    }
    for (std::size_t row = 0; row < airports.rows(); ++row) {
        by_place[airports.text(row, "origin")].push_back(airports.number(row, "precip") * 25.4);
    }
    CHECK(by_place.size() == 9);
    for (const auto& [place, rain] : by_place) {
        INFO(place);
        CHECK(find_rain_counter({rain}, 0).told == RainTold::each_hour);
        CHECK(find_rain_counter({counted_on(rain, 0)}, 0).told == RainTold::counting);
    }
}
