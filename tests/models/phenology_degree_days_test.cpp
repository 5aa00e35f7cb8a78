#include <array>
#include <cmath>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/phenology/degree_days.h"
#include "tests/models/phenology_weather.h"
#include "tests/support/made_weather.h"

using namespace models;
using Catch::Matchers::Contains;

namespace {

const DegreeDayRule method_1{DegreeDayMethod::mean_limited, 0.0, std::nullopt};
const DegreeDayRule method_2{DegreeDayMethod::values_limited, 0.0, std::nullopt};
const LocalDay first_of_march = day_of(2022, 3, 1);

DayWindow days_of_march(int from, int to) {
    return {day_of(2022, 3, static_cast<unsigned>(from)), day_of(2022, 3, static_cast<unsigned>(to))};
}

}  // namespace

TEST_CASE("a day of 8 and -4 degC has 2 degree days by one method and 4 by the other") {
    // McMaster & Wilhelm (1997), base 0 degC: (8 - 4) / 2 and (8 + 0) / 2.
    CHECK(degree_days(-4.0, 8.0, method_1) == 2.0);
    CHECK(degree_days(-4.0, 8.0, method_2) == 4.0);
}

TEST_CASE("method 2 never gives less than method 1 and the two agree above the base") {
    for (double minimum = -20.0; minimum <= 30.0; minimum += 1.5) {
        for (double range = 0.0; range <= 20.0; range += 2.5) {
            for (const double base : {-2.0, 0.0, 4.5}) {
                const DegreeDayRule one{DegreeDayMethod::mean_limited, base, std::nullopt};
                const DegreeDayRule two{DegreeDayMethod::values_limited, base, std::nullopt};
                INFO(minimum << " + " << range << " above " << base);
                const double by_one = degree_days(minimum, minimum + range, one);
                const double by_two = degree_days(minimum, minimum + range, two);
                CHECK(by_two >= by_one - 1e-12);
                CHECK(by_one >= 0.0);
                if (minimum >= base) CHECK(by_two == Approx(by_one).margin(1e-12).epsilon(0.0));
                if (minimum + range <= base) CHECK(by_two == 0.0);
            }
        }
    }
}

TEST_CASE("the cap stands where the base stands: at the mean or at each temperature") {
    const DegreeDayRule one{DegreeDayMethod::mean_limited, 0.0, 25.0};
    const DegreeDayRule two{DegreeDayMethod::values_limited, 0.0, 25.0};
    CHECK(degree_days(10.0, 35.0, one) == 22.5);
    CHECK(degree_days(10.0, 35.0, two) == 17.5);
    CHECK(degree_days(28.0, 35.0, one) == 25.0);
    CHECK(degree_days(28.0, 35.0, two) == 25.0);
}

TEST_CASE("over hours the same two methods limit the mean of the hours or each hour") {
    std::array<double, 24> hours{};
    for (std::size_t h = 0; h < 24; ++h) hours[h] = h < 6 ? -8.0 : 4.0;  // mean 1, above the base 3
    CHECK(degree_days(hours, method_1) == Approx(1.0).epsilon(1e-14));
    CHECK(degree_days(hours, method_2) == Approx(3.0).epsilon(1e-14));
}

TEST_CASE("the words of a rule name method and base and cap") {
    CHECK_THAT(in_words(method_1), Contains("method 1 of McMaster & Wilhelm (1997)") && Contains("base 0 degC"));
    CHECK_THAT(in_words({DegreeDayMethod::values_limited, 4.76, 30.0}),
               Contains("method 2") && Contains("base 4.76 degC") && Contains("cap 30 degC"));
}

TEST_CASE("a sum of degree days names its method and says what was summed") {
    const auto temperatures = tests::made_temperatures(first_of_march, 31, [](LocalDay) { return 10.0; });
    const DegreeDaySum sum = sum_degree_days(temperatures, days_of_march(1, 10), method_1);
    CHECK(sum.likely == Approx(100.0));
    CHECK(sum.low == sum.likely);
    CHECK(sum.high == sum.likely);
    CHECK_THAT(sum.method, Contains("method 1") && Contains("daily minima and maxima"));
    HourlySeries hours = tests::made_hours(first_of_march, 10, [](int, int hour) {
        return HourlyWeather{hour < 12 ? -2.0 : 6.0, 80.0, 0.0, 0.0};
    });
    const StationDays station(hours);
    const auto of_hours = TemperatureDays::from_hours({&station, {}});
    const DegreeDaySum by_1 = sum_degree_days(of_hours, days_of_march(1, 10), method_1);
    const DegreeDaySum by_2 = sum_degree_days(of_hours, days_of_march(1, 10), method_2);
    CHECK(by_1.likely == Approx(20.0));
    CHECK(by_2.likely == Approx(30.0));
    CHECK_THAT(by_2.method, Contains("method 2") && Contains("hourly temperatures"));
}

TEST_CASE("missing days leave a sum open from the coldest to the warmest of their neighbours") {
    auto days = tests::made_extremes(first_of_march, 31, [](LocalDay day) {
        return static_cast<double>((day - first_of_march).count());  // 0 on the first, 30 on the last
    });
    days[15].minimum_degc = HourlySeries::missing;  // the 16th: neighbours have means of 12 to 18
    const auto temperatures = TemperatureDays::from_extremes(days);
    const DegreeDaySum sum = sum_degree_days(temperatures, days_of_march(11, 20), method_1);
    const double seen = 10.0 + 11.0 + 12.0 + 13.0 + 14.0 + 16.0 + 17.0 + 18.0 + 19.0;
    CHECK(sum.low == Approx(seen + 12.0));
    CHECK(sum.likely == Approx(seen + 15.0));
    CHECK(sum.high == Approx(seen + 18.0));
    CHECK(sum.coverage.missing == 1);
    CHECK(sum.coverage.share() == Approx(0.9));
    days[16].maximum_degc = HourlySeries::missing;
    const DegreeDaySum fewer = sum_degree_days(TemperatureDays::from_extremes(days), days_of_march(11, 20), method_1);
    CHECK_FALSE(fewer.likely.has_value());  // 8 of 10 days
    CHECK(*fewer.high > *fewer.low);
    CHECK(fewer.coverage.longest_gap == 2);
}

