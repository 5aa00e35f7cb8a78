#include "geo/weather_table.h"

#include <algorithm>
#include <cmath>
#include <sstream>

#include <catch2/catch.hpp>

#include "geo/weather_cells.h"
#include "models/weather/humidity.h"
#include "tests/support/shared_data.h"
#include "tests/support/table.h"

using namespace geo;
using Catch::Matchers::Contains;

namespace {

constexpr const char* header =
    "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,dew_point_degc,rain_mm\n";

WeatherForms plain_forms() {
    WeatherForms forms;
    forms.names = {"station",          "longitude_deg",         "latitude_deg",   "time",
                   "temperature_degc", "relative_humidity_pct", "dew_point_degc", "rain_mm"};
    forms.columns.station = 0;
    forms.columns.longitude_deg = 1;
    forms.columns.latitude_deg = 2;
    forms.columns.time = 3;
    forms.columns.temperature = 4;
    forms.columns.relative_humidity = 5;
    forms.columns.dew_point = 6;
    forms.columns.rain = 7;
    return forms;
}

WeatherTable read_rows(const std::string& rows, const WeatherForms& forms = plain_forms()) {
    return read_weather_table(header + rows, "weather.csv", forms);
}

/// The one refusal of a single row.
Refusal refusal_of(const std::string& row) {
    const WeatherTable table = read_rows(row + "\n");
    REQUIRE(table.refused.size() == 1);
    CHECK(table.rows == 1);
    CHECK(table.taken == 0);
    CHECK(table.stations.empty());
    CHECK(table.refused[0].file == "weather.csv");
    CHECK(table.refused[0].row == 2);
    CHECK_FALSE(table.refused[0].mend.empty());
    return table.refused[0];
}

std::size_t hour_at(const models::HourlySeries& hours, const char* stamp) {
    return static_cast<std::size_t>((models::parse_stamp(stamp)->utc - hours.first_utc) / std::chrono::hours(1));
}

}  // namespace

TEST_CASE("a weather row becomes the hour of its station and month") {
    const WeatherTable table = read_rows(
        "Hill Farm,9.5,56.1,2026-06-03T14:00:00+02:00,17.5,81,,0.4\n"
        "Hill Farm,9.5,56.1,2026-06-03T15:00:00+02:00,18,,12.25,\n");
    REQUIRE(table.refused.empty());
    CHECK(table.rows == 2);
    CHECK(table.taken == 2);
    REQUIRE(table.stations.size() == 1);
    const StationHours& station = table.stations[0];
    CHECK(station.station.station == "Hill Farm");
    CHECK(station.placed);
    CHECK(station.station.longitude_deg == 9.5);
    CHECK(station.station.latitude_deg == 56.1);
    REQUIRE(station.months.size() == 1);
    const auto& hours = station.months[0].hours;
    CHECK(hours.size() == 720);
    CHECK(models::to_text(hours.first_utc) == "2026-06-01T00:00:00Z");
    const std::size_t i = hour_at(hours, "2026-06-03T14:00:00+02:00");
    CHECK(hours.temperature_degc[i] == 17.5);
    CHECK(hours.relative_humidity_pct[i] == 81.0);
    CHECK(hours.dew_point_degc[i] == models::dew_point_degc(17.5, 81.0));
    CHECK(hours.rain_mm[i] == 0.4);
    CHECK(hours.offset_min[i] == 120);
    CHECK(station.months[0].row[i] == 2);
    CHECK(hours.dew_point_degc[i + 1] == 12.25);
    CHECK(hours.relative_humidity_pct[i + 1] == models::relative_humidity_pct(18.0, 12.25));
    CHECK(std::isnan(hours.rain_mm[i + 1]));
    CHECK(std::isnan(hours.temperature_degc[i + 2]));
    CHECK(station.months[0].row[i + 2] == 0);
    CHECK(hours.offset_min[0] == 120);
    CHECK(hours.offset_min[719] == 120);
}

TEST_CASE("humidity and dew point are both kept where both are given") {
    const WeatherTable table = read_rows("H,9.5,56.1,2026-06-03T14:00Z,20,70,11,0\n");
    REQUIRE(table.refused.empty());
    const auto& hours = table.stations[0].months[0].hours;
    const std::size_t i = hour_at(hours, "2026-06-03T14:00Z");
    CHECK(hours.relative_humidity_pct[i] == 70.0);
    CHECK(hours.dew_point_degc[i] == 11.0);
    REQUIRE(table.notes.size() == 2);
    CHECK_THAT(table.notes[0], Contains("their days begin at midnight UTC"));
    CHECK_THAT(table.notes[1], Contains("in 1 hour the dew point given and the one computed"));
}

