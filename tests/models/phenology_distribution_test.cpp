#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/phenology/day_distribution.h"

using namespace models;
using std::chrono::days;

namespace {

const LocalDay june = day_of(2022, 6, 1);

double sum_of(const DayDistribution& law) {
    return std::accumulate(law.chance.begin(), law.chance.end(), 0.0);
}

}  // namespace

TEST_CASE("a normal law over days adds up to one and keeps its centre and sd") {
    for (const double sd : {0.8, 1.0, 3.0, 4.3, 12.5}) {
        const DayDistribution law = normal_days(june, sd);
        INFO(sd);
        CHECK(sum_of(law) == Approx(1.0).epsilon(1e-14));
        CHECK(law.most_likely() == june);
        CHECK(law.sd_days() == Approx(sd).epsilon(1e-4));  // sampled at whole days: exact but for narrow laws
        CHECK(law.at(june + days(2)) == Approx(law.at(june - days(2))));
    }
    const DayDistribution one = normal_days(june, 0.0);
    CHECK(one.chance == std::vector<double>{1.0});
    CHECK(one.at(june) == 1.0);
    CHECK(one.at(june + days(1)) == 0.0);
}

TEST_CASE("a law spread evenly has the chances of two dice") {
    // From one day, spread by 0 to 5 days twice: the sums of two dice less two.
    const DayDistribution dice = spread_evenly(spread_evenly(normal_days(june, 0.0), 0, 5), 0, 5);
    REQUIRE(dice.chance.size() == 11);
    CHECK(dice.at(june) == Approx(1.0 / 36.0));
    CHECK(dice.at(june + days(5)) == Approx(6.0 / 36.0));
    CHECK(dice.most_likely() == june + days(5));
    CHECK(dice.sd_days() == Approx(std::sqrt(35.0 / 6.0)));
    CHECK(sum_of(dice) == Approx(1.0));
}

TEST_CASE("a mixture holds each part as likely as the others") {
    const DayDistribution two = mixture_of({normal_days(june, 0.0), normal_days(june + days(4), 0.0)});
    CHECK(two.at(june) == 0.5);
    CHECK(two.at(june + days(4)) == 0.5);
    CHECK(two.sd_days() == Approx(2.0));
    CHECK(two.most_likely() == june);
    CHECK(mixture_of({}).empty());
}

TEST_CASE("tails that hold next to nothing are left out and the rest still adds up to one") {
    const DayDistribution law = without_tails(normal_days(june, 3.0), 0.0005);
    CHECK(sum_of(law) == Approx(1.0).epsilon(1e-14));
    // phi(10/3) / 3 = 0.00051 is the chance of the tenth day alone; that of all days beyond is 0.0002.
    CHECK(law.chance.size() == 21);
    CHECK((law.day(10) == june));
    CHECK(law.sd_days() == Approx(3.0).epsilon(0.01));
    CHECK(without_tails(normal_days(june, 0.0), 0.0005).chance.size() == 1);
}

TEST_CASE("a risk is averaged over the days by their chances") {
    const DayDistribution law{june, {0.25, 0.5, 0.25}};
    const auto rising = [](LocalDay day) -> std::optional<double> {
        return 0.1 * static_cast<double>((day - june).count());
    };
    const AveragedRisk risk = averaged_over(law, rising);
    CHECK(*risk.mean == Approx(0.1));
    CHECK(*risk.low == 0.0);
    CHECK(*risk.high == Approx(0.2));
    CHECK(risk.covered == Approx(1.0));
    const auto same = averaged_over(normal_days(june, 4.0), [](LocalDay) { return 0.3; });
    CHECK(*same.mean == Approx(0.3));
    CHECK(*same.low == 0.3);
    CHECK(*same.high == 0.3);
}

TEST_CASE("low and high leave out five in a hundred at either end") {
    const DayDistribution law{june, std::vector<double>(100, 0.01)};
    const AveragedRisk risk = averaged_over(law, [](LocalDay day) -> std::optional<double> {
        return static_cast<double>((day - june).count() * 37 % 100 + 1);  // 1 to 100, in no order
    });
    CHECK(*risk.low == 5.0);
    CHECK(*risk.high == 95.0);
    CHECK(*risk.mean == Approx(50.5));
}

TEST_CASE("days without a risk are counted as not covered and never as none") {
    const DayDistribution law{june, {0.25, 0.5, 0.25}};
    const auto only_first = [](LocalDay day) -> std::optional<double> {
        if (day == june + days(1)) return std::nullopt;
        return day == june ? 0.8 : std::nan("");
    };
    const AveragedRisk risk = averaged_over(law, only_first);
    CHECK(*risk.mean == Approx(0.8));
    CHECK(risk.covered == Approx(0.25));
    const AveragedRisk nothing = averaged_over(law, [](LocalDay) { return std::optional<double>(); });
    CHECK_FALSE(nothing.mean.has_value());
    CHECK_FALSE(nothing.low.has_value());
    CHECK(nothing.covered == 0.0);
    CHECK_FALSE(averaged_over(DayDistribution{}, only_first).mean.has_value());
}

TEST_CASE("an sd or a spread that is none is refused") {
    CHECK_THROWS_WITH(normal_days(june, -1.0), Catch::Matchers::Contains("no standard deviation"));
    CHECK_THROWS_AS(normal_days(june, std::nan("")), Error);
    CHECK_THROWS_WITH(spread_evenly(normal_days(june, 1.0), -1, 2), Catch::Matchers::Contains("negative"));
}

TEST_CASE("a normal shift adds its variance to a date and leaves its mean") {
    const DayDistribution date{day_of(2026, 6, 1), {0.2, 0.5, 0.0, 0.3}};
    const DayDistribution shifted = spread_normally(date, 2.0);
    const auto offset = static_cast<double>((shifted.first - date.first).count());
    CHECK(shifted.mean_days() + offset == Approx(date.mean_days()));
    CHECK(shifted.sd_days() == Approx(std::hypot(date.sd_days(), normal_days(date.first, 2.0).sd_days())));
    CHECK(spread_normally(date, 0.0).chance == date.chance);
    CHECK(spread_normally({}, 2.0).empty());
    CHECK_THROWS_WITH(spread_normally(date, -1.0), Catch::Contains("no standard deviation"));
}
