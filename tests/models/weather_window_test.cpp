#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/weather/window.h"
#include "tests/support/made_weather.h"

using namespace models;
using tests::forget_hour;
using tests::made_hours;

namespace {

const LocalDay flowering = day_of(2026, 6, 15);
const LocalDay first = flowering - std::chrono::days(30);
constexpr int length = 61;

/// A humid spell of days with dry afternoons: 24 h a day between 10 and 22 degC.
HourlyWeather mild(int day, int hour) {
    const double swing = std::sin(0.2617993877991494 * (hour - 9));
    return {16.0 + 6.0 * swing + 0.1 * day, 80.0 - 20.0 * swing, HourlySeries::missing, hour == 5 ? 0.4 : 0.0};
}

HourlySeries mild_hours() {
    return made_hours(first, length, mild);
}

std::size_t hour_of(LocalDay day, int hour) {
    return static_cast<std::size_t>((day - first).count()) * 24 + hour;
}

}  // namespace

TEST_CASE("a window holds both its ends") {
    const StationDays days(made_hours(first, length, [](int, int) { return HourlyWeather{20, 95, 19, 0}; }));
    const KnownWeather weather{&days, {}};
    const WindowValue after = warm_wet_hours(weather, window_around(flowering, 0, 10));
    CHECK(after.value == 264.0);
    CHECK(after.lower == 264.0);
    CHECK(after.upper == 264.0);
    CHECK(after.coverage.hours_expected == 264);
    CHECK(warm_wet_hours(weather, window_around(flowering, -7, 0)).value == 192.0);
    CHECK(window_around(flowering, -15, 10).days() == 26);
}

TEST_CASE("warm and wet means 15 to 30 degC and 90 percent with the bounds counted in") {
    const auto counted = [](double temperature, double humidity) {
        const StationDays days(made_hours(flowering, 11, [&](int, int) {
            return HourlyWeather{temperature, humidity, HourlySeries::missing, 0.0};
        }));
        return *warm_wet_hours({&days, {}}, window_around(flowering, 0, 10)).value;
    };
    CHECK(counted(15.0, 90.0) == 264.0);
    CHECK(counted(30.0, 100.4) == 264.0);
    CHECK(counted(14.99, 95.0) == 0.0);
    CHECK(counted(30.01, 95.0) == 0.0);
    CHECK(counted(20.0, 89.99) == 0.0);
}

TEST_CASE("the kept count of warm and wet hours is the count of the condition") {
    HourlySeries series = mild_hours();
    std::mt19937 random(3);
    for (std::size_t i = 0; i < series.size(); ++i) {
        if (random() % 20 == 0) series.temperature_degc[i] = HourlySeries::missing;
        if (random() % 20 == 0) series.relative_humidity_pct[i] = HourlySeries::missing;
        series.relative_humidity_pct[i] += 15.0;
    }
    const StationDays days(series);
    const KnownWeather weather{&days, flowering + std::chrono::days(9)};
    const DayWindow window = window_around(flowering, -3, 10);
    const WindowValue kept = warm_wet_hours(weather, window);
    const WindowValue counted = count_hours(weather, window, [](const HourlyWeather& hour) {
        return all_of(is_within(hour.temperature_degc, 15.0, 30.0), is_within(hour.relative_humidity_pct, 90.0, 100.0));
    });
    CHECK(*kept.lower > 0.0);
    CHECK(kept.lower == counted.lower);
    CHECK(kept.upper == counted.upper);
    CHECK(kept.coverage == counted.coverage);
}

TEST_CASE("an hour too dry to count is known even when its temperature is not") {
    HourlySeries series = made_hours(flowering, 11, [](int, int) { return HourlyWeather{20, 60, 12, 0}; });
    series.temperature_degc[30] = HourlySeries::missing;
    const StationDays days(series);
    const WindowValue count = warm_wet_hours({&days, {}}, window_around(flowering, 0, 10));
    CHECK(count.coverage.hours_missing() == 0);
    CHECK(count.upper == 0.0);
}