TEST_CASE("a weather row that cannot be is refused with its column and how to mend it") {
    const auto check = [](const std::string& row, const std::string& column, const std::string& what,
                          const std::string& mend = "") {
        const Refusal refusal = refusal_of(row);
        CHECK(refusal.column == column);
        CHECK_THAT(refusal.what, Contains(what));
        CHECK_THAT(refusal.mend, Contains(mend));
    };
    check("H,9,56,2026-06-03T14:00Z,17;5,80,,0", "temperature_degc", "\"17;5\" is no number");
    check("H,9,56,2026-06-03T14:00Z,\"17,5\",80,,0", "temperature_degc", "\"17,5\" is no number", "decimal comma");
    check("H,9,56,2026-06-03T14:00Z,inf,80,,0", "temperature_degc", "\"inf\" is no number");
    check("H,9,56,2026-06-03T14:00Z,17.5,100.6,,0", "relative_humidity_pct",
          "a relative humidity of 100.6 % cannot be");
    check("H,9,56,2026-06-03T14:00Z,17.5,0,,0", "relative_humidity_pct", "a relative humidity of 0 % cannot be");
    check("H,9,56,2026-06-03T14:00Z,17.5,80,17.8,0", "dew_point_degc",
          "a dew point of 17.8 degC lies above the temperature of 17.5 degC");
    check("H,9,56,2026-06-03T14:00Z,63.5,80,,0", "temperature_degc", "outside -60 to 55 degC", "degF");
    check("H,9,56,2026-06-03T14:00Z,290.15,80,,0", "temperature_degc", "outside -60 to 55 degC", "kelvin");
    check("H,9,56,2026-06-03T14:00Z,-98,80,,0", "temperature_degc", "-98 degC", "not measured");
    check("H,9,56,2026-06-03T14:00Z,17.5,80,,-0.2", "rain_mm", "-0.2 mm of rain");
    check("H,9,56,2026-06-03T14:00Z,17.5,80,,401", "rain_mm", "401 mm of rain in one hour cannot be",
          "rain_accumulates = true");
    check("H,9,56,2026-06-03T14:20Z,17.5,80,,0", "time", "not on the hour", "one row an hour");
    check("H,9,56,2026-06-03T14:00,17.5,80,,0", "time", "does not say how far its clock is from UTC", "+02:00");
    check("H,9,56,03.06.2026 14:00,17.5,80,,0", "time", "\"03.06.2026 14:00\" is no time", "column map");
    check("H,9,56,2026-06-31T14:00Z,17.5,80,,0", "time", "is no time");
    check("H,9,56,2026-06-03T24:00:00+02:00,17.5,80,,0", "time", "is no time");
    check("H,9,156,2026-06-03T14:00Z,17.5,80,,0", "latitude_deg", "is no place", "swapped");
    check("H,0,0,2026-06-03T14:00Z,17.5,80,,0", "longitude_deg", "lies in the sea");
    check("H,,,2026-06-03T14:00Z,17.5,80,,0", "longitude_deg", "does not say where the station stands");
    check(",9,56,2026-06-03T14:00Z,17.5,80,,0", "station", "names no station");
    check("H,9,56", "time", "is no time");
}

TEST_CASE("a humidity a little above 100 % is kept as it came and told") {
    const WeatherTable table =
        read_rows("H,9,56,2026-06-03T14:00+02:00,17.5,100.4,,0\nH,9,56,2026-06-03T15:00+02:00,17.5,99,,0\n");
    CHECK(table.refused.empty());
    REQUIRE(!table.notes.empty());
    CHECK_THAT(table.notes.front(),
               Contains("1 hour has a humidity above 100 % (up to 100.4 %); this counts as 100 %"));
}

TEST_CASE("a dew point up to two tenths above the temperature is fog and not an error") {
    const WeatherTable table = read_rows("H,9.5,56.1,2026-06-03T14:00+02:00,10,,10.2,0\n");
    REQUIRE(table.refused.empty());
    const auto& hours = table.stations[0].months[0].hours;
    CHECK(hours.relative_humidity_pct[hour_at(hours, "2026-06-03T14:00+02:00")] == 100.0);
}

