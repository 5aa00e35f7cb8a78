#include <cmath>
#include <numeric>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/phenology/flowering.h"
#include "models/phenology/winter_wheat.h"
#include "tests/models/phenology_weather.h"
#include "tests/support/made_weather.h"
#include "tests/support/shared_data.h"

using namespace models;
using Catch::Matchers::Contains;
using std::chrono::days;

namespace {

const LocalDay sown = day_of(2021, 10, 20);

CropRecord winter_crop() {
    CropRecord crop;
    crop.field = "F1";
    crop.season = 2022;
    crop.wheat_type = WheatType::winter;
    return crop;
}

FloweringOptions at_home() {
    FloweringOptions options;
    options.latitude_deg = 35.7;
    options.longitude_deg = -78.5;
    return options;
}

/// A winter with warm and cold spells.
std::vector<DayExtremes> carolina() {
    const LocalDay first = day_of(2021, 9, 1);
    const auto year = tests::seasons(14.0, 9.5, day_of(2022, 7, 20));
    return tests::made_extremes(first, 300, [&](LocalDay day) {
        const auto n = static_cast<double>((day - first).count());
        return year(day) + 3.0 * std::sin(0.9 * n) + 3.0 * std::sin(0.37 * n);
    });
}

TemperatureDays carolina_seen() {
    return TemperatureDays::from_extremes(carolina());
}

/// Forgets days, the first counted from the start of the weather.
TemperatureDays carolina_without(int first, int count, int step = 1) {
    auto given = carolina();
    for (int n = 0; n < count; ++n)
        given[static_cast<std::size_t>(first + n * step)].maximum_degc = HourlySeries::missing;
    return TemperatureDays::from_extremes(given);
}

double total_of(const DayDistribution& law) {
    return std::accumulate(law.chance.begin(), law.chance.end(), 0.0);
}

std::string joined(const std::vector<std::string>& sentences) {
    std::string all;
    for (const std::string& sentence : sentences) all += sentence + "\n";
    return all;
}

}  // namespace

TEST_CASE("an observed date is taken with the sd of an observation and an estimated one with more") {
    CropRecord crop = winter_crop();
    crop.flowering_date = day_of(2022, 4, 24);
    crop.heading_date = day_of(2022, 4, 12);
    crop.flowering_source = FloweringSource::observed;
    const FloweringEstimate observed = estimate_flowering(crop, nullptr);
    CHECK(observed.basis == FloweringBasis::observed);
    CHECK(observed.most_likely == day_of(2022, 4, 24));
    CHECK(observed.sd_days == Approx(1.0).epsilon(0.02));
    CHECK_THAT(observed.method, Contains("observed"));
    crop.flowering_source = FloweringSource::estimated;
    const FloweringEstimate estimated = estimate_flowering(crop, nullptr);
    CHECK(estimated.basis == FloweringBasis::estimated_by_hand);
    CHECK(estimated.sd_days == Approx(3.0).epsilon(0.02));
    crop.flowering_source.reset();
    const FloweringEstimate not_said = estimate_flowering(crop, nullptr);
    CHECK(not_said.basis == FloweringBasis::estimated_by_hand);
    CHECK(not_said.days.chance == estimated.days.chance);
    CHECK_THAT(joined(not_said.missing), Contains("whether the flowering date was observed"));
}

TEST_CASE("where only the first day of flowering is written it is the flowering date of any crop") {
    CropRecord crop = winter_crop();
    crop.crop = Crop::barley;
    crop.flowering_start = day_of(2022, 5, 2);
    crop.flowering_source = FloweringSource::observed;
    const FloweringEstimate estimate = estimate_flowering(crop, nullptr);
    CHECK(estimate.most_likely == day_of(2022, 5, 2));
    CHECK_THAT(estimate.method, Contains("its first day"));
}

