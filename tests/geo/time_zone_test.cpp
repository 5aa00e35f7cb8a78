#include "geo/tables/time_zone.h"

#include <cmath>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "models/calendar.h"
#include "models/weather/station_days.h"
#include "tests/geo/netcdf_file.h"
#include "tests/geo/store_fixture.h"

using Catch::Matchers::Contains;

namespace store_tests {

namespace {

constexpr const char* zone_header = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n";

geo::ImportOptions in_zone(const Farm& farm, const std::string& zone, const std::string& more = "") {
    geo::ImportOptions options;
    options.column_map = farm.folder.write("zone.toml", "time_zone = \"" + zone + "\"\n" + more).string();
    return options;
}

/// One row with this time of the clock; the temperature tells rows apart.
std::string row_at(const std::string& time, int degc) {
    return fmt::format("H,9.51,56,{},{},80\n", time, degc);
}

std::string notes_in(const geo::ImportReport& report) {
    std::string text;
    for (const std::string& note : report.notes) text += note + "\n";
    return text;
}

double degc_at(const Farm& farm, const char* utc, const char* station = "H") {
    const auto moment = models::parse_stamp(utc)->utc;
    const auto day = std::chrono::floor<std::chrono::days>(std::chrono::local_seconds{moment.time_since_epoch()});
    const auto hours = farm.store.weather(station, day - std::chrono::days(1), day + std::chrono::days(1));
    return hours.temperature_degc[static_cast<std::size_t>((moment - hours.first_utc) / std::chrono::hours(1))];
}

}  // namespace

TEST_CASE("a named zone knows the offset of each moment and the moments of each time of its clocks") {
    using namespace std::chrono;
    const geo::tables::TimeZone zone("Europe/Budapest");
    CHECK(zone.offset_at(sys_days(2026y / June / 10)) == hours(2));
    CHECK(zone.offset_at(sys_days(2026y / January / 10)) == hours(1));
    // The European Union's rule (Directive 2000/84/EC): at 01:00 UTC on the last Sundays of March and October.
    CHECK(zone.offset_at(sys_days(2026y / March / 29) + minutes(59)) == hours(1));
    CHECK(zone.offset_at(sys_days(2026y / March / 29) + hours(1)) == hours(2));
    const auto at = [&](year_month_day day, minutes time) { return zone.moments_of(local_days(day) + time); };
    CHECK(at(2026y / June / 10, hours(14)).count == 1);
    CHECK(at(2026y / June / 10, hours(14)).at[0] == sys_days(2026y / June / 10) + hours(12));
    CHECK(at(2026y / March / 29, minutes(150)).count == 0);
    const auto twice = at(2026y / October / 25, minutes(150));
    REQUIRE(twice.count == 2);
    CHECK(twice.at[0] == sys_days(2026y / October / 25) + minutes(30));
    CHECK(twice.at[1] == sys_days(2026y / October / 25) + minutes(90));
    const geo::tables::TimeZone south("America/Argentina/Buenos_Aires");
    CHECK(south.offset_at(sys_days(2026y / January / 10)) == -hours(3));
    CHECK_THAT(refusal_of([&] { static_cast<void>(zone.offset_at(sys_days(2040y / June / 1))); }),
               Contains("the clock changes of Europe/Budapest are not known after 2037"));
}

TEST_CASE("a name that is no zone is refused with the nearest one and two clocks in one map are too") {
    Farm farm(false);
    const std::string row = zone_header + row_at("2026-06-10T12:00", 20);
    const auto refused = [&](const std::string& name) {
        return refusal_of([&] { farm.import_text("weather", row, in_zone(farm, name)); });
    };
    CHECK_THAT(refused("Europe/Budapst"),
               Contains("zone.toml, line 1: \"Europe/Budapst\" is no time zone; did you mean \"Europe/Budapest\"?") &&
                   Contains("time_zone = \"Europe/Budapest\""));
    CHECK_THAT(refused("budapest"), Contains("did you mean \"Europe/Budapest\"?"));
    CHECK_THAT(refused("/etc/passwd"), Contains("\"/etc/passwd\" is no time zone"));
    CHECK_THAT(refusal_of([&] {
                   farm.import_text("weather", row, in_zone(farm, "Europe/Budapest", "offset = \"+01:00\"\n"));
               }),
               Contains("the clock is said twice, by offset and by time_zone"));
    CHECK_THAT(farm.refusal("weather", row), Contains("does not say how far its clock is from UTC") &&
                                                 Contains("offset = \"+02:00\" or time_zone = \"Europe/Budapest\""));
}

TEST_CASE("times of a named zone follow its summer and winter clock") {
    Farm farm(false);
    const auto report =
        farm.import_text("weather", zone_header + row_at("2026-01-10T12:00", 1) + row_at("2026-06-10T12:00", 20),
                         in_zone(farm, "Europe/Budapest"));
    CHECK(report.added == 2);
    CHECK(degc_at(farm, "2026-01-10T11:00Z") == 1.0);
    CHECK(degc_at(farm, "2026-06-10T10:00Z") == 20.0);
    // Times in UTC are counted into the zone's days.
    CHECK(farm.import_text("weather", zone_header + row_at("2026-06-10T22:00Z", 15), in_zone(farm, "Europe/Budapest"))
              .added == 1);
    const auto next = farm.store.weather("H", models::day_of(2026, 6, 11), models::day_of(2026, 6, 11));
    CHECK(next.temperature_degc[0] == 15.0);
}

TEST_CASE("in the hour that autumn repeats the order of the rows tells the earlier from the later") {
    const std::vector<std::string> night = {"00:00", "01:00", "02:00", "02:00", "03:00", "04:00"};
    std::string rising, falling;
    for (std::size_t i = 0; i < night.size(); ++i) {
        const std::string row = row_at("2026-10-25T" + night[i], static_cast<int>(i));
        rising += row;
        falling = row + falling;
    }
    for (const std::string& rows : {rising, falling}) {
        Farm farm(false);
        const auto report = farm.import_text("weather", zone_header + rows, in_zone(farm, "Europe/Budapest"));
        CHECK(report.added == 6);
        CHECK(report.refused.empty());
        CHECK_THAT(notes_in(report),
                   Contains("2 rows lie in the hour that the clocks of Europe/Budapest showed twice"));
        CHECK(degc_at(farm, "2026-10-24T23:00Z") == 1.0);
        CHECK(degc_at(farm, "2026-10-25T00:00Z") == 2.0);
        CHECK(degc_at(farm, "2026-10-25T01:00Z") == 3.0);
        CHECK(degc_at(farm, "2026-10-25T02:00Z") == 4.0);
        const auto day = models::day_of(2026, 10, 25);
        CHECK(farm.store.weather("H", day, day).size() == 25);
    }
}

TEST_CASE("readings of every ten minutes go twice through the hour that autumn repeats") {
    Farm farm(false);
    std::string rows;
    for (const int hour : {1, 2, 2, 3}) {
        for (int minute = 0; minute < 60; minute += 10)
            rows += row_at(fmt::format("2026-10-25T{:02}:{:02}", hour, minute), static_cast<int>(rows.size()) / 200);
    }
    const auto report = farm.import_text("weather", zone_header + rows, in_zone(farm, "Europe/Budapest"));
    CHECK(report.refused.empty());
    CHECK(report.added == 4);
    CHECK(degc_at(farm, "2026-10-25T00:00Z") < degc_at(farm, "2026-10-25T01:00Z"));
}

TEST_CASE("a time in the hour that spring skips is refused and the day has 23 hours") {
    Farm farm(false);
    std::string rows;
    for (int hour = 0; hour < 24; ++hour) rows += row_at(fmt::format("2026-03-29T{:02}:00", hour), hour);
    const auto report = farm.import_text("weather", zone_header + rows, in_zone(farm, "Europe/Budapest"));
    CHECK(report.added == 23);
    REQUIRE(report.refused.size() == 1);
    CHECK_THAT(geo::to_text(report.refused[0]),
               Contains("row 4") &&
                   Contains("\"2026-03-29T02:00\" never was: the clocks of Europe/Budapest went forward over it on "
                            "2026-03-29") &&
                   Contains("offset = \"+01:00\""));
    const auto day = models::day_of(2026, 3, 29);
    const models::StationDays days(farm.store.weather("H", day, day));
    REQUIRE(days.day(day) != nullptr);
    CHECK(days.day(day)->rain.hours_expected == 23);
}

TEST_CASE("hours stamped at their end meet the changes of the clock whichever clock wrote the change itself") {
    const auto hours_of = [](const std::vector<std::string>& stamps, const std::string& day, const char* first_utc) {
        Farm farm(false);
        std::string rows;
        for (std::size_t i = 0; i < stamps.size(); ++i) rows += row_at(day + "T" + stamps[i], static_cast<int>(i) + 1);
        const auto report = farm.import_text("weather", zone_header + rows,
                                             in_zone(farm, "Europe/Budapest", "stamp_ends_hour = true\n"));
        CHECK(report.refused.empty());
        const auto first = models::parse_stamp(first_utc)->utc;
        std::vector<double> found;
        for (std::size_t i = 0; i < stamps.size(); ++i)
            found.push_back(degc_at(farm, models::to_text(first + std::chrono::hours(i)).c_str()));
        return found;
    };
    const std::vector<double> four = {1, 2, 3, 4}, three = {1, 2, 3};
    CHECK(hours_of({"01:00", "02:00", "02:00", "03:00"}, "2026-10-25", "2026-10-24T22:00Z") == four);
    CHECK(hours_of({"01:00", "02:00", "03:00", "03:00"}, "2026-10-25", "2026-10-24T22:00Z") == four);
    CHECK(hours_of({"01:00", "02:00", "04:00"}, "2026-03-29", "2026-03-28T23:00Z") == three);
    CHECK(hours_of({"01:00", "03:00", "04:00"}, "2026-03-29", "2026-03-28T23:00Z") == three);
}

TEST_CASE("samples and tests follow the zone and a time that may be two moments needs its offset") {
    Farm farm;
    const std::string header = "sample,stage,kind,field,taken_time\n";
    const auto options = in_zone(farm, "Europe/Copenhagen");
    CHECK(farm.import_text("samples", header + "S1,standing,composite,Fen,2025-07-01 09:30\n", options).added == 1);
    CHECK_THAT(farm.export_text("samples"), Contains("2025-07-01T09:30:00+02:00"));
    CHECK_THAT(farm.refusal("samples", header + "S2,standing,composite,Fen,2025-03-30 02:30\n", options),
               Contains("never was: the clocks of Europe/Copenhagen went forward over it on 2025-03-30"));
    CHECK_THAT(
        farm.refusal("samples", header + "S3,standing,composite,Fen,2025-10-26 02:30\n", options),
        Contains("may be either of two moments: the clocks of Europe/Copenhagen showed it twice on 2025-10-26") &&
            Contains("2025-10-26T02:30:00+02:00 or 2025-10-26T02:30:00+01:00"));
}

TEST_CASE("the hours of a grid are counted into the days of a named zone") {
    Farm farm(false);
    {
        NetcdfFile file(farm.folder / "march.nc");
        file.dimension("time", 48);
        file.dimension("lat", 2);
        file.dimension("lon", 2);
        std::vector<double> times, values;
        for (int hour = 0; hour < 48; ++hour) {
            times.push_back(hour);
            values.insert(values.end(), 4, 280.0 + hour);
        }
        file.array("time", {"time"}, times, "hours since 2026-03-28 12:00");
        file.array("lat", {"lat"}, {56.0, 56.25}, "degrees_north");
        file.array("lon", {"lon"}, {9.5, 9.75}, "degrees_east");
        file.array("tas", {"time", "lat", "lon"}, values, "K", {{"standard_name", "air_temperature"}});
    }
    geo::import_file(farm.store, "weather", farm.folder / "march.nc", in_zone(farm, "Europe/Copenhagen"));
    const auto day = models::day_of(2026, 3, 29);
    const auto hours = farm.store.weather("grid 9.50 E 56.00 N", day, day);
    REQUIRE(hours.size() == 23);
    CHECK(hours.temperature_degc[0] == Approx(280.0 + 11 - 273.15));
    CHECK(hours.temperature_degc[22] == Approx(280.0 + 33 - 273.15));
}

TEST_CASE("an offset where a zone should stand is answered by the offset to write and never by the turned name") {
    Farm farm(false);
    const auto refused = [&](const std::string& name) {
        return refusal_of(
            [&] { farm.import_text("weather", zone_header + row_at("2026-06-10T12:00", 20), in_zone(farm, name)); });
    };
    CHECK_THAT(refused("GMT+2"),
               Contains("zone.toml, line 1: \"GMT+2\" is no time zone but an offset. To mend it: write "
                        "offset = \"+02:00\""));
    for (const char* name : {"UTC+2", "utc +2", "+02:00", "+2", "+0200", "GMT+02:00"})
        CHECK_THAT(refused(name), Contains("write offset = \"+02:00\"") && !Contains("Etc/") && !Contains("Budapest"));
    CHECK_THAT(refused("UTC-3:30"), Contains("write offset = \"-03:30\""));
    // In the database's names of POSIX the sign counts westward (RFC 9636 and the file `etcetera` of the database).
    CHECK_THAT(refused("Etc/GMT+2"), Contains("the sign of \"Etc/GMT+2\" is the other way round: it is a clock 2 hours "
                                              "behind UTC") &&
                                         Contains("write offset = \"-02:00\" for that clock, or offset = \"+02:00\""));
    CHECK_THAT(refused("etc/gmt-11"), Contains("11 hours ahead of UTC") && Contains("write offset = \"+11:00\""));
    CHECK_THAT(refused("Etc/GMT+99"), !Contains("did you mean \"Etc/"));
    CHECK(farm.import_text("weather", zone_header + row_at("2026-06-10T12:00", 20), in_zone(farm, "Etc/UTC")).added ==
          1);
}

TEST_CASE("a day that a zone skipped whole is refused and no other day is taken for it") {
    Farm farm;
    const std::string header = "sample,stage,kind,field,taken_time\n";
    const auto options = in_zone(farm, "Pacific/Apia");
    // Samoa went over the date line at the end of 2011-12-29 (Government of Samoa, International Date Line Act 2011).
    CHECK_THAT(
        farm.refusal("samples", header + "S1,standing,composite,Fen,2011-12-30\n", options),
        Contains("row 2, column taken_time: \"2011-12-30\" never was: the clocks of Pacific/Apia went forward over "
                 "it on 2011-12-30"));
    // Clocks that go forward at midnight leave the day, from one o'clock.
    CHECK(farm.import_text("samples", header + "S2,standing,composite,Fen,2025-04-25\n", in_zone(farm, "Africa/Cairo"))
              .added == 1);
    CHECK_THAT(farm.export_text("samples"), Contains("2025-04-25T01:00:00+03:00"));
}

TEST_CASE("times after the last change known are refused row by row beside those before it") {
    Farm farm;
    const std::string header = "sample,stage,kind,field,taken_time\n";
    const auto options = in_zone(farm, "Europe/Budapest");
    CHECK_THAT(farm.refusal("samples", header + "S1,standing,composite,Fen,2038-06-05 10:00\n", options),
               Contains("row 2, column taken_time: \"2038-06-05 10:00\" is no known moment: the clock changes of "
                        "Europe/Budapest are not known after 2037") &&
                   Contains("offset = \"+01:00\""));
    const auto report = farm.import_text(
        "weather",
        zone_header + row_at("2026-06-10T12:00", 20) + row_at("2038-07-28T12:00", 21) + row_at("2037-10-02T12:00", 22),
        options);
    CHECK(report.added == 2);
    REQUIRE(report.refused.size() == 1);
    CHECK_THAT(geo::to_text(report.refused[0]),
               Contains("weather.csv, row 3, column time: \"2038-07-28T12:00\" is no known moment") &&
                   Contains("not known after 2037"));
}

TEST_CASE("readings sorted by the clock are taken in pairs in the hour that autumn repeats") {
    const std::vector<std::string> before = {"00:00", "00:30", "01:00", "01:30"}, after = {"03:00", "03:30"};
    const auto import_night = [&](Farm& farm, const std::vector<std::string>& inside, bool downwards = false) {
        std::vector<std::string> all = before;
        all.insert(all.end(), inside.begin(), inside.end());
        all.insert(all.end(), after.begin(), after.end());
        std::string rows;
        for (std::size_t i = 0; i < all.size(); ++i) {
            const std::string row = row_at("2026-10-25 " + all[i], static_cast<int>(i) * 2);
            rows = downwards ? row + rows : rows + row;
        }
        return farm.import_text("weather", zone_header + rows, in_zone(farm, "Europe/Budapest"));
    };
    for (const bool downwards : {false, true}) {
        Farm farm(false);
        const auto report = import_night(farm, {"02:00", "02:00", "02:30", "02:30"}, downwards);
        CHECK(report.refused.empty());
        CHECK(degc_at(farm, "2026-10-25T00:00Z") == 10.0);  // 8 and 12
    }
    {
        Farm farm(false);
        CHECK(import_night(farm, {"02:00", "02:00", "02:30", "02:30"}).added == 5);
        CHECK(degc_at(farm, "2026-10-25T01:00Z") == 12.0);  // 10 and 14
    }
    {
        Farm farm(false);
        CHECK(import_night(farm, {"02:00", "02:30", "02:00", "02:30"}).refused.empty());
        CHECK(degc_at(farm, "2026-10-25T00:00Z") == 9.0);
    }
    // A pair beside a time that stands once: either pass may lack it.
    Farm farm(false);
    const auto report = import_night(farm, {"02:00", "02:00", "02:30"});
    CHECK(report.refused.size() == 3);
    REQUIRE_FALSE(report.refused.empty());
    CHECK_THAT(
        geo::to_text(report.refused[0]),
        Contains("row 6, column time: \"2026-10-25 02:00\" may be either of two moments, and the rows around it do "
                 "not tell which: the clocks of Europe/Budapest showed it twice on 2026-10-25") &&
            Contains("write the times of that hour with their offsets"));
    CHECK(std::isnan(degc_at(farm, "2026-10-25T00:00Z")));
    CHECK(std::isnan(degc_at(farm, "2026-10-25T01:00Z")));
}

TEST_CASE("a time that stands once in the repeated hour is taken for the earlier and told with its row") {
    std::string rising, falling;
    const std::vector<std::string> night = {"00:00", "01:00", "02:00", "03:00", "04:00"};
    for (std::size_t i = 0; i < night.size(); ++i) {
        const std::string row = row_at("2026-10-25 " + night[i], static_cast<int>(i));
        rising += row;
        falling = row + falling;
    }
    for (const std::string& rows : {rising, falling}) {
        Farm farm(false);
        const auto report = farm.import_text("weather", zone_header + rows, in_zone(farm, "Europe/Budapest"));
        CHECK(report.added == 5);
        CHECK_THAT(
            notes_in(report),
            Contains("station H, row 4: 02:00 of 2026-10-25 stands once, and the clocks of Europe/Budapest showed it "
                     "twice; taken for the earlier; write its offset if it is the later") &&
                !Contains("two rows"));
        CHECK(degc_at(farm, "2026-10-25T00:00Z") == 2.0);
        CHECK(std::isnan(degc_at(farm, "2026-10-25T01:00Z")));
    }
    // An offset beside it says which is which, and nothing is asked.
    Farm farm(false);
    const auto report =
        farm.import_text("weather", zone_header + row_at("2026-10-25T02:00+02:00", 2) + row_at("2026-10-25 02:00", 3),
                         in_zone(farm, "Europe/Budapest"));
    CHECK_THAT(notes_in(report), !Contains("stands once"));
    CHECK(degc_at(farm, "2026-10-25T01:00Z") == 3.0);
}

TEST_CASE("an hour of which a zone's rows speak three times is refused with all its rows") {
    Farm farm(false);
    const auto report = farm.import_text("weather",
                                         zone_header + row_at("2026-10-25T01:00", 1) + row_at("2026-10-25T02:00", 2) +
                                             row_at("2026-10-25T02:00", 3) + row_at("2026-10-25T02:00", 4),
                                         in_zone(farm, "Europe/Budapest"));
    CHECK(report.added == 1);
    CHECK(report.refused.size() == 3);
}

}  // namespace store_tests
