#include <catch2/catch.hpp>

#include "models/weather/day_counts.h"
#include "tests/support/made_weather.h"

using namespace models;
using tests::forget_hour;
using tests::made_hours;

namespace {

const LocalDay counted_from = day_of(2026, 6, 1);
const DayWindow four_days = {counted_from, counted_from + std::chrono::days(3)};

HourlySeries four(double temperature, double humidity, double rain_at_noon) {
    return made_hours(counted_from, 4, [=](int, int hour) {
        return HourlyWeather{temperature, humidity, HourlySeries::missing, hour == 12 ? rain_at_noon : 0.0};
    });
}

using Count = WindowValue (*)(const KnownWeather&, const DayWindow&);

WindowValue counted(Count count, HourlySeries series) {
    const StationDays days(std::move(series));
    return count({&days, {}}, four_days);
}

}  // namespace

TEST_CASE("a day counts when it passes its mark and not when it meets it") {
    CHECK(counted(days_of_rain_over_5_mm, four(15, 70, 5.0)).value == 0.0);
    CHECK(counted(days_of_rain_over_5_mm, four(15, 70, 5.1)).value == 4.0);
    CHECK(counted(days_of_rain_over_3_mm, four(15, 70, 3.0)).value == 0.0);
    CHECK(counted(days_of_rain_over_3_mm, four(15, 70, 3.1)).value == 4.0);
    CHECK(counted(cold_nights, four(10.0, 70, 0)).value == 0.0);
    CHECK(counted(cold_nights, four(9.9, 70, 0)).value == 4.0);
    CHECK(counted(hot_days, four(32.0, 70, 0)).value == 0.0);
    CHECK(counted(hot_days, four(32.1, 70, 0)).value == 4.0);
    CHECK(counted(humid_days, four(15, 70.0, 0)).value == 0.0);
    CHECK(counted(humid_days, four(15, 70.1, 0)).value == 4.0);
}

TEST_CASE("rain that fell is a rainy day however many hours are missing and a dry day needs them all") {
    HourlySeries wet = four(15, 70, 6.0), dry = four(15, 70, 0.0);
    for (std::size_t hour = 0; hour < 10; ++hour) {
        wet.rain_mm[hour] = HourlySeries::missing;
        dry.rain_mm[hour] = HourlySeries::missing;
    }
    CHECK(counted(days_of_rain_over_5_mm, wet).value == 4.0);
    const WindowValue open = counted(days_of_rain_over_5_mm, dry);
    CHECK_FALSE(open.value.has_value());  // one missing day breaks a count over four
    CHECK(open.lower == 0.0);
    CHECK(open.upper == 1.0);
    CHECK(open.days_refused == 1);
}

TEST_CASE("a night without its hours is cold only where a cold hour was seen") {
    HourlySeries mild = four(15, 70, 0.0);
    mild.temperature_degc[24 + 4] = HourlySeries::missing;
    CHECK_FALSE(counted(cold_nights, mild).value.has_value());
    CHECK(counted(cold_nights, mild).upper == 1.0);
    mild.temperature_degc[24 + 1] = 9.0;
    CHECK(counted(cold_nights, mild).value == 1.0);
}

TEST_CASE("an afternoon without its hours is hot only where a hot hour was seen") {
    HourlySeries warm = four(25, 70, 0.0);
    warm.temperature_degc[24 + 15] = HourlySeries::missing;
    CHECK_FALSE(counted(hot_days, warm).value.has_value());
    warm.temperature_degc[24 + 13] = 33.0;
    CHECK(counted(hot_days, warm).value == 1.0);
    HourlySeries night_gap = four(25, 70, 0.0);
    night_gap.temperature_degc[24 + 3] = HourlySeries::missing;
    CHECK(counted(hot_days, night_gap).value == 0.0);
}

TEST_CASE("a missing hour leaves a humid day open only where it could turn it") {
    const auto humid = [](double low, double high) {
        HourlySeries series = made_hours(counted_from, 4, [=](int, int hour) {
            return HourlyWeather{15, hour < 12 ? high : low, HourlySeries::missing, 0};
        });
        series.relative_humidity_pct[20] = series.dew_point_degc[20] = HourlySeries::missing;
        return counted(humid_days, series);
    };
    CHECK(humid(60, 100).value == 4.0);
    CHECK(humid(30, 90).value == 0.0);
    const WindowValue open = humid(50, 90);  // a mean of 70 or of 71.7 with the missing hour
    CHECK_FALSE(open.value.has_value());
    CHECK(open.lower == 0.0);
    CHECK(open.upper == 1.0);
}

TEST_CASE("a long window of days gives a number without its few open days and bounds with them") {
    HourlySeries series = made_hours(counted_from, 26, [](int day, int) {
        return HourlyWeather{15, day % 2 == 0 ? 80.0 : 60.0, HourlySeries::missing, 0};
    });
    for (std::size_t hour = 0; hour < 24; ++hour) forget_hour(series, hour);
    const StationDays days(series);
    const WindowValue count = humid_days({&days, {}}, {counted_from, counted_from + std::chrono::days(25)});
    CHECK(count.lower == 12.0);
    CHECK(count.upper == 13.0);
    CHECK(*count.value == Approx(12.0 * 26 / 25));
}

TEST_CASE("warm hours hold 15 and 30 degC whatever the humidity") {
    CHECK(counted(warm_hours, four(15.0, 20, 0)).value == 96.0);
    CHECK(counted(warm_hours, four(30.0, 20, 0)).value == 96.0);
    CHECK(counted(warm_hours, four(14.9, 95, 0)).value == 0.0);
    CHECK(counted(warm_hours, four(30.1, 95, 0)).value == 0.0);
}