TEST_CASE("from heading the flowering date is five days later with an sd of three") {
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    crop.heading_date = day_of(2022, 4, 19);
    const FloweringEstimate estimate = estimate_flowering(crop, nullptr, at_home());
    CHECK(estimate.basis == FloweringBasis::heading);
    CHECK(estimate.most_likely == day_of(2022, 4, 24));
    CHECK(estimate.model_sd_days == 3.0);
    CHECK(estimate.sd_days == Approx(3.0).epsilon(0.01));
    CHECK(total_of(estimate.days) == Approx(1.0));
    CHECK_THAT(estimate.method, Contains("heading on 2022-04-19 + 5 days"));
    CHECK_THAT(joined(estimate.notes), Contains("without a source"));
    FloweringOptions cool = at_home();
    cool.heading_to_flowering_days = 9;
    cool.heading_interval_sd_days = 2.0;
    CHECK(estimate_flowering(crop, nullptr, cool).most_likely == day_of(2022, 4, 28));
    CHECK(estimate_flowering(crop, nullptr, cool).sd_days == Approx(2.0).epsilon(0.02));
}

TEST_CASE("from sowing winter wheat flowers on the scheme's day with the scheme's error") {
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    const TemperatureDays temperatures = carolina_seen();
    const FloweringEstimate estimate = estimate_flowering(crop, &temperatures, at_home());
    CHECK(estimate.basis == FloweringBasis::sowing);
    CHECK(estimate.most_likely == follow_winter_wheat(temperatures, sown, 35.7).flowering);
    CHECK(estimate.sd_days == Approx(winter_wheat_error_sd_days).epsilon(0.01));
    CHECK(estimate.model_sd_days == winter_wheat_error_sd_days);
    CHECK(estimate.weather_sd_days == 0.0);
    CHECK(estimate.sowing_sd_days == 0.0);
    CHECK_FALSE(estimate.extrapolated);
    CHECK(total_of(estimate.days) == Approx(1.0).epsilon(1e-14));
    CHECK_THAT(estimate.method, Contains("sowing on 2021-10-20") && Contains("Forsythe et al. 1995"));
    REQUIRE(estimate.stages.size() == 5);
    CHECK(estimate.stages.front().stage == "sowing");
    CHECK(estimate.stages.back().stage == "flowering");
    CHECK(estimate.stages.back().day == *estimate.most_likely);
    for (std::size_t i = 1; i < estimate.stages.size(); ++i)
        CHECK(estimate.stages[i - 1].day <= estimate.stages[i].day);
    REQUIRE(estimate.days_earlier_if_warmer.has_value());
    CHECK(*estimate.days_earlier_if_warmer > 2.0);
}

TEST_CASE("away from home the error of a scheme is doubled and the estimate says so") {
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    const TemperatureDays temperatures = carolina_seen();
    FloweringOptions far = at_home();
    far.longitude_deg = 11.0;
    const FloweringEstimate abroad = estimate_flowering(crop, &temperatures, far);
    CHECK(abroad.extrapolated);
    CHECK(abroad.sd_days == Approx(2.0 * winter_wheat_error_sd_days).epsilon(0.01));
    CHECK_THAT(joined(abroad.notes), Contains("outside the region of the scheme (North Carolina"));
    crop.sowing_date = day_of(2021, 9, 20);
    const FloweringEstimate early = estimate_flowering(crop, &temperatures, at_home());
    CHECK(early.extrapolated);
    CHECK_THAT(joined(early.notes), Contains("10 to 30 October"));
    crop.sowing_date = sown;
    crop.crop = Crop::durum;
    CHECK(estimate_flowering(crop, &temperatures, at_home()).extrapolated);
}

TEST_CASE("a southern crop sown and harvested in other years than a northern one is estimated") {
    const LocalDay sown_south = day_of(2021, 6, 10);
    const auto temperatures =
        tests::made_temperatures(day_of(2021, 5, 1), 300, tests::seasons(14.0, 7.0, day_of(2022, 1, 20)));
    CropRecord crop = winter_crop();
    crop.sowing_date = sown_south;
    FloweringOptions options;
    options.latitude_deg = -37.0;
    options.longitude_deg = -59.0;
    for (const int season : {2021, 2022}) {
        crop.season = season;
        const FloweringEstimate estimate = estimate_flowering(crop, &temperatures, options);
        REQUIRE(estimate.most_likely.has_value());
        INFO(to_text(*estimate.most_likely));
        CHECK(*estimate.most_likely > day_of(2021, 9, 15));
        CHECK(*estimate.most_likely < day_of(2021, 12, 31));
        CHECK(estimate.extrapolated);
    }
}