TEST_CASE("an hour that comes again is nothing new when it agrees and is refused when it does not") {
    const WeatherTable table = read_rows(
        "H,9,56,2026-06-03T14:00+02:00,17.5,80,,0\n"
        "H,9,56,2026-06-03T14:00+02:00,17.5,80,,0\n"
        "H,9,56,2026-06-03T12:00Z,17.5,80,,\n"
        "H,9,56,2026-06-03T14:00+02:00,17.6,80,,0\n"
        "H,9,56,2026-06-03T15:00+02:00,NA,NA,,\n");
    CHECK(table.rows == 5);
    CHECK(table.taken == 1);
    CHECK(table.repeated == 3);
    REQUIRE(table.refused.size() == 1);
    CHECK(table.refused[0].row == 5);
    CHECK_THAT(table.refused[0].what,
               Contains("station H has the hour 2026-06-03T14:00:00+02:00 twice, with other values in row 2"));
}

TEST_CASE("the hour that the autumn clock repeats is two hours with their offsets") {
    const WeatherTable table = read_rows(
        "H,9,56,2026-10-25T02:00+02:00,9,90,,0\n"
        "H,9,56,2026-10-25T02:00+01:00,8,91,,0\n");
    CHECK(table.refused.empty());
    CHECK(table.taken == 2);
    const auto& hours = table.stations[0].months[0].hours;
    const std::size_t i = hour_at(hours, "2026-10-25T00:00Z");
    CHECK(hours.temperature_degc[i] == 9.0);
    CHECK(hours.temperature_degc[i + 1] == 8.0);
    CHECK(hours.offset_min[i] == 120);
    CHECK(hours.offset_min[i + 1] == 60);
    CHECK(hours.offset_min.back() == 60);
}

TEST_CASE("a station that moved inside one table is refused from there on") {
    const WeatherTable table = read_rows(
        "H,9,56,2026-06-03T14:00+02:00,17,80,,0\n"
        "H,9.0005,56,2026-06-03T15:00+02:00,17,80,,0\n"
        "H,9.1,56,2026-06-03T16:00+02:00,17,80,,0\n");
    CHECK(table.taken == 2);
    REQUIRE(table.refused.size() == 1);
    CHECK(table.refused[0].row == 4);
    CHECK_THAT(table.refused[0].what, Contains("stood at longitude 9, latitude 56"));
}

TEST_CASE("tables from anywhere are read by what is said of their forms") {
    WeatherForms forms = plain_forms();
    forms.delimiter = ';';
    forms.decimal = ',';
    forms.date_order = DateOrder::day_month_year;
    forms.clock = std::chrono::minutes(60);
    forms.temperature = TemperatureUnit::kelvin;
    forms.relative_humidity = HumidityUnit::fraction;
    forms.rain = RainUnit::inch;
    forms.missing.emplace_back("-999");
    const WeatherTable table = read_rows(
        "\"North; hill\";9,25;56;3.6.2026 14:00;290,15;0,8;;0,5\r\n"
        "\"North; hill\";9,25;56;3.6.2026 15:00;291,15;-999;;-999\r\n"
        "\"North; hill\";9,25;56;3.6.2026 16:00;2.91;0,8;;0\r\n",
        forms);
    REQUIRE(table.stations.size() == 1);
    CHECK(table.stations[0].station.station == "North; hill");
    CHECK(table.stations[0].station.longitude_deg == 9.25);
    const auto& hours = table.stations[0].months[0].hours;
    const std::size_t i = hour_at(hours, "2026-06-03T13:00Z");
    CHECK(hours.temperature_degc[i] == Approx(17.0));
    CHECK(hours.relative_humidity_pct[i] == Approx(80.0));
    CHECK(hours.rain_mm[i] == Approx(12.7));
    CHECK(hours.offset_min[i] == 60);
    CHECK(hours.temperature_degc[i + 1] == Approx(18.0));
    CHECK(std::isnan(hours.relative_humidity_pct[i + 1]));
    CHECK(std::isnan(hours.rain_mm[i + 1]));
    REQUIRE(table.refused.size() == 1);
    CHECK_THAT(table.refused[0].what, Contains("\"2.91\" is no number"));
}

