#include <cmath>

#include <catch2/catch.hpp>

#include "models/weather/neighbour_check.h"
#include "tests/support/made_stations.h"
#include "tests/support/shared_data.h"

using namespace models;
using Catch::Matchers::Contains;
using tests::made_station;

namespace {

/// A number between -1 and 1 that looks like chance and is the same everywhere.
double scatter(int a, int b, int c) {
    const double turned = std::sin(12.9898 * a + 78.233 * b + 37.719 * c) * 43758.5453;
    return 2.0 * (turned - std::floor(turned)) - 1.0;
}

/// Fronts, days and nights, and a little of the station's own; with rain every third night.
HourlyWeather district_weather(int station, int day, int hour) {
    const double front = 4.0 * std::sin(0.7 * day + 0.05 * hour) + 1.5 * scatter(0, day, hour / 3);
    const double temperature = 14.0 + 0.4 * station + 6.0 * std::sin(0.2617993877991494 * (hour - 9)) + front +
                               0.5 * scatter(station + 1, day, hour);
    const double rain = day % 3 == 0 && hour < 4 ? 1.0 + 0.3 * scatter(station + 9, day, hour) : 0.0;
    return {temperature, HourlySeries::missing, temperature - 4.0 - scatter(station + 5, day, hour), rain};
}

std::vector<StationWeather> district(int stations, int days = 42) {
    std::vector<StationWeather> all;
    for (int s = 0; s < stations; ++s) {
        all.push_back(made_station("S" + std::to_string(s), {12000.0 * s, 9000.0 * (s % 2)}, days,
                                   [s](int day, int hour) { return district_weather(s, day, hour); }));
    }
    return all;
}

/// All flags of all stations but one.
std::size_t flags_of_others(const std::vector<NeighbourFlags>& found, std::size_t but_not) {
    std::size_t flags = 0;
    for (std::size_t s = 0; s < found.size(); ++s) flags += s == but_not ? 0 : found[s].flags.size();
    return flags;
}

}  // namespace

TEST_CASE("stations that agree raise no flag against one another") {
    for (const NeighbourFlags& station : check_against_neighbours(district(5))) {
        CHECK(station.flags.empty());
        CHECK(station.neighbours == 4);
        CHECK(station.not_judged.empty());
    }
}

TEST_CASE("days far from the neighbours are flagged at the station that is wrong and at no other") {
    for (const int count : {3, 4, 6}) {
        auto stations = district(count);
        for (std::size_t i = 20 * 24; i < 23 * 24; ++i) stations[1].hours.temperature_degc[i] += 9.0;
        const auto found = check_against_neighbours(stations);
        INFO(count << " stations");
        CHECK(flags_of_others(found, 1) == 0);
        REQUIRE(found[1].flags.size() == 1);
        const WeatherFlag& flag = found[1].flags[0];
        CHECK(flag.kind == FlagKind::day);
        CHECK(flag.quantity == "temperature_degc");
        CHECK(flag.first_hour == 20 * 24);
        CHECK(flag.last_hour == 23 * 24 - 1);
        CHECK_THAT(flag.reason, Contains("the daily mean of the temperature lies up to ") &&
                                    Contains("above where its " + std::to_string(count - 1) + " neighbours put it") &&
                                    Contains("on 3 days from 2026-06-09"));
    }
}

TEST_CASE("hours far from the neighbours are flagged where the day as a whole is not") {
    auto stations = district(5);
    for (std::size_t i = 500; i < 503; ++i) stations[3].hours.temperature_degc[i] -= 14.0;
    const auto found = check_against_neighbours(stations);
    CHECK(flags_of_others(found, 3) == 0);
    REQUIRE(found[3].flags.size() == 1);
    CHECK(found[3].flags[0].kind == FlagKind::hour);
    CHECK(found[3].flags[0].first_hour == 500);
    CHECK(found[3].flags[0].last_hour == 502);
    CHECK_THAT(found[3].flags[0].reason, Contains("for 3 hours from 2026-06-09T20:00:00+02:00") && Contains("below"));
}

TEST_CASE("a sensor that is wrong throughout is flagged and a station on a hill is not") {
    auto stations = district(5);
    for (double& value : stations[0].hours.temperature_degc) value += 5.0;
    for (StationWeather& station : stations) station.station.elevation_m = 100.0;
    auto found = check_against_neighbours(stations);
    CHECK(flags_of_others(found, 0) == 0);
    REQUIRE(found[0].flags.size() == 1);
    CHECK(found[0].flags[0].kind == FlagKind::level);
    CHECK_THAT(found[0].flags[0].reason, Contains("above its 4 neighbours throughout, elevations allowed for"));
    stations[0].station.elevation_m = 100.0 - 5.0 / 0.0065;
    CHECK(check_against_neighbours(stations)[0].flags.empty());
    stations[0].station.elevation_m.reset();  // twice as much is allowed
    CHECK(check_against_neighbours(stations)[0].flags.empty());
}

