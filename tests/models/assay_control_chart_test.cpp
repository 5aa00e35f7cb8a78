#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/control_chart.h"
#include "models/error.h"

namespace {

using models::ControlRule;
using models::Reading;

models::ControlSeries series_of(const std::vector<double>& contents, int a_day = 1) {
    models::ControlSeries series;
    series.control.control = "C1";
    series.control.assigned_mg_per_kg = 1.0;
    series.kit_lot = "K77";
    for (std::size_t i = 0; i < contents.size(); ++i) {
        models::Test test;
        test.test = "T" + std::to_string(i + 1);
        test.sample = "C1";
        test.kit_lot = "K77";
        test.don_mg_per_kg = contents[i];
        test.time = *models::parse_stamp("2026-08-01T09:00:00+02:00");
        test.time.utc += std::chrono::days(static_cast<int>(i) / a_day);
        series.readings.push_back({test, contents[i]});
    }
    return series;
}

/// A chart of which one standard deviation is 0.1 and the centre 1, on the scale as read.
models::ControlChart chart_of_sds(const std::vector<double>& sds, models::ControlRules rules = {}) {
    std::vector<double> contents;
    for (const double z : sds) contents.push_back(1.0 + 0.1 * z);
    models::ChartSettings settings;
    settings.logarithm = false;
    settings.stated_cv = 0.1;
    settings.rules = rules;
    return models::control_chart(series_of(contents), settings);
}

std::vector<std::size_t> breaking(const models::ControlChart& chart, ControlRule rule) {
    std::vector<std::size_t> points;
    for (std::size_t i = 0; i < chart.points.size(); ++i) {
        for (const ControlRule broken : chart.points[i].broken) {
            if (broken == rule) points.push_back(i);
        }
    }
    return points;
}

double normal_cdf(double x) {
    return 0.5 * std::erfc(-x / std::sqrt(2.0));
}

/// Moments of the range of n standard normal values: P(range <= w) = n int phi(x) (F(x + w) - F(x))^(n-1) dx.
std::pair<double, double> range_moments(int n) {
    const double step = 0.05;
    double mean = 0.0, square = 0.0;
    for (int k = 0; k <= 240; ++k) {  // Simpson's rule in w
        const double w = step * k, weight = (k == 0 || k == 240 ? 1.0 : k % 2 == 1 ? 4.0 : 2.0) * step / 3.0;
        double below = 0.0;
        for (double x = -9.0; x < 9.0; x += step) {
            below += std::exp(-0.5 * x * x) / std::sqrt(2.0 * M_PI) *
                     std::pow(normal_cdf(x + w) - normal_cdf(x), n - 1) * step;
        }
        mean += (1.0 - n * below) * weight;
        square += 2.0 * w * (1.0 - n * below) * weight;
    }
    return {mean, std::sqrt(square - mean * mean)};
}

// Michelson (1882), speed of light less 299 000 km/s: `morley` of R's datasets package, 5 experiments of 20 runs.
const std::vector<double> experiment_1 = {850,  740, 900, 1070, 930, 850, 950,  980,  980, 880,
                                          1000, 980, 930, 650,  760, 810, 1000, 1000, 960, 960};

}  // namespace