TEST_CASE("a stamp at the end of its hour and twenty-four o'clock are read where they are announced") {
    WeatherForms forms = plain_forms();
    forms.columns.time = 7;
    forms.columns.date = 3;
    forms.columns.rain = WeatherColumns::absent;
    forms.date_order = DateOrder::month_day_year;
    forms.stamp_ends_hour = true;
    forms.clock = std::chrono::minutes(-300);
    const WeatherTable table = read_rows("H,-80,36,05/31/2026,15,80,,24:00\nH,-80,36,06/01/2026,14,80,,01:00\n", forms);
    REQUIRE(table.refused.empty());
    REQUIRE(table.stations[0].months.size() == 1);
    const auto& hours = table.stations[0].months[0].hours;
    CHECK(hours.temperature_degc[hour_at(hours, "2026-05-31T23:00:00-05:00")] == 15.0);
    CHECK(hours.temperature_degc[hour_at(hours, "2026-06-01T00:00:00-05:00")] == 14.0);
}

TEST_CASE("half-hour clocks keep their own minute and one minute only") {
    const WeatherTable table = read_rows(
        "H,77,28,2026-03-01T00:00:00+05:30,15,80,,0\n"
        "H,77,28,2026-03-01T01:00:00+05:30,16,80,,0\n"
        "H,77,28,2026-02-28T20:00:00Z,16,80,,0\n");
    CHECK(table.taken == 2);
    REQUIRE(table.refused.size() == 1);
    CHECK_THAT(table.refused[0].what, Contains("earlier rows keep"));
    const auto& hours = table.stations[0].months[0].hours;
    CHECK(models::to_text(hours.first_utc) == "2026-02-01T00:30:00Z");
    const std::size_t i = hour_at(hours, "2026-03-01T00:00:00+05:30");
    CHECK(hours.temperature_degc[i] == 15.0);
    CHECK(models::to_text(hours.stamp(i)) == "2026-03-01T00:00:00+05:30");
}

TEST_CASE("an empty weather table has no rows and a table without a needed column is refused as a whole") {
    CHECK(read_rows("").rows == 0);
    CHECK(read_weather_table("", "weather.csv", plain_forms()).rows == 0);
    WeatherForms forms = plain_forms();
    forms.columns.relative_humidity = forms.columns.dew_point = WeatherColumns::absent;
    CHECK_THROWS_WITH(read_rows("", forms), Contains("no column for the humidity or the dew point"));
    forms = plain_forms();
    forms.columns.time = WeatherColumns::absent;
    CHECK_THROWS_WITH(read_rows("", forms), Contains("no column for the time") && Contains("column map"));
}

TEST_CASE("humidity written as a fraction in a percent column is pointed out") {
    const WeatherTable table = read_rows("H,9,56,2026-06-03T14:00+02:00,17,0.8,,0\n");
    REQUIRE(table.notes.size() == 1);
    CHECK_THAT(table.notes[0], Contains("no humidity is above 1 %"));
}

TEST_CASE("reading weather stops when asked to") {
    const models::Progress stop([](std::string_view, double) { return false; });
    CHECK_THROWS_AS(read_weather_table(std::string(header) + "H,9,56,2026-06-03T14:00+02:00,17,80,,0\n", "w.csv",
                                       plain_forms(), stop),
                    models::Cancelled);
}

TEST_CASE("a converted weather value reads as the decimal number that it is") {
    // By definition of the units: 51.98 degF are 11.1 degC, 284.25 K too; 0.07 inch are 1.778 mm.
    CHECK(in_degc(51.98, TemperatureUnit::degf) == 11.1);
    CHECK(in_degc(284.25, TemperatureUnit::kelvin) == 11.1);
    CHECK(in_mm(0.07, RainUnit::inch) == 1.778);
    CHECK(in_percent(0.57, HumidityUnit::fraction) == 57.0);
    CHECK(std::isnan(in_degc(std::nan(""), TemperatureUnit::degf)));
}