TEST_CASE("removing hours never moves a count outside its own bounds") {
    const HourlySeries whole = [] {
        HourlySeries series = mild_hours();
        for (double& humidity : series.relative_humidity_pct) humidity += 10.0;
        return series;
    }();
    const DayWindow window = window_around(flowering, 0, 10);
    const StationDays all_days(whole);
    const double truth = *warm_wet_hours({&all_days, {}}, window).value;
    REQUIRE(truth > 20.0);
    std::mt19937 random(11);
    for (int trial = 0; trial < 200; ++trial) {
        HourlySeries holed = whole;
        const auto share = random() % 100;
        for (std::size_t i = 0; i < holed.size(); ++i) {
            if (random() % 100 < share) forget_hour(holed, i);
        }
        const StationDays days(holed);
        const WindowValue count = warm_wet_hours({&days, {}}, window);
        CHECK(*count.lower <= truth);
        CHECK(*count.upper >= truth);
        if (count.value) {
            CHECK(*count.value >= *count.lower);
            CHECK(*count.value <= *count.upper);
        }
        // The same for rain, as far as no hour brought a cloudburst.
        const WindowValue rain = rain_sum_mm({&days, {}}, window);
        if (rain.lower) {
            CHECK(*rain.lower <= Approx(11 * 0.4));
            CHECK(*rain.upper >= Approx(11 * 0.4));
        }
    }
}

TEST_CASE("a count is scaled up for missing hours only where the coverage is enough") {
    HourlySeries series = made_hours(flowering, 11, [](int, int) { return HourlyWeather{20, 95, 19, 0}; });
    for (int day = 0; day < 11; ++day) forget_hour(series, static_cast<std::size_t>(day * 24 + (day * 5) % 24));
    const StationDays days(series);
    const WindowValue count = warm_wet_hours({&days, {}}, window_around(flowering, 0, 10));
    CHECK(count.lower == 253.0);
    CHECK(count.upper == 264.0);
    CHECK(*count.value == Approx(264.0));

    HourlySeries night_gaps = made_hours(flowering, 11, [](int, int) { return HourlyWeather{20, 95, 19, 0}; });
    for (int day = 0; day < 11; ++day) {
        forget_hour(night_gaps, static_cast<std::size_t>(day * 24 + 2));
        forget_hour(night_gaps, static_cast<std::size_t>(day * 24 + 3));
    }
    const StationDays nights(night_gaps);
    const WindowValue at_night = warm_wet_hours({&nights, {}}, window_around(flowering, 0, 10));
    CHECK(at_night.coverage.share() == Approx(242.0 / 264.0));         // over 90 % in all
    CHECK(at_night.coverage.share_of_band(0) == Approx(44.0 / 66.0));  // under 75 % of the small hours
    CHECK(at_night.coverage.share_of_worst_band() == Approx(44.0 / 66.0));
    CHECK_FALSE(at_night.value.has_value());
    CHECK(at_night.lower == 242.0);
    CHECK(at_night.upper == 264.0);
}

TEST_CASE("a mean over the clock does not shift when hours of some nights are missing") {
    HourlySeries series = mild_hours();
    const DayWindow window = window_around(flowering, -10, 10);
    const StationDays whole(series);
    const double truth = *mean_relative_humidity_pct({&whole, {}}, window).value;
    CHECK(truth == Approx(80.0).margin(1e-9).epsilon(0.0));  // by symmetry of the sine
    for (int day = -10; day < -6; ++day) {
        for (int hour = 0; hour < 6; ++hour) forget_hour(series, hour_of(flowering + std::chrono::days(day), hour));
    }
    const StationDays holed(series);
    const WindowValue mean = mean_relative_humidity_pct({&holed, {}}, window);
    CHECK(*mean.value == Approx(80.0).margin(1e-9).epsilon(0.0));  // the plain mean of the hours left is 79.2 or so
    CHECK(*mean.lower < 80.0);
    CHECK(*mean.upper > 80.0);
    CHECK(mean.days_refused == 0);
    CHECK(mean.coverage.hours_missing() == 24);
}

TEST_CASE("a day with too few hours or too long a gap is left out of a mean") {
    const DayWindow window = window_around(flowering, -10, 10);
    const auto without = [&](std::initializer_list<int> hours) {
        HourlySeries series = mild_hours();
        for (const int hour : hours) forget_hour(series, hour_of(flowering, hour));
        const StationDays days(series);
        return mean_relative_humidity_pct({&days, {}}, window);
    };
    CHECK(without({0, 4, 8, 12, 16, 20}).days_refused == 0);        // 18 hours left
    CHECK(without({0, 4, 8, 12, 16, 20, 22}).days_refused == 1);    // 17 hours left
    CHECK(without({6, 7, 8, 9, 10, 11}).days_refused == 0);         // a gap of 6 hours
    const WindowValue refused = without({6, 7, 8, 9, 10, 11, 12});  // a gap of 7 hours
    CHECK(refused.days_refused == 1);
    CHECK(refused.coverage.hours_missing() == 24);
    CHECK(refused.value.has_value());                                // 20 of 21 days are left
    CHECK(without({17, 18, 19, 20, 21, 22, 23}).days_refused == 1);  // a gap that runs to midnight
    CHECK(without({0, 1, 2, 3, 4, 5, 6}).days_refused == 1);
}

