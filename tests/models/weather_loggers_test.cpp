// Six loggers in wheat fields, North Carolina 2022, against the daily values that the authors of the data computed from
// the same hours (vcgarnica/SNB_window_pane, engineered_variables).
#include <cmath>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "models/weather/quality.h"
#include "models/weather/window.h"
#include "tests/support/made_weather.h"
#include "tests/support/shared_data.h"

using namespace models;

namespace {

constexpr double any = std::numeric_limits<double>::infinity();

const std::map<std::string, HourCondition>& counted_by_the_authors() {
    const auto temperature = [](double low, double high) {
        return [=](const HourlyWeather& hour) { return is_within(hour.temperature_degc, low, high); };
    };
    const auto humidity = [](double low, double high) {
        return [=](const HourlyWeather& hour) { return is_within(hour.relative_humidity_pct, low, high); };
    };
    const auto rain_above = [](double mm) {
        return [=](const HourlyWeather& hour) { return is_within(hour.rain_mm, std::nextafter(mm, any), any); };
    };
    const auto together = [](HourCondition a, HourCondition b) {
        return [=](const HourlyWeather& hour) { return all_of(a(hour), b(hour)); };
    };
    static const std::map<std::string, HourCondition> conditions = {
        {"RH.L35.24h", humidity(-any, 35)},
        {"RH.G90.24h", humidity(90, any)},
        {"T.13T16.24h", temperature(13, 16)},
        {"T.16T19.24h", temperature(16, 19)},
        {"T.19T22.24h", temperature(19, 22)},
        {"T.G28.24h", temperature(28, any)},
        {"TRH.13T16nRH.G80.24h", together(temperature(13, 16), humidity(80, any))},
        {"TRH.16T19nRH.G80.24h", together(temperature(16, 19), humidity(80, any))},
        {"TRH.19T22nRH.G80.24h", together(temperature(19, 22), humidity(80, any))},
        {"TR.16T19nR.G0.2.24h", together(temperature(16, 19), rain_above(0.2))},
        {"R.AH.24h", rain_above(0.0)},
    };
    return conditions;
}

/// The authors' deficit: Tetens with 0.611 and base 10, as their code has it.
double deficit_of_the_authors(const HourlyWeather& hour) {
    const double saturation = 0.611 * std::pow(10.0, 7.5 * hour.temperature_degc / (237.3 + hour.temperature_degc));
    return saturation * (1.0 - hour.relative_humidity_pct / 100.0);
}

}  // namespace

TEST_CASE("six loggers give the daily values of the data's authors") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const tests::Table expected(shared / "data/weather/snb_nc_2022_daily_expected.csv");
    std::map<std::string, StationDays> stations;
    std::set<std::string> short_days;
    int days_with_a_gap = 0;
    for (std::size_t row = 0; row < expected.rows(); ++row) {
        const std::string& site = expected.text(row, "SITE");
        if (!stations.contains(site)) stations.emplace(site, StationDays(tests::logger_hours(hourly, site)));
        const StationDays& station = stations.at(site);
        const auto date = parse_day(expected.text(row, "DATE"));
        REQUIRE(date.has_value());
        INFO(site << " " << expected.text(row, "DATE"));
        const KnownWeather weather{&station, {}};
        const DayWindow day{*date, *date};
        for (const auto& [name, condition] : counted_by_the_authors()) {
            INFO(name);
            const WindowValue count = count_hours(weather, day, condition);
            CHECK(*count.lower == expected.number(row, name));
            if (count.coverage.hours_missing() == 0) CHECK(count.value == count.lower);
        }
        const auto mean = [&](const HourQuantity& quantity) { return *mean_of_hours(weather, day, quantity).value; };
        CHECK(mean([](const HourlyWeather& hour) { return hour.temperature_degc; }) ==
              Approx(expected.number(row, "T.A.24h")).margin(1e-12).epsilon(1e-13));
        CHECK(*mean_relative_humidity_pct(weather, day).value ==
              Approx(expected.number(row, "RH.A.24h")).margin(1e-12).epsilon(1e-13));
        CHECK(mean(deficit_of_the_authors) == Approx(expected.number(row, "VPD.24h")).margin(1e-12).epsilon(0.0));
        CHECK(*rain_sum_mm(weather, day).value == Approx(expected.number(row, "R.S.24h")).margin(1e-12).epsilon(0.0));
        const DailySummary& summary = *station.day(*date);
        CHECK(summary.temperature_degc.day.lowest == expected.number(row, "T.min.24h"));
        CHECK(summary.temperature_degc.day.highest == expected.number(row, "T.max.24h"));
        CHECK(summary.relative_humidity_pct.day.lowest == expected.number(row, "RH.min.24h"));
        CHECK(summary.relative_humidity_pct.day.highest == expected.number(row, "RH.max.24h"));
        CHECK(summary.rain.hours_seen == expected.number(row, "nhours.24h"));
        if (summary.rain.hours_expected == 23) short_days.insert(site + to_text(*date));
        days_with_a_gap += summary.rain.hours_missing() > 0 ? 1 : 0;
    }
    CHECK(stations.size() == 6);
    // The clock went forward on 13 March 2022. On one more day a site, in April, an hour at noon is not in the file.
    CHECK(days_with_a_gap == 6);
    for (const std::string& day : short_days) CHECK(day.ends_with("2022-03-13"));
    CHECK(short_days.size() == 6);
}