TEST_CASE("the airport table in degF and inches comes out in degC and mm") {
    NEEDS_SHARED_DATA(shared);
    const auto file = shared / "data/weather/nyc_airports_2013_may_june.csv";
    const tests::Table expected(file);
    WeatherForms forms;
    forms.names = expected.names();
    forms.columns.station = expected.column("origin");
    forms.columns.time = expected.column("time_hour");
    forms.columns.temperature = expected.column("temp");
    forms.columns.dew_point = expected.column("dewp");
    forms.columns.relative_humidity = expected.column("humid");
    forms.columns.rain = expected.column("precip");
    forms.temperature = forms.dew_point = TemperatureUnit::degf;
    forms.rain = RainUnit::inch;
    forms.clock = std::chrono::hours(-4);
    const WeatherTable table = read_weather_table(tests::read_text(file), file.filename(), forms);
    CHECK(table.rows == static_cast<long>(expected.rows()));
    CHECK(table.stations.size() == 3);
    CHECK_FALSE(table.stations[0].placed);
    for (const Refusal& refusal : table.refused) UNSCOPED_INFO(refusal.row << " " << refusal.what);
    REQUIRE(table.refused.empty());
    CHECK(table.taken + table.repeated == table.rows);

    // The dew point was measured in degF tenths and the humidity made from it: both agree by our formula, but for the
    // tenths (3978 of 4392 rows within 0.02 degC). The local hour column of the file is the clock of its stamps.
    long compared = 0, close = 0;
    for (const StationHours& station : table.stations) {
        for (const StationMonth& month : station.months) {
            const auto& hours = month.hours;
            for (std::size_t i = 0; i < hours.size(); ++i) {
                if (month.row[i] == 0) continue;
                const auto row = static_cast<std::size_t>(month.row[i]) - 2;
                REQUIRE(expected.text(row, "origin") == station.station.station);
                REQUIRE(hours.stamp(i).local_time_of_day() ==
                        std::chrono::hours(std::stoi(expected.text(row, "hour"))));
                REQUIRE(hours.temperature_degc[i] * 1.8 + 32.0 ==
                        Approx(expected.number(row, "temp")).margin(1e-9).epsilon(0.0));
                const double inches = expected.number(row, "precip");
                REQUIRE(hours.rain_mm[i] == Approx(inches * 25.4).margin(1e-12).epsilon(0.0));
                const double computed =
                    models::dew_point_degc(hours.temperature_degc[i], hours.relative_humidity_pct[i]);
                ++compared;
                if (std::abs(computed - hours.dew_point_degc[i]) <= 0.02) ++close;
            }
        }
    }
    CHECK(compared == table.taken);
    const double share = static_cast<double>(close) / static_cast<double>(compared);
    INFO(close << " of " << compared << " within 0.02 degC");
    CHECK(share > 0.9);
}

TEST_CASE("a typical year put together from many years is not taken for one season") {
    NEEDS_SHARED_DATA(shared);
    const auto file = shared / "data/weather/greensboro_nc_tmy3_723170TYA.CSV";
    WeatherForms forms;
    forms.station = "Greensboro";
    forms.longitude_deg = -79.95;
    forms.latitude_deg = 36.1;
    forms.header_rows = 2;
    forms.columns.date = 0;
    forms.columns.time = 1;
    forms.columns.temperature = 31;
    forms.columns.dew_point = 34;
    forms.columns.relative_humidity = 37;
    forms.date_order = DateOrder::month_day_year;
    forms.clock = std::chrono::hours(-5);
    forms.stamp_ends_hour = true;
    const WeatherTable table = read_weather_table(tests::read_text(file), file.filename(), forms);
    CHECK(table.rows == 8760);
    CHECK(table.taken == 8760);
    CHECK(table.refused.empty());
    REQUIRE(table.stations.size() == 1);
    CHECK(table.stations[0].placed);
    std::vector<models::HourlySeries> months;
    for (const StationMonth& month : table.stations[0].months) months.push_back(month.hours);
    // May is that of 1986 and June that of 1989: a window over both months finds one of them only.
    const auto seen = [&](int year) {
        const auto hours = hours_between(months, models::day_of(year, 5, 1), models::day_of(year, 6, 30));
        return std::count_if(hours.temperature_degc.begin(), hours.temperature_degc.end(),
                             [](double value) { return !std::isnan(value); });
    };
    CHECK(seen(1986) == 744);
    CHECK(seen(1989) == 720);
    const auto may = hours_between(months, models::day_of(1986, 5, 1), models::day_of(1986, 5, 31));
    CHECK(models::to_text(may.stamp(0)) == "1986-05-01T00:00:00-05:00");  // the file's first hour of May ends at 01:00
    CHECK(may.size() == 744);
}