TEST_CASE("the constants of charts are the moments of a range that integration gives") {
    for (int n = 2; n <= 10; ++n) {
        const models::ChartConstants constants = models::chart_constants(n);
        const auto [mean, sd] = range_moments(n);
        CHECK(constants.d2 == Approx(mean).margin(1e-6).epsilon(0.0));
        CHECK(constants.d3 == Approx(sd).margin(1e-6).epsilon(0.0));
    }
    // n, d2, d3, c4, A2, D3, D4 to four decimals. d2 and d3 by R 4.2:
    //   f <- function(w) integrate(function(x) n*dnorm(x)*(pnorm(x+w)-pnorm(x))^(n-1), -9, 9, rel.tol = 1e-12)$value
    //   d2 <- integrate(Vectorize(function(w) 1-f(w)), 0, 12)$value
    //   d3 <- sqrt(2*integrate(Vectorize(function(w) w*(1-f(w))), 0, 12)$value - d2^2)
    // c4 = sqrt(2/(n-1)) gamma(n/2)/gamma((n-1)/2), the others from these. Rounded to three decimals they are those of
    // ISO 7870-2, table 2; of D4 for n = 3 and 5, which lie half way, tables in print have both neighbours.
    const double computed[][7] = {{2, 1.1284, 0.8525, 0.7979, 1.8800, 0, 3.2665},
                                  {3, 1.6926, 0.8884, 0.8862, 1.0233, 0, 2.5746},
                                  {4, 2.0588, 0.8798, 0.9213, 0.7286, 0, 2.2821},
                                  {5, 2.3259, 0.8641, 0.9400, 0.5768, 0, 2.1145},
                                  {6, 2.5344, 0.8480, 0.9515, 0.4832, 0, 2.0038}};
    for (const auto& row : computed) {
        const models::ChartConstants constants = models::chart_constants(static_cast<int>(row[0]));
        const double found[] = {constants.d2,   constants.d3,          constants.c4,
                                constants.a2(), constants.d3_factor(), constants.d4_factor()};
        for (int k = 0; k < 6; ++k) CHECK(found[k] == Approx(row[k + 1]).margin(6e-5).epsilon(0.0));
    }
    CHECK(models::chart_constants(7).d3_factor() ==
          Approx(0.076).margin(5e-4).epsilon(0.0));  // the table's first above 0
    CHECK_THROWS_WITH(models::chart_constants(1), Catch::Contains("a chart of 1 readings a point has no constants"));
    CHECK_THROWS_WITH(models::chart_constants(11), Catch::Contains("give 2 to 10"));
}

