#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "models/calendar.h"
#include "tests/app/demo_tables.h"

using tests::demo_data::number;
using tests::demo_data::Row;
using tests::demo_data::table;

namespace {

struct Season {
    std::map<std::string, std::map<std::string, Row>> hours;  ///< station, time
};

const Season& season_of(int year) {
    static std::map<int, Season> kept;
    auto [found, is_new] = kept.try_emplace(year);
    if (!is_new) return found->second;
    for (const Row& row : table("weather-" + std::to_string(year) + ".csv")) {
        if (!found->second.hours[row.at("station")].emplace(row.at("time"), row).second) {
            FAIL("an hour comes twice: " << row.at("station") << " " << row.at("time"));
        }
    }
    return found->second;
}

double rain_of(const std::map<std::string, Row>& hours) {
    double sum = 0.0;
    for (const auto& [time, row] : hours) sum += row.at("rain_mm").empty() ? 0.0 : number(row, "rain_mm");
    return sum;
}

std::map<std::string, double> daily_rain(const std::map<std::string, Row>& hours) {
    std::map<std::string, double> sums;
    for (const auto& [time, row] : hours) {
        if (!row.at("rain_mm").empty()) sums[time.substr(0, 10)] += number(row, "rain_mm");
    }
    return sums;
}

}  // namespace

TEST_CASE("the demo has six stations with hours from April to July and gaps") {
    for (const int year : {2024, 2025, 2026}) {
        CHECK(season_of(year).hours.size() == 6);
        for (const auto& [station, hours] : season_of(year).hours) {
            INFO(year << " " << station);
            CHECK(hours.size() > 101 * 21);
            CHECK(hours.size() < 101 * 24);  // every logger lost something
            for (const auto& [time, row] : hours) {
                const auto stamp = models::parse_stamp(time);
                REQUIRE(stamp);
                REQUIRE(stamp->offset == std::chrono::minutes(120));
                REQUIRE(stamp->local_day() >= models::day_of(year, 4, 1));
                REQUIRE(stamp->local_day() <= models::day_of(year, 7, 10));
            }
        }
    }
    const auto& dead = season_of(2026).hours.at("Umbrath");
    CHECK(dead.count("2026-05-30T08:00+02:00") == 1);
    for (const char* hour : {"2026-05-30T09:00+02:00", "2026-06-01T12:00+02:00", "2026-06-04T15:00+02:00"})
        CHECK(dead.count(hour) == 0);
    const auto& dark = season_of(2026).hours.at("Tesvorn");
    CHECK(dark.count("2026-05-27T03:00+02:00") == 0);
    CHECK(dark.count("2026-05-27T12:00+02:00") == 1);
}

TEST_CASE("a demo humidity sensor is stuck and a rain gauge is blocked") {
    std::size_t longest = 0, run = 0;
    std::string last;
    for (const auto& [time, row] : season_of(2025).hours.at("Ambril")) {
        run = row.at("relative_humidity_pct") == last ? run + 1 : 1;
        last = row.at("relative_humidity_pct");
        longest = std::max(longest, run);
    }
    CHECK(longest > 60);
    const auto& blocked = season_of(2024).hours.at("Hasveth");
    CHECK(std::count_if(blocked.begin(), blocked.end(), [](const auto& h) { return h.second.at("rain_mm").empty(); }) >
          200);
}

TEST_CASE("demo weather is warm by day and moist by night and it rains into moist air") {
    double afternoon = 0.0, dawn = 0.0, afternoon_rh = 0.0, dawn_rh = 0.0;
    int days = 0;
    for (const int year : {2024, 2025, 2026}) {
        for (const auto& [station, hours] : season_of(year).hours) {
            for (const auto& [time, row] : hours) {
                const double t = number(row, "temperature_degc"), rh = number(row, "relative_humidity_pct");
                REQUIRE(t > -8.0);
                REQUIRE(t < 38.0);
                REQUIRE(rh >= 8.0);
                REQUIRE(rh <= 100.0);
                const bool stuck = year == 2025 && station == "Ambril";
                if (!row.at("rain_mm").empty() && number(row, "rain_mm") > 0.0 && !stuck) REQUIRE(rh >= 80.0);
                if (time.substr(11, 2) == "15") afternoon += t, afternoon_rh += rh, ++days;
                if (time.substr(11, 2) == "05") dawn += t, dawn_rh += rh;
            }
        }
    }
    CHECK((afternoon - dawn) / days > 6.0);
    CHECK((dawn_rh - afternoon_rh) / days > 20.0);
}

TEST_CASE("one demo season is wet and one is dry and stations share their wet days") {
    std::map<int, double> rain;
    for (const int year : {2024, 2025, 2026}) {
        for (const auto& [station, hours] : season_of(year).hours) rain[year] += rain_of(hours) / 6.0;
    }
    CHECK(rain[2024] > rain[2026]);
    CHECK(rain[2026] > 1.3 * rain[2025]);
    for (const int year : {2024, 2025, 2026}) {
        const auto near = daily_rain(season_of(year).hours.at("Quelmeth")),
                   far = daily_rain(season_of(year).hours.at("Tesvorn"));
        int both = 0, one = 0;
        for (const auto& [day, mm] : near) {
            const auto there = far.find(day);
            if (there == far.end()) continue;
            both += mm >= 1.0 && there->second >= 1.0;
            one += (mm >= 1.0) != (there->second >= 1.0);
        }
        INFO(year << ": both " << both << ", one " << one);
        CHECK(both > one);
    }
}
