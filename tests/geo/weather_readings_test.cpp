#include "geo/weather_readings.h"

#include <cmath>
#include <cstdio>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "models/weather/quality.h"
#include "models/weather/station_days.h"
#include "tests/geo/store_fixture.h"

using Catch::Matchers::Contains;

namespace store_tests {

namespace {

constexpr const char* few_minutes_header =
    "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm\n";

/// Rows every `step` minutes over some hours of 10 June: 12 degC and a tenth more each row, 80 %, 0.1 mm.
std::string rows_every(
    int step, int hours, const std::function<bool(int minute)>& there = [](int) { return true; }) {
    std::string text;
    int row = 0;
    for (int minute = 0; minute < hours * 60; minute += step, ++row) {
        if (!there(minute)) continue;
        text += fmt::format("H,9.51,56,2025-06-10T{:02}:{:02}+02:00,{:.1f},80,0.1\n", minute / 60, minute % 60,
                            12.0 + 0.1 * row);
    }
    return text;
}

models::HourlySeries hours_of_june(const Farm& farm, const char* station = "H") {
    return farm.store.weather(station, models::day_of(2025, 6, 10), models::day_of(2025, 6, 10));
}

std::string notes_of(const geo::ImportReport& report) {
    std::string text;
    for (const std::string& note : report.notes) text += note + "\n";
    return text;
}

}  // namespace

TEST_CASE("rows every ten minutes become hours: means and of rain the sum") {
    Farm farm(false);
    const auto report = farm.import_text("weather", few_minutes_header + rows_every(10, 5));
    CHECK(report.refused.empty());
    CHECK(report.rows == 5);
    CHECK(report.added == 5);
    CHECK_THAT(notes_of(report),
               Contains("rows every 10 minutes became hours: the means of 6 readings, of rain their sum"));
    const auto hours = hours_of_june(farm);
    CHECK(hours.temperature_degc[0] == 12.25);  // of 12.0 to 12.5
    CHECK(hours.temperature_degc[4] == 14.65);
    CHECK(hours.relative_humidity_pct[4] == 80.0);
    CHECK(hours.rain_mm[4] == 0.6);
    CHECK(farm.import_text("weather", few_minutes_header + rows_every(10, 5)).unchanged == 5);
}

TEST_CASE("an hour needs three quarters of its readings and its rain all of them") {
    Farm farm(false);
    const auto report = farm.import_text("weather", few_minutes_header + rows_every(15, 6, [](int minute) {
                                                        return minute != 75 && minute != 135 && minute != 150;
                                                    }));
    CHECK_THAT(notes_of(report), Contains("1 hour has fewer than three quarters of their readings") &&
                                     Contains("rain of 2 hours lacks readings"));
    const auto hours = hours_of_june(farm);
    CHECK(hours.temperature_degc[1] == Approx((12.4 + 12.6 + 12.7) / 3.0).margin(1e-6).epsilon(0.0));
    CHECK(std::isnan(hours.rain_mm[1]));
    CHECK(std::isnan(hours.temperature_degc[2]));
    CHECK(hours.rain_mm[3] == 0.4);
}

TEST_CASE("readings stamped at their end belong to the hour in which they were taken") {
    Farm farm(false);
    geo::ImportOptions options;
    options.column_map = farm.folder.write("ends.toml", "stamp_ends_hour = true\n").string();
    std::string text = few_minutes_header;
    for (const char* time : {"06:15", "06:30", "06:45", "07:00", "07:15", "07:30", "07:45", "08:00"}) {
        text += fmt::format("H,9.51,56,2025-06-10T{}+02:00,{},80,0.5\n", time,
                            std::string_view(time) <= "07:00" || std::string_view(time) == "08:00" ? 10 : 20);
    }
    CHECK(farm.import_text("weather", text, options).added == 2);
    const auto hours = hours_of_june(farm);
    CHECK(hours.temperature_degc[6] == 10.0);
    CHECK(hours.temperature_degc[7] == 17.5);  // 20, 20, 20 and the 10 stamped at eight
    CHECK(hours.rain_mm[7] == 2.0);
}

TEST_CASE("a reading that comes twice is nothing new or refused with its row") {
    Farm farm(false);
    const std::string rows = rows_every(30, 4);
    const auto report =
        farm.import_text("weather", few_minutes_header + rows + "H,9.51,56,2025-06-10T01:30+02:00,12.3,80,0.1\n" +
                                        "H,9.51,56,2025-06-10T02:00+02:00,19,80,0.1\n");
    CHECK(report.added == 4);
    REQUIRE(report.refused.size() == 1);
    CHECK_THAT(
        geo::to_text(report.refused[0]),
        Contains("row 11") && Contains("station H has the time 2025-06-10T02:00:00+02:00 twice, with other values"));
}

TEST_CASE("times that keep no step of an hour are refused row by row as before") {
    using namespace std::chrono;
    const sys_seconds noon = sys_days(2025y / June / 10) + hours(12);
    CHECK(geo::step_of_readings({{noon, noon + minutes(5), noon + minutes(10)}}) == minutes(5));
    CHECK_FALSE(geo::step_of_readings({{noon, noon + minutes(7), noon + minutes(14)}}));
    CHECK_FALSE(geo::step_of_readings({{noon, noon + hours(1), noon + hours(2), noon + minutes(140)}}));
    CHECK_FALSE(geo::step_of_readings({{noon}, {}}));
    Farm farm(false);
    CHECK_THAT(
        farm.refusal("weather", std::string(few_minutes_header) + "H,9.51,56,2025-06-10T01:00+02:00,12.3,80,0.1\n"
                                                                  "H,9.51,56,2025-06-10T02:07+02:00,12.3,80,0.1\n"),
        Contains("is not on the hour"));
}

TEST_CASE("numbers that loggers write for not measured are taken so where they cannot be a value") {
    Farm farm(false);
    const auto report = farm.import_text("weather", std::string(few_minutes_header) +
                                                        "H,9.51,56,2025-06-10T01:00+02:00,-999,80,0\n"
                                                        "H,9.51,56,2025-06-10T02:00+02:00,12,-99,0\n"
                                                        "H,9.51,56,2025-06-10T03:00+02:00,13,9999,999\n"
                                                        "H,9.51,56,2025-06-10T04:00+02:00,M,81,NA\n"
                                                        "H,9.51,56,2025-06-10T05:00+02:00,14,82,99\n");
    CHECK(report.refused.empty());
    CHECK_THAT(notes_of(report), Contains("column temperature_degc: -999 was taken for \"not measured\" in 1 row") &&
                                     Contains("column relative_humidity_pct: -99 was taken") &&
                                     Contains("column rain_mm: 999 was taken"));
    const auto hours = hours_of_june(farm);
    CHECK(std::isnan(hours.temperature_degc[1]));
    CHECK(hours.relative_humidity_pct[1] == 80.0);
    CHECK(std::isnan(hours.relative_humidity_pct[2]));
    CHECK(hours.temperature_degc[3] == 13.0);
    CHECK(std::isnan(hours.rain_mm[3]));
    CHECK(hours.relative_humidity_pct[4] == 81.0);
    CHECK(hours.rain_mm[5] == 99.0);  // a cloudburst is a value
}

TEST_CASE("humidities of 0 to 1 under a percent header are refused whole with the unit to say") {
    Farm farm(false);
    const std::string header = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n";
    const std::string rows = "H,9.51,56,2025-06-10T01:00+02:00,12,0.81\nH,9.51,56,2025-06-10T02:00+02:00,12,0.99\n";
    CHECK_THAT(
        refusal_of([&] { farm.import_text("weather", header + rows); }),
        Contains("weather.csv, column relative_humidity_pct: none of 2 relative humidities lies above 0.99 %, so "
                 "the column is hardly in percent, and no row went in") &&
            Contains("relative_humidity_pct = { from = \"relative_humidity_pct\", unit = \"fraction\" }"));
    CHECK(farm.store.stations().empty());
    geo::ImportOptions options;
    options.column_map =
        farm.folder
            .write("share.toml",
                   "[columns]\nrelative_humidity_pct = { from = \"relative_humidity_pct\", unit = \"fraction\" }\n")
            .string();
    farm.import_text("weather", header + rows, options);
    CHECK(hours_of_june(farm).relative_humidity_pct[1] == 81.0);
}

TEST_CASE("rain that counts on until it is set back is refused whole and read where that is said") {
    Farm farm(false);
    std::string text = few_minutes_header;
    double total = 0.0;
    std::vector<double> fell;
    for (int hour = 0; hour < 72; ++hour) {
        fell.push_back(hour % 8 < 2 ? 0.6 : 0.0);
        total = fell.back() + (hour % 24 == 0 ? 0.0 : total);
        text += fmt::format("H,9.51,56,2025-06-{}T{:02}:00+02:00,12,80,{:.1f}\n", 10 + hour / 24, hour % 24, total);
    }
    CHECK_THAT(
        refusal_of([&] { farm.import_text("weather", text); }),
        Contains("weather.csv, column rain_mm: the rain of station H stays as it is or rises until it is set back "
                 "at 00:00 each day, so it counts on and is not the rain of each hour, and no row went in") &&
            Contains("rain_accumulates = true"));
    geo::ImportOptions options;
    options.column_map = farm.folder.write("counter.toml", "rain_accumulates = true\n").string();
    const auto report = farm.import_text("weather", text, options);
    CHECK_THAT(notes_of(report), Contains("station H: the rain counted on and was taken apart into hours"));
    const auto hours = hours_of_june(farm);
    for (std::size_t i = 0; i < 24; ++i) CHECK(hours.rain_mm[i] == Approx(fell[i]).margin(1e-9).epsilon(0.0));
    CHECK_THAT(refusal_of([&] {
                   geo::ImportOptions wrong;
                   wrong.column_map = farm.folder.write("wrong.toml", "rain_accumulates = \"yes\"\n").string();
                   farm.import_text("weather", text, wrong);
               }),
               Contains("\"rain_accumulates\" must be true or false, without quotes"));
}

TEST_CASE("a few days of rain that counts on are refused where they tell it and asked about where they do not") {
    const auto table = [](const std::function<double(int)>& rain) {
        std::string text = few_minutes_header;
        double total = 0.0;
        for (int hour = 0; hour < 72; ++hour) {
            total = rain(hour) + (hour % 24 == 0 ? 0.0 : total);
            text += fmt::format("H,9.51,56,2025-06-{}T{:02}:00+02:00,12,80,{:.1f}\n", 10 + hour / 24, hour % 24, total);
        }
        return text;
    };
    Farm wet(false);
    // Rain on two days, nearly without a pause: the counter rises more often than it stands still.
    CHECK_THAT(refusal_of([&] {
                   wet.import_text("weather", table([](int hour) { return hour > 20 && hour % 4 != 0 ? 0.4 : 0.0; }));
               }),
               Contains("the rain of station H stays as it is or rises until it is set back at 00:00 each day") &&
                   Contains("rain_accumulates = true"));
    Farm dry(false);
    const std::string shower = table([](int hour) { return hour == 19 || hour == 21 ? 1.2 : 0.0; });
    const auto report = dry.import_text("weather", shower);
    CHECK(report.added == 72);
    CHECK_THAT(notes_of(report), Contains("station H: 5 hours after a wet one do not tell whether the rain counts on "
                                          "until it is set back; it is taken for the rain of each hour") &&
                                     Contains("rain_accumulates = true"));
    geo::ImportOptions said;
    said.column_map = dry.folder.write("said.toml", "rain_accumulates = false\n").string();
    CHECK_THAT(notes_of(Farm(false).import_text("weather", shower, said)), !Contains("counts on"));
}

TEST_CASE("of readings of rain that counts on each hour has the last total") {
    Farm farm(false);
    std::string text = few_minutes_header;
    double total = 0.0;
    for (int minute = 0; minute < 6 * 60; minute += 10) {
        if (minute == 170) continue;  // the last reading of the third hour
        total += minute < 300 ? 0.1 : 0.0;
        text += fmt::format("H,9.51,56,2025-06-10T{:02}:{:02}+02:00,12,80,{:.1f}\n", minute / 60, minute % 60, total);
    }
    geo::ImportOptions options;
    options.column_map = farm.folder.write("counter.toml", "rain_accumulates = true\n").string();
    const auto report = farm.import_text("weather", text, options);
    CHECK_THAT(notes_of(report), Contains("the means of 6 readings, of rain the last total") &&
                                     Contains("rain of 1 hour lacks readings and stands as missing"));
    const auto hours = hours_of_june(farm);
    CHECK(std::isnan(hours.rain_mm[0]));  // what fell before is in it
    CHECK(hours.rain_mm[1] == Approx(0.6));
    CHECK(std::isnan(hours.rain_mm[2]));
    CHECK(std::isnan(hours.rain_mm[3]));
    CHECK(hours.rain_mm[4] == Approx(0.6));
    CHECK(hours.rain_mm[5] == 0.0);
}

TEST_CASE("a typical year put together from years is refused as a season") {
    Farm farm(false);
    std::string text = few_minutes_header;
    const int years[] = {1986, 1989, 1977, 1986, 1994, 2001, 1989, 1990};
    for (int month = 0; month < 8; ++month) {
        for (int hour = 0; hour < 48; ++hour) {
            text += fmt::format("H,9.51,56,{}-{:02}-{:02}T{:02}:00+02:00,{},80,0\n", years[month], month + 1,
                                10 + hour / 24, hour % 24, 10 + hour % 7);
        }
    }
    CHECK_THAT(refusal_of([&] { farm.import_text("weather", text); }),
               Contains("the months of station H are put together from 1977, 1986, 1989, 1990, 1994, 2001, each month "
                        "once: a typical year is no season that ever was, and no row went in"));
    CHECK(farm.store.stations().empty());
    geo::ImportOptions options;
    options.as_written = true;
    CHECK(farm.import_text("weather", text, options).added == 8 * 48);
}

TEST_CASE("a table without any rain says what that costs") {
    Farm farm(false);
    const auto report = farm.import_text("weather",
                                         "station,longitude_deg,latitude_deg,time,temperature_degc,"
                                         "relative_humidity_pct,rain_mm\nH,9.51,56,2025-06-10T01:00+02:00,12,81,NA\n");
    CHECK(report.added == 1);
    CHECK_THAT(notes_of(report),
               Contains("station H has no rain at all: models that ask for rain cannot be computed from it"));
}

TEST_CASE("a station in the Gulf of Guinea is refused in its own table too") {
    Farm farm(false);
    CHECK_THAT(farm.refusal("stations", "station,longitude_deg,latitude_deg\nH,0,0\n"),
               Contains("longitude 0, latitude 0 lies in the sea"));
}

TEST_CASE("a season of the south runs through the turn of the year") {
    Folder folder;
    geo::Store store = geo::Store::create(folder / "south.lodicule");
    std::string text = few_minutes_header;
    for (int hour = 0; hour < 96; ++hour) {
        const int day = 30 + hour / 24;
        text += fmt::format("Sur,-60.5,-33.9,{}T{:02}:00-03:00,{},80,0\n",
                            day <= 31 ? fmt::format("2025-12-{}", day) : fmt::format("2026-01-{:02}", day - 31),
                            hour % 24, 20 + hour / 24);
    }
    geo::import_file(store, "weather", folder.write("weather.csv", text));
    const auto hours = store.weather("Sur", models::day_of(2025, 12, 31), models::day_of(2026, 1, 1));
    REQUIRE(hours.size() == 48);
    CHECK(hours.temperature_degc.front() == 21.0);
    CHECK(hours.temperature_degc.back() == 22.0);
}

TEST_CASE("the day on which the clock goes forward has 23 hours and none of them is missing") {
    Farm farm(false);
    std::string text = few_minutes_header;
    for (int hour = 0; hour < 24; ++hour) {
        if (hour == 2) continue;  // 2026-03-29: two o'clock was skipped
        text += fmt::format("H,9.51,56,2026-03-29T{:02}:00+0{}:00,8,95,0\n", hour, hour < 2 ? 1 : 2);
    }
    CHECK(farm.import_text("weather", text).added == 23);
    const auto day = models::day_of(2026, 3, 29);
    const models::StationDays days(farm.store.weather("H", day, day));
    REQUIRE(days.day(day) != nullptr);
    CHECK(days.day(day)->rain.hours_expected == 23);
    CHECK(days.day(day)->rain.hours_seen == 23);
    CHECK_FALSE(days.day(day)->clock.test(2));
}

TEST_CASE("a sensor that stands still over the end of a month is named whole at import as it stands in the store") {
    // From 30 May 20:00 to 2 June 02:00 UTC at 14.3 degC: 28 hours of May and 26 of June.
    const auto hours_of = [](int first, int end) {
        std::string text = few_minutes_header;
        for (int hour = first; hour < end; ++hour) {  // counted from 30 May, 00:00
            const int day = 30 + hour / 24;
            text += fmt::format("H,9.51,56,2025-{}T{:02}:00Z,{},{},0\n",
                                day <= 31 ? fmt::format("05-{}", day) : fmt::format("06-{:02}", day - 31), hour % 24,
                                hour >= 20 && hour < 74 ? 14.3 : 10.0 + 0.1 * (hour % 24), 60 + hour % 24);
        }
        return text;
    };
    const auto in_store = [](const Farm& farm) {
        std::string text;
        for (const models::WeatherFlag& flag :
             models::check_quality(farm.store.weather("H", models::day_of(2025, 5, 30), models::day_of(2025, 6, 3))))
            text += "station H: " + flag.reason + "\n";
        return text;
    };
    const std::string whole = "the temperature stays at 14.3 degC for 54 hours from 2025-05-30T20:00:00+00:00";
    Farm at_once(false);
    const std::string told = notes_of(at_once.import_text("weather", hours_of(0, 96)));
    CHECK_THAT(told, Contains(whole));
    CHECK_THAT(told, Contains(in_store(at_once)));

    // Ten hours of May alone are nothing odd; with those of June they are.
    Farm by_and_by(false);
    CHECK_THAT(notes_of(by_and_by.import_text("weather", hours_of(0, 30))), !Contains("stays at"));
    CHECK_THAT(notes_of(by_and_by.import_text("weather", hours_of(30, 96))), Contains(whole));
    CHECK_THAT(notes_of(by_and_by.import_text("weather", hours_of(90, 100))), !Contains("stays at"));
    CHECK_THAT(in_store(by_and_by), Contains(whole));
}

}  // namespace store_tests