TEST_CASE("missing days widen the estimate and are never filled in without a word") {
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    const TemperatureDays complete = carolina_seen();
    const FloweringEstimate seen = estimate_flowering(crop, &complete, at_home());
    const TemperatureDays gaps = carolina_without(190, 8, 5);  // eight days of March and April
    const FloweringEstimate estimate = estimate_flowering(crop, &gaps, at_home());
    REQUIRE(estimate.most_likely.has_value());
    CHECK(estimate.weather.missing == 8);
    CHECK(estimate.weather_sd_days > 0.0);
    CHECK(estimate.sd_days > seen.sd_days);
    CHECK(estimate.sd_days == Approx(std::hypot(estimate.model_sd_days, estimate.weather_sd_days)).epsilon(0.01));
    CHECK(std::abs((*estimate.most_likely - *seen.most_likely).count()) <= 1);
    CHECK_THAT(joined(estimate.missing), Contains("temperatures of 8 of"));
    CHECK_THAT(joined(estimate.notes), Contains("count as the mean of the days around"));
    CHECK(total_of(estimate.days) == Approx(1.0));
}

TEST_CASE("too many missing days give no estimate and the reason") {
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    const TemperatureDays many = carolina_without(60, 30, 5);
    const FloweringEstimate few_days = estimate_flowering(crop, &many, at_home());
    CHECK_FALSE(few_days.most_likely.has_value());
    CHECK(few_days.days.empty());
    CHECK(few_days.basis == FloweringBasis::none);
    CHECK_THAT(joined(few_days.missing), Contains("have no temperature") && Contains("at least 90 %"));
    const TemperatureDays one_gap = carolina_without(100, 11);
    const FloweringEstimate long_gap = estimate_flowering(crop, &one_gap, at_home());
    CHECK_FALSE(long_gap.most_likely.has_value());
    CHECK_THAT(joined(long_gap.missing), Contains("11 days in a row") && Contains("no more than 10"));
    const TemperatureDays ten = carolina_without(100, 10);
    CHECK(estimate_flowering(crop, &ten, at_home()).most_likely.has_value());
}

TEST_CASE("weather that starts after sowing or ends before flowering gives no estimate and the reason") {
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    const TemperatureDays spring =
        tests::made_temperatures(day_of(2022, 1, 1), 200, tests::seasons(15.0, 9.5, day_of(2022, 7, 20)));
    const FloweringEstimate late = estimate_flowering(crop, &spring, at_home());
    CHECK_FALSE(late.most_likely.has_value());
    CHECK_THAT(joined(late.missing), Contains("from sowing on 2021-10-20: the weather goes from 2022-01-01"));
    const TemperatureDays complete = carolina_seen();
    FloweringOptions in_march = at_home();
    in_march.as_of = day_of(2022, 3, 10);
    const FloweringEstimate early = estimate_flowering(crop, &complete, in_march);
    CHECK_FALSE(early.most_likely.has_value());
    CHECK_THAT(joined(early.missing), Contains("had not come to flowering by 2022-03-10") && Contains("of 500"));
    CHECK_FALSE(estimate_flowering(crop, nullptr, at_home()).most_likely.has_value());
}

TEST_CASE("an estimate as of a day knows no date that was written later") {
    CropRecord crop = winter_crop();
    crop.heading_date = day_of(2022, 4, 19);
    crop.flowering_date = day_of(2022, 4, 26);
    crop.flowering_source = FloweringSource::observed;
    FloweringOptions options = at_home();
    CHECK(estimate_flowering(crop, nullptr, options).basis == FloweringBasis::observed);
    options.as_of = day_of(2022, 4, 21);
    CHECK(estimate_flowering(crop, nullptr, options).basis == FloweringBasis::heading);
    options.as_of = day_of(2022, 4, 18);
    CHECK(estimate_flowering(crop, nullptr, options).basis == FloweringBasis::none);
}

