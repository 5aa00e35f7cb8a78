#include "models/decision/second_sample.h"

#include <cmath>

#include <catch2/catch.hpp>

#include "models/contamination/normal.h"
#include "models/error.h"
#include "tests/models/decision/pits.h"

namespace {

using models::ClearingState;

models::SecondSampleAsked load_of_median(double median, double log_sd, double cv) {
    models::SecondSampleAsked asked;
    asked.content_mg_per_kg = tests::pits::contents(median, log_sd, 0);
    asked.limit = tests::pits::plan_limit_at(1.0);
    asked.mass_t = asked.spoils_t = 20.0;
    asked.error.own_sampling_cv = cv;
    asked.error.own_preparation_cv = 0.0;
    asked.error.own_analysis_cv = 0.0;
    return asked;
}

}  // namespace

TEST_CASE("a second sample clears as often as two normal laws say") {
    const double median = 0.7, log_sd = 0.4, cv = 0.3, q = std::log1p(cv * cv);
    const auto found = models::worth_of_second_sample(load_of_median(median, log_sd, cv));
    // After ln y the content is N(m, v); P(over) <= 5 % where m <= -1.645 sqrt v. ln y is N(ln median - q/2, s^2 + q).
    const double v = 1.0 / (1.0 / (log_sd * log_sd) + 1.0 / q);
    const double cleared_up_to =
        ((-1.6448536269514722 * std::sqrt(v)) / v - std::log(median) / (log_sd * log_sd)) * q - 0.5 * q;
    const double spread = std::sqrt(log_sd * log_sd + q);
    const double at = std::log(median) - 0.5 * q;
    CHECK(found.clears == Approx(models::normal::cdf((cleared_up_to - at) / spread)).epsilon(0.0).margin(0.03));
    CHECK(found.over == Approx(1.0 - models::normal::cdf((0.0 - at) / spread)).epsilon(0.0).margin(0.03));
    CHECK(found.loss_now == Approx(20.0 * models::normal::cdf(-std::log(median) / log_sd)).epsilon(0.0).margin(0.2));
    CHECK(found.worth() > 0.0);
}

TEST_CASE("no sample clears a load with a result over and a sure load gains nothing") {
    models::SecondSampleAsked over = load_of_median(0.9, 0.3, 0.2);
    over.now = ClearingState::over;
    const auto none = models::worth_of_second_sample(over);
    CHECK(none.clears == 0.0);
    CHECK(none.over == Approx(1.0));
    CHECK(none.worth() == 0.0);
    models::SecondSampleAsked sure = load_of_median(0.2, 0.1, 0.2);
    sure.now = ClearingState::cleared;
    CHECK(models::worth_of_second_sample(sure).worth() == Approx(0.0).margin(1e-6));
    // Of a cleared load a sample may spare a full bin.
    models::SecondSampleAsked risky = load_of_median(0.6, 0.35, 0.15);
    risky.now = ClearingState::cleared;
    risky.spoils_t = 400.0;
    CHECK(models::worth_of_second_sample(risky).worth() > 5.0);
}

TEST_CASE("a second sample of nothing is refused") {
    models::SecondSampleAsked none = load_of_median(0.9, 0.3, 0.2);
    none.content_mg_per_kg.resize(0);
    CHECK_THROWS_WITH(models::worth_of_second_sample(none), Catch::Contains("no draws of the load's content"));
    models::SecondSampleAsked negative = load_of_median(0.9, 0.3, 0.2);
    negative.mass_t = -1.0;
    CHECK_THROWS_WITH(models::worth_of_second_sample(negative), Catch::Contains("-1 is no mass or cost"));
}