TEST_CASE("a sum that reaches beyond the weather is none") {
    const auto temperatures = tests::made_temperatures(first_of_march, 20, [](LocalDay) { return 10.0; });
    const DegreeDaySum sum = sum_degree_days(temperatures, days_of_march(1, 21), method_2);
    CHECK_FALSE(sum.likely.has_value());
    CHECK_FALSE(sum.high.has_value());
    CHECK(sum.coverage.beyond == 1);
    CHECK_FALSE(sum_degree_days({}, days_of_march(1, 2), method_2).likely.has_value());
}

TEST_CASE("hours that are missing from a day leave its mean open and too many take the day away") {
    HourlySeries hours = tests::made_hours(first_of_march, 5, [](int day, int hour) {
        return HourlyWeather{10.0 + day + (hour < 12 ? -4.0 : 4.0), 80.0, 5.0, 0.0};
    });
    const StationDays complete(hours);
    const LocalDay third = first_of_march + std::chrono::days(2);
    CHECK(TemperatureDays::from_hours({&complete, {}}).mean_degc(third)->likely == Approx(12.0));
    for (std::size_t h = 0; h < 6; ++h) tests::forget_hour(hours, 48 + h);
    const StationDays partly(hours);
    const DayRange mean = *TemperatureDays::from_hours({&partly, {}}).mean_degc(third);
    CHECK(mean.likely == Approx((6 * 8.0 + 12 * 16.0) / 18.0));
    CHECK(mean.low == Approx((6 * 7.0 + 6 * 8.0 + 12 * 16.0) / 24.0));    // the day before had 7 degC
    CHECK(mean.high == Approx((6 * 17.0 + 6 * 8.0 + 12 * 16.0) / 24.0));  // the day after 17
    CHECK(mean.low < 12.0);
    CHECK(mean.high > 12.0);
    tests::forget_hour(hours, 48 + 6);
    const StationDays hardly(hours);
    const auto without = TemperatureDays::from_hours({&hardly, {}});
    CHECK_FALSE(without.day(third)->seen());
    CHECK(without.mean_degc(third)->low == Approx(10.0));
    CHECK(without.mean_degc(third)->high == Approx(14.0));
}

TEST_CASE("weather after the day it is known by changes nothing") {
    const auto warm_later = [](double later) {
        return tests::made_temperatures(first_of_march, 60,
                                        [later](LocalDay day) { return day <= day_of(2022, 3, 20) ? 10.0 : later; });
    };
    auto gap = tests::made_extremes(first_of_march, 60, [](LocalDay) { return 10.0; });
    gap[18].minimum_degc = HourlySeries::missing;
    for (std::size_t i = 20; i < gap.size(); ++i) gap[i].maximum_degc += 15.0;
    const auto known = TemperatureDays::from_extremes(gap).until(day_of(2022, 3, 20));
    CHECK(known.mean_degc(day_of(2022, 3, 19))->high == 10.0);
    CHECK(known.day(day_of(2022, 3, 21)) == nullptr);
    const DayWindow march = days_of_march(1, 20);
    CHECK(sum_degree_days(warm_later(30.0).until(march.last), march, method_2).likely ==
          sum_degree_days(warm_later(-5.0).until(march.last), march, method_2).likely);
}

TEST_CASE("impossible temperatures and rules are refused in words") {
    CHECK_THROWS_WITH(degree_days(9.0, 8.0, method_1), Contains("the minimum of 9 degC lies above the maximum of 8"));
    CHECK_THROWS_WITH(degree_days(NAN, 8.0, method_1), Contains("has no degree days"));
    CHECK_THROWS_WITH(degree_days(std::span<const double>{}, method_1), Contains("has no degree days"));
    CHECK_THROWS_WITH(degree_days(1.0, 8.0, {DegreeDayMethod::mean_limited, 10.0, 10.0}),
                      Contains("the cap of 10 degC is not above the base of 10 degC"));
    CHECK_THROWS_WITH(degree_days(1.0, 8.0, {DegreeDayMethod::mean_limited, NAN, {}}), Contains("not a number"));
    using Days = std::vector<DayExtremes>;
    CHECK_THROWS_WITH(TemperatureDays::from_extremes(Days{{first_of_march, 59.0, 77.0}}),
                      Contains("2022-03-01") && Contains("77 degC is not possible"));
    CHECK_THROWS_WITH(TemperatureDays::from_extremes(Days{{first_of_march, 9.0, 7.0}}), Contains("which column"));
    CHECK_THROWS_WITH(TemperatureDays::from_extremes(Days{{first_of_march, 1.0, 7.0}, {first_of_march, 1.0, 7.0}}),
                      Contains("a day comes twice"));
    CHECK_THROWS_WITH(TemperatureDays::from_extremes(
                          Days{{first_of_march, 1.0, 7.0}, {first_of_march - std::chrono::days(1), 1.0, 7.0}}),
                      Contains("after a later one"));
}