TEST_CASE("a sowing date known only between two days widens the estimate") {
    CropRecord crop = winter_crop();
    FloweringOptions options = at_home();
    options.sowing_between = DayWindow{day_of(2021, 11, 20), day_of(2021, 12, 31)};
    const TemperatureDays temperatures = carolina_seen();
    const FloweringEstimate estimate = estimate_flowering(crop, &temperatures, options);
    REQUIRE(estimate.most_likely.has_value());
    CHECK(estimate.sowing_sd_days > 0.0);
    CHECK(estimate.sd_days == Approx(std::hypot(estimate.model_sd_days, estimate.sowing_sd_days)).epsilon(0.01));
    CHECK(*estimate.most_likely >= follow_winter_wheat(temperatures, day_of(2021, 11, 20), 35.7).flowering);
    CHECK(*estimate.most_likely <= follow_winter_wheat(temperatures, day_of(2021, 12, 31), 35.7).flowering);
    CHECK_THAT(joined(estimate.missing), Contains("the sowing date"));
    crop.sowing_date = sown;
    CHECK(estimate_flowering(crop, &temperatures, options).sowing_sd_days == 0.0);
}

TEST_CASE("where nothing is written there is no estimate and it is said what would be needed") {
    const TemperatureDays temperatures = carolina_seen();
    const FloweringEstimate nothing = estimate_flowering(winter_crop(), &temperatures, at_home());
    CHECK(nothing.basis == FloweringBasis::none);
    CHECK_FALSE(nothing.most_likely.has_value());
    CHECK(nothing.missing == std::vector<std::string>{"the flowering, heading or sowing date"});
    CropRecord crop = winter_crop();
    crop.sowing_date = sown;
    CHECK_THAT(joined(estimate_flowering(crop, &temperatures).missing), Contains("the latitude of the field"));
    crop.wheat_type.reset();
    CHECK_THAT(joined(estimate_flowering(crop, &temperatures, at_home()).missing), Contains("winter or spring wheat"));
    crop.crop = Crop::rye;
    crop.heading_date = day_of(2022, 4, 19);
    const FloweringEstimate rye = estimate_flowering(crop, &temperatures, at_home());
    CHECK_FALSE(rye.most_likely.has_value());
    CHECK_THAT(joined(rye.notes), Contains("no model for rye"));
}

TEST_CASE("spring wheat needs figures of its own or leave to use unconfirmed ones") {
    CropRecord crop = winter_crop();
    crop.wheat_type = WheatType::spring;
    crop.sowing_date = day_of(2022, 5, 10);
    const TemperatureDays temperatures =
        tests::made_temperatures(day_of(2022, 5, 1), 150, [](LocalDay) { return 16.0; });
    FloweringOptions options;
    options.latitude_deg = 52.0;
    options.longitude_deg = -106.0;
    CHECK_THAT(joined(estimate_flowering(crop, &temperatures, options).missing), Contains("unconfirmed"));
    options.include_unconfirmed = true;
    const FloweringEstimate estimate = estimate_flowering(crop, &temperatures, options);
    REQUIRE(estimate.most_likely.has_value());
    CHECK(*estimate.most_likely == day_of(2022, 7, 2));  // 854 / 16: the 54th day
    CHECK(estimate.unconfirmed);
    CHECK_THAT(estimate.method, Contains("(unconfirmed)") && Contains("method 1 of McMaster & Wilhelm (1997)"));
    // The 51st to the 57th day, evenly, and an error of 3 days.
    CHECK(estimate.model_sd_days == Approx(std::sqrt(9.0 + 48.0 / 12.0)));
    CHECK(estimate.sd_days == Approx(estimate.model_sd_days).epsilon(0.01));
    FloweringOptions own = options;
    own.include_unconfirmed = false;
    own.scheme = ThermalScheme{"own",
                               "own trials",
                               DegreeDayMethod::values_limited,
                               {{"emergence", 2.1, {}, 100.0, 100.0}, {"flowering", 8.44, {}, 300.0, 300.0}},
                               2.5,
                               true,
                               {}};
    const FloweringEstimate by_own = estimate_flowering(crop, &temperatures, own);
    REQUIRE(by_own.most_likely.has_value());
    CHECK_FALSE(by_own.unconfirmed);
    CHECK_FALSE(by_own.extrapolated);
    CHECK(by_own.sd_days == Approx(2.5).epsilon(0.01));
    REQUIRE(by_own.stages.size() == 3);
    CHECK(by_own.stages[1].stage == "emergence");
    CHECK_THAT(by_own.method, Contains("method 2") && Contains("8.44 degC"));
}