TEST_CASE("a mean has no value where a tenth of the hours is missing and no bounds where half is") {
    const StationDays days(mild_hours());
    const DayWindow window = window_around(flowering, -10, 10);
    const auto known_to = [&](int day) {
        return mean_dew_point_depression_degc({&days, flowering + std::chrono::days(day)}, window);
    };
    CHECK(known_to(10).coverage.hours_missing() == 0);
    CHECK(known_to(10).lower == known_to(10).value);
    CHECK(known_to(10).upper == known_to(10).value);
    CHECK(known_to(8).value.has_value());        // 19 of 21 days
    CHECK_FALSE(known_to(7).value.has_value());  // 18 of 21 days
    CHECK(known_to(7).lower.has_value());
    CHECK(*known_to(7).lower < *known_to(7).upper);
    CHECK(known_to(0).lower.has_value());  // 11 of 21 days
    CHECK_FALSE(known_to(-1).lower.has_value());
    CHECK_FALSE(known_to(-40).value.has_value());
    CHECK(known_to(-40).coverage.hours_seen == 0);
}

TEST_CASE("the dew-point depression of a day is its temperature less its dew point by the one formula") {
    const StationDays days(made_hours(flowering, 1, [](int, int) {
        return HourlyWeather{20.0, 90.0, HourlySeries::missing, 0.0};
    }));
    const WindowValue mean = mean_dew_point_depression_degc({&days, {}}, {flowering, flowering});
    CHECK(*mean.value == Approx(20.0 - 18.309116).margin(5e-7).epsilon(0.0));
    const StationDays given(made_hours(flowering, 1, [](int, int) {
        return HourlyWeather{20.0, HourlySeries::missing, 15.0, 0.0};
    }));
    CHECK(*mean_relative_humidity_pct({&given, {}}, {flowering, flowering}).value ==
          Approx(72.938767).margin(5e-7).epsilon(0.0));
    const StationDays fog(made_hours(flowering, 1, [](int, int) { return HourlyWeather{10.0, 100.3, 10.1, 0.0}; }));
    CHECK(mean_dew_point_depression_degc({&fog, {}}, {flowering, flowering}).value == 0.0);
    CHECK(mean_relative_humidity_pct({&fog, {}}, {flowering, flowering}).value == 100.0);
}

TEST_CASE("a daily minimum needs the hours around sunrise") {
    HourlySeries series = mild_hours();  // coldest at 3 o'clock: 10 + 0.1 degC a day
    const DayWindow window = window_around(flowering, 2, 10);
    const StationDays whole(series);
    const WindowValue all_days = mean_daily_minimum_degc({&whole, {}}, window);
    CHECK(*all_days.value == Approx(10.0 + 0.1 * 36.0));
    CHECK(all_days.lower == all_days.value);
    CHECK(all_days.upper == all_days.value);

    forget_hour(series, hour_of(flowering + std::chrono::days(4), 20));
    const StationDays evening(series);
    CHECK(mean_daily_minimum_degc({&evening, {}}, window).value == all_days.value);

    forget_hour(series, hour_of(flowering + std::chrono::days(4), 3));
    const StationDays night(series);
    const WindowValue without = mean_daily_minimum_degc({&night, {}}, window);
    CHECK(without.days_refused == 1);
    CHECK_FALSE(without.value.has_value());  // 8 of 9 days
    CHECK(*without.lower < *all_days.value);
    CHECK(*without.upper > *all_days.value);  // seen: 2 and 4 o'clock, a little warmer
    CHECK(*without.upper - *all_days.value < 0.05);
}