TEST_CASE("an individuals chart has the limits of the mean moving range") {
    models::ChartSettings settings;
    settings.logarithm = false;
    const models::ControlChart chart = models::control_chart(series_of(experiment_1), settings);
    REQUIRE(chart.limits);
    // R 4.2: m <- morley$Speed[morley$Expt==1]; mean(m); mean(abs(diff(m))); mean(abs(diff(m)))/1.128379
    CHECK(chart.limits->centre == Approx(909.0));
    CHECK(chart.limits->mean_range == Approx(92.10526316));
    CHECK(chart.limits->reading_sd == Approx(81.62617627).epsilon(1e-6));
    CHECK(chart.limits->range_high == Approx(3.2665 * 92.10526316).epsilon(1e-4));
    CHECK(chart.mg_per_kg_at(3.0) == Approx(909.0 + 3.0 * 81.62617627).epsilon(1e-6));
    CHECK_FALSE(chart.limits->provisional);
    CHECK(
        chart.says ==
        "limits from the first 20 of 20 readings of this kit lot that can set them; the centre line is 90900 % of the "
        "assigned content");
    // The fourteenth is 3.17 standard deviations low; from 930 to 650 the range 280 stays under its limit of 300.9.
    CHECK(breaking(chart, ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{13});
    CHECK(breaking(chart, ControlRule::range_too_wide).empty());
}

TEST_CASE("runs of equal numbers of readings make a chart of means and ranges") {
    // The first readings of the five experiments as the first run and so on; R: rowMeans and ranges of
    // matrix(morley$Speed, nrow = 20), first eight rows.
    const std::vector<double> runs = {850, 960,  880, 890, 890, 740, 940, 880, 810, 840, 900, 960, 880, 810,
                                      780, 1070, 940, 860, 820, 810, 930, 880, 720, 800, 760, 850, 800, 720,
                                      770, 810,  950, 850, 620, 760, 790, 980, 880, 860, 740, 810};
    models::ChartSettings settings;
    settings.logarithm = false;
    settings.points_for_limits = 8;
    const models::ControlChart chart = models::control_chart(series_of(runs, 5), settings);
    REQUIRE(chart.points.size() == 8);
    CHECK(chart.readings_a_point == 5);
    const double means[] = {894, 842, 866, 900, 818, 790, 794, 854};
    const double ranges[] = {110, 200, 180, 260, 210, 130, 330, 240};
    double mean = 0.0, range = 0.0;
    for (std::size_t i = 0; i < 8; ++i) {
        CHECK(chart.points[i].don_mg_per_kg == Approx(means[i]));
        CHECK(*chart.points[i].range == Approx(ranges[i]));
        mean += means[i] / 8.0;
        range += ranges[i] / 8.0;
    }
    // ISO 7870-2: mean of means +- A2 mean range, ranges up to D4 mean range; A2 0.577 and D4 2.114 of n = 5
    CHECK(chart.mg_per_kg_at(3.0) == Approx(mean + 0.5768 * range).epsilon(1e-4));
    CHECK(chart.mg_per_kg_at(-3.0) == Approx(mean - 0.5768 * range).epsilon(1e-4));
    CHECK(chart.limits->range_high == Approx(2.1145 * range).epsilon(1e-4));
    CHECK(chart.says ==
          "limits from the first 8 of 8 runs of this kit lot that can set them; the centre line is 84475 % of the "
          "assigned content");
}

TEST_CASE("one run with a reading less makes every reading a point") {
    std::vector<double> contents(15, 1.0);
    contents[3] = 1.1;
    CHECK(models::control_chart(series_of(contents, 2)).readings_a_point == 1);
    contents.push_back(1.05);
    CHECK(models::control_chart(series_of(contents, 2)).readings_a_point == 2);
}

TEST_CASE("under eight readings of a kit lot there are no limits yet and no rule is broken") {
    const std::vector<double> seven = {1.0, 1.1, 0.9, 1.0, 1.05, 0.95, 9.0};
    const models::ControlChart chart = models::control_chart(series_of(seven));
    CHECK_FALSE(chart.limits);
    CHECK(chart.says == "no limits yet: they take 8 readings of this kit lot");
    models::ControlSeries outside = series_of(seven);
    outside.control.high_mg_per_kg = 0.5;
    CHECK_THAT(models::control_chart(outside).says,
               Catch::EndsWith(" inside the range and what the control accepts, and none of these is"));
    for (const models::ChartPoint& point : chart.points) CHECK(point.broken.empty());
}

TEST_CASE("limits stay those of the first readings whatever comes later") {
    std::vector<double> contents;
    for (int i = 0; i < 20; ++i) contents.push_back(i % 2 == 0 ? 1.0 : 1.1);
    const auto before = models::control_chart(series_of(contents)).limits;
    for (int i = 0; i < 5; ++i) contents.push_back(2.0);
    const models::ControlChart after = models::control_chart(series_of(contents));
    CHECK(after.limits->centre == before->centre);
    CHECK(after.limits->reading_sd == before->reading_sd);
    CHECK(after.says ==
          "limits from the first 20 of 25 readings of this kit lot that can set them; the centre line is 105 % of the "
          "assigned content");
    CHECK(breaking(after, ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{20, 21, 22, 23, 24});
}

TEST_CASE("a drift does not move the provisional limits that show it nor turns good past days bad") {
    const std::vector<double> good = {1.02, 0.96, 1.00, 0.94, 1.05, 0.97, 1.03, 0.98, 1.00, 1.04};
    for (const models::ChartPoint& point : models::control_chart(series_of(good)).points) CHECK(point.broken.empty());
    std::vector<double> drifted = good;
    for (const double x : {1.45, 1.12, 1.16, 1.14, 1.13, 1.15, 1.16}) drifted.push_back(x);
    const models::ControlChart chart = models::control_chart(series_of(drifted));
    CHECK(chart.limits->provisional);
    CHECK(chart.limits->centre == models::control_chart(series_of(good)).limits->centre);
    for (std::size_t i = 0; i < 10; ++i) CHECK(chart.points[i].broken.empty());
    CHECK(breaking(chart, ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{10});
    CHECK_FALSE(chart.points[16].broken.empty());
    CHECK(chart.says ==
          "provisional limits, 2.0 times as wide until there are 20, from the first 8 of 16 readings of this kit lot "
          "that can set them; test T11 lies outside the provisional limits and sets none; the centre line is 99 % of "
          "the assigned content");
}

TEST_CASE("provisional limits are wider by what a few readings leave unknown") {
    // R: uniroot of 1/c4(nu)^2 - 1 = V^2, then qt(pnorm(3), nu) c4(nu) sqrt(1 + 1/m) / 3
    CHECK(models::provisional_widening(8, 1) == Approx(1.951087).epsilon(1e-5));
    CHECK(models::provisional_widening(12, 1) == Approx(1.510088).epsilon(1e-5));
    CHECK(models::provisional_widening(8, 5) == Approx(1.149105).epsilon(1e-5));
    // A ninth reading in control is called beyond 3 no more often than one in 370, where the limits of eight readings
    // as they stand would call one in 32.
    std::uint64_t state = 7;
    const auto uniform = [&] {
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        return (static_cast<double>(state >> 11) + 0.5) / 9007199254740992.0;
    };
    int called = 0, called_unwidened = 0;
    constexpr int charts = 20000;
    for (int k = 0; k < charts; ++k) {
        std::vector<double> contents;
        for (int i = 0; i < 9; ++i)
            contents.push_back(
                std::exp(0.05 * std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * M_PI * uniform())));
        const models::ControlChart chart = models::control_chart(series_of(contents));
        const double sds = std::abs(*chart.points[8].sds);
        called += sds > 3.0 ? 1 : 0;
        called_unwidened += sds * chart.limits->widening > 3.0 ? 1 : 0;
    }
    CHECK(called < charts * 0.0027);
    CHECK(called > charts * 0.0008);
    CHECK(called_unwidened == Approx(charts / 32.0).epsilon(0.15));
}

TEST_CASE("readings outside the provisional limits set no final ones") {
    std::vector<double> contents;
    for (int i = 0; i < 22; ++i) contents.push_back(i % 2 == 0 ? 1.0 : 1.1);
    contents[11] = contents[14] = 2.0;
    const models::ControlChart chart = models::control_chart(series_of(contents));
    CHECK(chart.limits->points == 20);
    CHECK_FALSE(chart.limits->provisional);
    CHECK_FALSE(chart.points[11].sets_limits);
    CHECK(chart.mg_per_kg_at(3.0) < 1.4);
    CHECK_THAT(chart.says, Catch::Contains("limits from the first 20 of 20 readings") &&
                               Catch::Contains("tests T12 and T15 lie outside the provisional limits and set none"));
    CHECK(breaking(chart, ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{11, 14});
    CHECK_FALSE(chart.points[11].by_later_limits);  // it was out of control on its day already
}

TEST_CASE("a reading that only later limits call out of control says so") {
    // The first eight scatter widely, the next twelve little but for one: it was within their limits.
    std::vector<double> contents = {0.90, 1.10, 0.90, 1.10, 0.90, 1.10, 0.90, 1.10};
    for (int i = 0; i < 12; ++i) contents.push_back(i % 2 == 0 ? 0.99 : 1.01);
    contents[12] = 1.55;
    models::ControlChart chart = models::control_chart(series_of({contents.begin(), contents.begin() + 19}));
    CHECK(chart.points[12].broken.empty());
    chart = models::control_chart(series_of(contents));
    CHECK_FALSE(chart.limits->provisional);
    REQUIRE_FALSE(chart.points[12].broken.empty());
    CHECK(chart.points[12].by_later_limits);
}

TEST_CASE("a reading outside what the control accepts sets no limits") {
    std::vector<double> contents = {1.0, 1.1, 0.9, 1.0, 5.0, 1.05, 0.95, 1.0, 1.1};
    models::ControlSeries series = series_of(contents);
    const double with_it = models::control_chart(series).limits->reading_sd;
    series.control.high_mg_per_kg = 1.3;
    const models::ControlChart chart = models::control_chart(series);
    CHECK(chart.limits->points == 8);
    CHECK(chart.limits->reading_sd < 0.5 * with_it);
    CHECK(breaking(chart, ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{4});
}

TEST_CASE("on the logarithm the limits are factors and never below zero") {
    models::ChartSettings settings;
    settings.stated_cv = 0.5;
    const models::ControlChart chart = models::control_chart(series_of({1.0, 0.2}), settings);
    CHECK(chart.mg_per_kg_at(3.0) * chart.mg_per_kg_at(-3.0) == Approx(1.0));
    CHECK(chart.mg_per_kg_at(-3.0) > 0.0);
    // sigma of a lognormal law with CV 50 %: sqrt(ln 1.25) = 0.472381
    CHECK(chart.mg_per_kg_at(1.0) == Approx(std::exp(0.472380727)));
    CHECK(chart.points[1].broken == std::vector<ControlRule>{ControlRule::one_beyond_three_sd});
    CHECK(chart.says == "centre line at the assigned 1 mg/kg, one reading within 50 % of it (stated)");
}

TEST_CASE("each rule is broken by its own pattern and by the point that completes it") {
    CHECK(breaking(chart_of_sds({2.9, 3.1, -3.2}), ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{1, 2});
    CHECK(breaking(chart_of_sds({2.1, 0.0, 2.1, 0.0}), ControlRule::two_of_three_beyond_two_sd) ==
          std::vector<std::size_t>{2});
    CHECK(breaking(chart_of_sds({2.1, -2.1, 0.0, 0.0, 2.1}), ControlRule::two_of_three_beyond_two_sd).empty());
    CHECK(breaking(chart_of_sds({-1.1, -1.2, 0.5, -1.1, -1.3, 0.0}), ControlRule::four_of_five_beyond_one_sd) ==
          std::vector<std::size_t>{4});
    CHECK(breaking(chart_of_sds({1.1, 1.1, -1.1, -1.1, 1.1}), ControlRule::four_of_five_beyond_one_sd).empty());
    CHECK(breaking(chart_of_sds({.1, .1, .1, .1, .1, .1, .1, .1, .1, -.1}), ControlRule::eight_on_one_side) ==
          std::vector<std::size_t>{7, 8});
    CHECK(breaking(chart_of_sds({.1, .1, .1, .1, .1, .1, .1, 0.0, .1}), ControlRule::eight_on_one_side).empty());
    // D4(2) d2(2) = 3.2665 x 1.1284 = 3.6859 standard deviations
    CHECK(breaking(chart_of_sds({1.8, -1.8, 1.9}), ControlRule::range_too_wide) == std::vector<std::size_t>{2});
    // The way back from a reading that broke a rule is that reading's.
    CHECK(breaking(chart_of_sds({0.0, 4.0, 0.0, -4.1}), ControlRule::range_too_wide) == std::vector<std::size_t>{1, 3});
}

TEST_CASE("a rule that is switched off is not looked at and a run may be given its length") {
    models::ControlRules none{false, false, false, 0, false};
    for (const models::ChartPoint& point : chart_of_sds({9, 9, 9, 9, 9, 9, 9, 9, 9, -9}, none).points) {
        CHECK(point.broken.empty());
    }
    models::ControlRules five = none;
    five.on_one_side = 5;
    CHECK(breaking(chart_of_sds({.1, .1, .1, .1, .1, .1}, five), ControlRule::eight_on_one_side) ==
          std::vector<std::size_t>{4, 5});
    CHECK(models::in_words(ControlRule::eight_on_one_side, five) == "5 in a row on one side of the centre line");
    const models::ControlRules named = models::control_rules_named({"range", "one-side"}, 9);
    CHECK(named.on_one_side == 9);
    CHECK(named.range_too_wide);
    CHECK_FALSE(named.one_beyond_three_sd);
    CHECK_THROWS_WITH(models::control_rules_named({"two-of-tree"}),
                      Catch::Contains("did you mean \"two-of-three\"?") && Catch::Contains("use beyond-3, "));
}

TEST_CASE("a reading known only by a bound breaks a rule where the bound settles it") {
    models::ControlSeries series = series_of({1.0, 0.6, 1.5, 0.6, 1.5});
    series.readings[1].test.reading = Reading::below;
    series.readings[2].test.reading = Reading::above;
    series.readings[3].test.reading = Reading::above;  // above 0.6 may be 1
    series.readings[4].test.reading = Reading::below;  // and so may be below 1.5
    models::ChartSettings settings;
    settings.stated_cv = 0.1;
    const models::ControlChart chart = models::control_chart(series, settings);
    CHECK(breaking(chart, ControlRule::one_beyond_three_sd) == std::vector<std::size_t>{1, 2});
    CHECK(chart.points[3].broken.empty());
    CHECK(chart.points[4].broken.empty());
    CHECK_FALSE(chart.points[2].range);
}

TEST_CASE("readings in control are called out of it as rarely as the rule says") {
    // Independent readings at even quantiles of the normal law, in an order that mixes them (golden ratio).
    std::vector<double> sds;
    const auto normal_quantile = [](double p) {
        double low = -8.0, high = 8.0;
        while (high - low > 1e-10) (normal_cdf(0.5 * (low + high)) < p ? low : high) = 0.5 * (low + high);
        return low;
    };
    std::uint64_t state = 20261126;
    for (int i = 0; i < 40000; ++i) {
        state = state * 6364136223846793005ULL + 1442695040888963407ULL;
        sds.push_back(normal_quantile((static_cast<double>(state >> 11) + 0.5) / 9007199254740992.0));
    }
    const models::ControlChart chart = chart_of_sds(sds);
    const auto share = [&](ControlRule rule) { return static_cast<double>(breaking(chart, rule).size()) / 40000.0; };
    // P(|z| > 3) = 0.0027; eight on one side 2 x 0.5^8 = 0.0078; the last and one of two before it beyond 2 on one
    // side: 2 x 0.02275 (1 - 0.97725^2) = 0.00205; the last and three of four beyond 1: 0.00436
    CHECK(share(ControlRule::one_beyond_three_sd) == Approx(0.0027).margin(0.0008).epsilon(0.0));
    CHECK(share(ControlRule::eight_on_one_side) == Approx(0.0078).margin(0.0025).epsilon(0.0));
    CHECK(share(ControlRule::two_of_three_beyond_two_sd) == Approx(0.00205).margin(0.0008).epsilon(0.0));
    CHECK(share(ControlRule::four_of_five_beyond_one_sd) == Approx(0.00436).margin(0.0015).epsilon(0.0));
    int any = 0;
    for (const models::ChartPoint& point : chart.points) any += point.broken.empty() ? 0 : 1;
    INFO("calls of any rule: " << any << " of 40000");
    CHECK(any > 40000 / 100);  // the header says one in 43
    CHECK(any < 40000 / 40);
}

TEST_CASE("charts refuse what cannot be charted by its words") {
    models::ControlSeries series = series_of({1.0});
    series.control.assigned_mg_per_kg = 0.0;
    CHECK_THROWS_WITH(models::control_chart(series), Catch::Contains("control C1 has no assigned content"));
    CHECK_THROWS_WITH(models::control_chart(series_of({})), Catch::Contains("has no reading"));
    CHECK_THROWS_WITH(models::control_chart(series_of({1.0, 0.0})), Catch::Contains("test T2: a control reading of 0"));
    models::ChartSettings settings;
    settings.points_for_limits = 7;
    CHECK_THROWS_WITH(models::control_chart(series_of({1.0}), settings),
                      Catch::Contains("limits from 7 points, at least 8, cannot be set"));
    settings = {};
    settings.stated_cv = 0.0;
    CHECK_THROWS_WITH(models::control_chart(series_of({1.0}), settings), Catch::Contains("sets no limits"));
}

TEST_CASE("strips whose kit lot nobody recorded get no limits and readings that do not differ neither") {
    models::ControlSeries series = series_of({1.0, 1.1, 0.9, 1.0, 1.05, 0.95, 1.0, 1.1, 1.0});
    series.kit_lot = "";
    CHECK(models::control_chart(series).says ==
          "no limits: the kit lot of these readings is not recorded, and they may be of several");
    series.method = models::Method::laboratory;
    CHECK(models::control_chart(series).limits);
    CHECK_FALSE(models::control_chart(series_of(std::vector<double>(9, 1.0))).limits);
}