TEST_CASE("the loggers that started in February cannot tell when wheat sown in October flowered") {
    NEEDS_SHARED_DATA(shared);
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const StationDays station(tests::logger_hours(hourly, "CL22"));
    const auto temperatures = TemperatureDays::from_hours({&station, {}});
    CHECK(temperatures.of_hours());
    CropRecord crop = winter_crop();
    crop.sowing_date = day_of(2021, 10, 10);
    const FloweringEstimate estimate = estimate_flowering(crop, &temperatures, at_home());
    CHECK_FALSE(estimate.most_likely.has_value());
    CHECK_THAT(joined(estimate.missing), Contains("the weather goes from 2022-02-04"));
}

TEST_CASE("a risk is averaged over the dates of an estimate") {
    CropRecord crop = winter_crop();
    crop.heading_date = day_of(2022, 4, 19);
    const FloweringEstimate estimate = estimate_flowering(crop, nullptr);
    const LocalDay centre = day_of(2022, 4, 24);
    const AveragedRisk risk = averaged_over(estimate, [&](LocalDay day) -> std::optional<double> {
        return 0.5 + 0.01 * static_cast<double>((day - centre).count());
    });
    CHECK(*risk.mean == Approx(0.5));
    CHECK(*risk.low == Approx(0.45));  // 1.645 x 3 days = 4.9 days
    CHECK(*risk.high == Approx(0.55));
    CHECK(risk.covered == Approx(1.0));
    CHECK_FALSE(averaged_over(FloweringEstimate{}, [](LocalDay) { return 0.5; }).mean.has_value());
}

TEST_CASE("crop records that contradict themselves are refused in words") {
    CropRecord crop = winter_crop();
    crop.part = "west";
    crop.sowing_date = sown;
    crop.heading_date = day_of(2021, 10, 1);
    CHECK_THROWS_WITH(estimate_flowering(crop, nullptr),
                      Contains("crops, field F1, part west, season 2022") &&
                          Contains("sowing on 2021-10-20 comes after heading on 2021-10-01"));
    crop.heading_date = day_of(2022, 4, 25);
    crop.flowering_date = day_of(2022, 4, 20);
    CHECK_THROWS_WITH(estimate_flowering(crop, nullptr), Contains("heading on 2022-04-25 comes after flowering"));
    crop.heading_date.reset();
    crop.flowering_date = sown + days(10);
    CHECK_THROWS_WITH(estimate_flowering(crop, nullptr), Contains("is 10 days after sowing"));
    crop.flowering_date = sown + days(450);
    CHECK_THROWS_WITH(estimate_flowering(crop, nullptr), Contains("is 450 days after sowing"));
    crop.flowering_date.reset();
    crop.sowing_date = day_of(2019, 10, 20);
    CHECK_THROWS_WITH(estimate_flowering(crop, nullptr), Contains("more than a year from the season"));
}

TEST_CASE("options that are none are refused") {
    const auto refuses = [](const std::function<void(FloweringOptions&)>& spoil, const char* words) {
        FloweringOptions options = at_home();
        spoil(options);
        CHECK_THROWS_WITH(estimate_flowering(winter_crop(), nullptr, options), Contains(words));
    };
    refuses([](FloweringOptions& o) { o.latitude_deg = 95.0; }, "95 is no latitude");
    refuses([](FloweringOptions& o) { o.longitude_deg = NAN; }, "no longitude");
    refuses([](FloweringOptions& o) { o.observed_sd_days = -1.0; }, "standard deviation of an observed date");
    refuses([](FloweringOptions& o) { o.heading_to_flowering_days = -2; }, "days from heading to flowering");
    refuses([](FloweringOptions& o) { o.error_factor_away_from_home = 0.5; }, "factor on a scheme's error");
    refuses([](FloweringOptions& o) { o.sowing_between = DayWindow{sown, sown - days(1)}; }, "swap the two days");
    refuses([](FloweringOptions& o) { o.sowing_between = DayWindow{sown, sown + days(200)}; }, "says nothing");
    refuses([](FloweringOptions& o) { o.scheme = ThermalScheme{}; }, "it has no phase");
    refuses(
        [](FloweringOptions& o) {
            o.scheme = ThermalScheme{};
            o.scheme->phases = {{"flowering", 0.0, {}, 900.0, 800.0}};
        },
        "needs 900 to 800 degree days");
}