TEST_CASE("a logger that stops before the window ends is incomplete and not dry") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const StationDays station(tests::logger_hours(hourly, "KS22"));
    const LocalDay anthesis = day_of(2022, 4, 17);  // snb_nc_2022_sites.csv
    const KnownWeather weather{&station, {}};
    CHECK(to_text(station.series().stamp(station.series().size() - 1)) == "2022-04-19T23:00:00-04:00");
    const WindowValue hours = warm_wet_hours(weather, window_around(anthesis, 0, 10));
    CHECK(hours.coverage.hours_expected == 264);
    CHECK(hours.coverage.hours_seen == 72);
    CHECK_FALSE(hours.value.has_value());
    CHECK(*hours.upper - *hours.lower == 192.0);
    const WindowValue rain = rain_sum_mm(weather, window_around(anthesis, 0, 10));
    CHECK_FALSE(rain.value.has_value());
    CHECK(rain.at_least);
    const WindowValue later = rain_sum_mm(weather, window_around(anthesis, 6, 10));
    CHECK_FALSE(later.lower.has_value());
    CHECK_FALSE(mean_relative_humidity_pct(weather, window_around(anthesis, -10, 10)).value.has_value());
    CHECK(mean_relative_humidity_pct(weather, window_around(anthesis, -7, 0)).value.has_value());
}

TEST_CASE("the loggers' own dew points agree with the one formula") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    HourlySeries given = tests::logger_hours(hourly, "CL22");
    HourlySeries computed = given;
    computed.dew_point_degc.assign(computed.size(), HourlySeries::missing);
    const StationDays completed(computed);
    std::size_t close = 0;
    for (std::size_t i = 0; i < given.size(); ++i) {
        if (std::abs(completed.series().dew_point_degc[i] - given.dew_point_degc[i]) <= 0.1) ++close;
    }
    INFO(close << " of " << given.size());
    CHECK(static_cast<double>(close) > 0.9 * static_cast<double>(given.size()));
}

TEST_CASE("of thirteen thousand logger hours only the one that leaps by fifteen degrees is flagged") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    std::vector<std::string> reasons;
    for (const char* site : {"CL22", "KS22", "MR22", "PY22", "RW22", "SB22"}) {
        for (const WeatherFlag& flag : check_quality(tests::logger_hours(hourly, site))) {
            reasons.push_back(std::string(site) + ": " + flag.reason);
        }
    }
    REQUIRE(reasons.size() == 1);
    // 15.65, 35.6, 20.35 degC in three hours while the humidity halves: a logger in a hand or in the sun.
    CHECK_THAT(reasons[0], Catch::Matchers::StartsWith("MR22: a temperature of 35.6 degC at 2022-02-21T11"));
}