TEST_CASE("a gauge that is dry while all its neighbours are wet is flagged with its days") {
    auto stations = district(4);
    for (std::size_t i = 12 * 24; i < 30 * 24; ++i) stations[2].hours.rain_mm[i] = 0.0;
    const auto found = check_against_neighbours(stations);
    CHECK(flags_of_others(found, 2) == 0);
    REQUIRE(found[2].flags.size() == 1);
    const WeatherFlag& flag = found[2].flags[0];
    CHECK(flag.kind == FlagKind::gauge);
    CHECK(flag.quantity == "rain_mm");
    // Day 9 is the last with rain, day 30 the next.
    CHECK(flag.first_hour == 10 * 24);
    CHECK(flag.last_hour == 30 * 24 - 1);
    CHECK_THAT(flag.reason, Contains("no rain in 20 days from 2026-05-30, and on 6 of them every neighbour"));
    // Hours without a reading are not dry.
    for (std::size_t i = 12 * 24; i < 30 * 24; ++i) stations[2].hours.rain_mm[i] = HourlySeries::missing;
    CHECK(check_against_neighbours(stations)[2].flags.empty());
}

TEST_CASE("a clock that is an hour late is flagged from the stretch on in which it is") {
    auto stations = district(4, 56);
    const auto right = stations[1].hours.temperature_degc;
    // As after a clock change that the logger did not follow, from day 28 on.
    for (std::size_t i = 28 * 24; i < right.size(); ++i) stations[1].hours.temperature_degc[i] = right[i - 1];
    const auto found = check_against_neighbours(stations);
    CHECK(flags_of_others(found, 1) == 0);
    REQUIRE(found[1].flags.size() == 1);
    CHECK(found[1].flags[0].kind == FlagKind::clock);
    CHECK(found[1].flags[0].first_hour == 28 * 24);
    CHECK(found[1].flags[0].last_hour == right.size() - 1);
    CHECK_THAT(found[1].flags[0].reason,
               Contains("from 2026-06-17 to 2026-07-14 the course of temperature comes 1 hour later"));
}

TEST_CASE("with one neighbour or none it is said that nothing can be judged") {
    auto two = district(2);
    for (double& value : two[0].hours.temperature_degc) value += 12.0;
    for (const NeighbourFlags& station : check_against_neighbours(two)) {
        CHECK(station.flags.empty());
        CHECK(station.not_judged.starts_with("only one neighbour within 150 km"));
    }
    CHECK(check_against_neighbours(district(1))[0].not_judged.starts_with("no neighbour within 150 km"));
    CHECK(check_against_neighbours({}).empty());
}

TEST_CASE("flags do not depend on the number of threads") {
    auto stations = district(6);
    for (std::size_t i = 20 * 24; i < 23 * 24; ++i) stations[1].hours.temperature_degc[i] += 9.0;
    NeighbourSettings alone;
    alone.threads = 1;
    NeighbourSettings many;
    many.threads = 4;
    const auto a = check_against_neighbours(stations, alone), b = check_against_neighbours(stations, many);
    for (std::size_t s = 0; s < stations.size(); ++s) {
        REQUIRE(a[s].flags.size() == b[s].flags.size());
        for (std::size_t f = 0; f < a[s].flags.size(); ++f) CHECK(a[s].flags[f].reason == b[s].flags[f].reason);
    }
}

TEST_CASE("six loggers are shifted against one another only where one of them was shifted by hand") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const tests::Table sites(shared / "data/weather/snb_nc_2022_sites.csv");
    std::vector<StationWeather> loggers;
    for (std::size_t row = 0; row < sites.rows(); ++row) {
        StationWeather logger;
        logger.station.station = sites.text(row, "site");
        logger.station.place_m = {(sites.number(row, "lon") + 78.8) * 90750.0,
                                  (sites.number(row, "lat") - 35.3) * 111195.0};
        logger.hours = tests::logger_hours(hourly, logger.station.station);
        loggers.push_back(std::move(logger));
    }
    // MR22 wrote 35.6 degC between 15.65 and 20.35 on 21 February: the logger was held or lay in the sun. The other two
    // are a front that stood between the sites on 24 February and a dry gust.
    std::vector<std::string> reasons;
    for (const NeighbourFlags& station : check_against_neighbours(loggers)) {
        for (const WeatherFlag& flag : station.flags) {
            CHECK(flag.kind == FlagKind::hour);
            reasons.push_back(flag.reason);
        }
    }
    REQUIRE(reasons.size() == 3);
    CHECK_THAT(reasons[0], Contains("the temperature lies 15.9 degC above") && Contains("2022-02-21T11:00:00-05:00"));
    loggers[0].hours.first_utc -= std::chrono::hours(1);
    const auto shifted = check_against_neighbours(loggers);
    std::size_t hours = 0;
    for (std::size_t s = 0; s < loggers.size(); ++s) {
        for (const WeatherFlag& flag : shifted[s].flags) {
            if (flag.kind != FlagKind::clock) continue;
            CHECK(s == 0);
            CHECK_THAT(flag.reason, Contains("1 hour earlier"));
            hours += flag.last_hour - flag.first_hour + 1;
        }
    }
    CHECK(hours > 1000);  // all that the neighbours saw, too
}