TEST_CASE("missing rain is not dry") {
    HourlySeries series = made_hours(flowering, 11, [](int, int hour) {
        return HourlyWeather{15, 80, 12, hour == 3 ? 2.0 : 0.0};
    });
    const DayWindow window = window_around(flowering, 6, 10);
    const StationDays whole(series);
    const WindowValue all_hours = rain_sum_mm({&whole, {}}, window);
    CHECK(all_hours.value == 10.0);
    CHECK(all_hours.upper == 10.0);
    CHECK_FALSE(all_hours.at_least);

    series.rain_mm[8 * 24 + 3] = HourlySeries::missing;
    const StationDays one_missing(series);
    const WindowValue at_least = rain_sum_mm({&one_missing, {}}, window);
    CHECK(at_least.value == 8.0);
    CHECK(at_least.at_least);
    CHECK(at_least.lower == 8.0);
    CHECK(at_least.upper == 8.0 + heaviest_hour_mm);

    series.rain_mm.assign(series.size(), HourlySeries::missing);
    const StationDays none(series);
    const WindowValue nothing = rain_sum_mm({&none, {}}, window);
    CHECK_FALSE(nothing.value.has_value());
    CHECK_FALSE(nothing.lower.has_value());
}

TEST_CASE("a local day follows the clock of the stamps and not UTC") {
    const auto hour_is_day = [](int day, int) { return HourlyWeather{static_cast<double>(day), 80, -1, 0}; };
    const StationDays days(made_hours(flowering, 3, hour_is_day, std::chrono::minutes(-570)));
    REQUIRE(days.days().size() == 3);
    const DailySummary* second = days.day(flowering + std::chrono::days(1));
    REQUIRE(second != nullptr);
    CHECK(second->temperature_degc.day.lowest == 1.0);
    CHECK(second->temperature_degc.day.highest == 1.0);
    CHECK(days.day(flowering + std::chrono::days(3)) == nullptr);
    CHECK(days.day(flowering - std::chrono::days(1)) == nullptr);
}

TEST_CASE("the autumn day has 25 hours and its repeated hour counts once in a mean") {
    HourlySeries series;
    series.first_utc = parse_stamp("2026-10-24T22:00Z")->utc;  // midnight, two hours ahead of UTC
    for (int i = 0; i < 25; ++i) {
        series.temperature_degc.push_back(i == 2 ? 0.0 : i == 3 ? 24.0 : 12.0);
        series.relative_humidity_pct.push_back(95.0);
        series.dew_point_degc.push_back(HourlySeries::missing);
        series.rain_mm.push_back(1.0);
        series.offset_min.push_back(i < 3 ? 120 : 60);
    }
    const StationDays days(series);
    REQUIRE(days.days().size() == 1);
    const DayWindow day{day_of(2026, 10, 25), day_of(2026, 10, 25)};
    const WindowValue mean =
        mean_of_hours({&days, {}}, day, [](const HourlyWeather& hour) { return hour.temperature_degc; });
    CHECK(*mean.value == Approx(12.0));
    CHECK(mean.coverage.hours_expected == 25);
    CHECK(rain_sum_mm({&days, {}}, day).value == 25.0);
}

TEST_CASE("days at the ends of a series are known to be incomplete") {
    HourlySeries series = made_hours(first, 4, mild);
    const auto drop = [](auto& values) { values.erase(values.begin(), values.begin() + 10); };
    drop(series.temperature_degc);
    drop(series.relative_humidity_pct);
    drop(series.dew_point_degc);
    drop(series.rain_mm);
    drop(series.offset_min);
    series.first_utc += std::chrono::hours(10);
    for (auto* values :
         {&series.temperature_degc, &series.relative_humidity_pct, &series.dew_point_degc, &series.rain_mm}) {
        values->resize(values->size() - 3);
    }
    series.offset_min.resize(series.temperature_degc.size());
    const StationDays days(series);
    REQUIRE(days.days().size() == 4);
    CHECK(days.days().front().rain.hours_expected == 24);
    CHECK(days.days().front().rain.hours_seen == 14);
    CHECK(days.days().front().rain.seen_in_band == std::array<int, 4>{0, 2, 6, 6});
    CHECK_FALSE(days.days().front().relative_humidity_pct.day.usable);
    CHECK(days.days().back().rain.hours_seen == 21);
    CHECK(days.days().back().rain.expected_in_band == std::array<int, 4>{6, 6, 6, 6});
    CHECK(days.days().back().relative_humidity_pct.day.usable);
}

TEST_CASE("a series whose quantities are not equally long is refused") {
    HourlySeries series = made_hours(first, 1, mild);
    series.rain_mm.pop_back();
    CHECK_THROWS_WITH(StationDays(series), Catch::Matchers::Contains("not equally many"));
    CHECK(StationDays(HourlySeries{}).days().empty());
}
