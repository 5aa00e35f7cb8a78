#include "models/decision/limit_rule.h"

#include <cmath>

#include <catch2/catch.hpp>

#include "models/decision/expected.h"
#include "models/error.h"

namespace {

models::Limit limit_at(double mg_per_kg, models::Comparison comparison = models::Comparison::over,
                       std::optional<double> rounding = {}) {
    models::Limit limit;
    limit.limit_id = "L";
    limit.limit_mg_per_kg = mg_per_kg;
    limit.comparison = comparison;
    limit.rounding_mg_per_kg = rounding;
    return limit;
}

/// The limits of unprocessed common wheat and durum wheat before and from 1 July 2024: Regulation (EU) 2023/915,
/// Annex I 1.4, as amended by (EU) 2024/1022.
std::vector<models::Limit> dated_limits() {
    std::vector<models::Limit> limits;
    const auto add = [&](const char* id, const char* commodity, double value, bool new_one) {
        models::Limit limit = limit_at(value);
        limit.limit_id = id;
        limit.jurisdiction = "EU";
        limit.commodity = commodity;
        if (new_one) {
            limit.from = models::day_of(2024, 7, 1);
        } else {
            limit.to = models::day_of(2024, 6, 30);
        }
        limits.push_back(limit);
    };
    add("wheat-old", "wheat", 1.25, false);
    add("wheat-new", "wheat", 1.0, true);
    add("durum-old", "durum", 1.75, false);
    add("durum-new", "durum", 1.5, true);
    return limits;
}

std::string refusal(const std::function<void()>& act) {
    try {
        act();
    } catch (const models::Error& error) {
        return error.what();
    }
    return "not refused";
}

}  // namespace

TEST_CASE("a result at the limit meets it where only over breaks it") {
    CHECK_FALSE(models::breaks_limit(1.25, limit_at(1.25)));
    CHECK(models::breaks_limit(std::nextafter(1.25, 2.0), limit_at(1.25)));
    CHECK(models::breaks_limit(1.25, limit_at(1.25, models::Comparison::at_or_over)));
    CHECK_FALSE(models::breaks_limit(1.2499, limit_at(1.25, models::Comparison::at_or_over)));
}

TEST_CASE("a contract that rounds to 0.1 takes 2.04 for 2.0 and 2.05 for 2.1") {
    const auto limit = limit_at(2.0, models::Comparison::over, 0.1);
    CHECK_FALSE(models::breaks_limit(2.04, limit));
    CHECK_FALSE(models::breaks_limit(2.0499999, limit));
    CHECK(models::breaks_limit(2.05, limit));
    const auto at = limit_at(2.0, models::Comparison::at_or_over, 0.1);
    CHECK(models::breaks_limit(1.95, at));
    CHECK_FALSE(models::breaks_limit(1.94, at));
}

TEST_CASE("the breaking point agrees with rounding first and comparing then for every hundredth") {
    for (const double step : {0.1, 0.05, 0.5, 0.25}) {
        for (int hundredths = 20; hundredths <= 300; hundredths += 7) {
            const double limit_value = hundredths / 100.0;
            for (const auto comparison : {models::Comparison::over, models::Comparison::at_or_over}) {
                const auto limit = limit_at(limit_value, comparison, step);
                for (int value = 1; value <= 400; ++value) {
                    // Whole hundredths and whole steps: the comparison by hand needs no floating point.
                    const int step_in = static_cast<int>(std::lround(step * 100));
                    const int rounded = (2 * value + step_in) / (2 * step_in) * step_in;
                    const bool breaks =
                        comparison == models::Comparison::over ? rounded > hundredths : rounded >= hundredths;
                    INFO(value << " against " << hundredths << " at a step of " << step_in);
                    REQUIRE(models::breaks_limit(value / 100.0, limit) == breaks);
                    REQUIRE(models::rounded_to_step(value / 100.0, step) ==
                            Approx(rounded / 100.0).margin(1e-12).epsilon(0.0));
                }
            }
        }
    }
}

TEST_CASE("a result outside the working range decides only where its bound does") {
    using models::LimitOutcome;
    using models::Reading;
    const auto limit = limit_at(1.0);
    CHECK(models::outcome_of(Reading::below, 0.2, limit) == LimitOutcome::meets);
    CHECK(models::outcome_of(Reading::below, 1.0, limit) == LimitOutcome::meets);
    CHECK(models::outcome_of(Reading::below, 1.01, limit) == LimitOutcome::undecided);
    CHECK(models::outcome_of(Reading::above, 1.0, limit) == LimitOutcome::breaks);
    CHECK(models::outcome_of(Reading::above, 0.99, limit) == LimitOutcome::undecided);
    CHECK(models::outcome_of(Reading::invalid, 9.0, limit) == LimitOutcome::undecided);
    // Below 1.27 may be 1.26, which is written 1.3: that does not meet 1.27.
    CHECK(models::outcome_of(Reading::below, 1.27, limit_at(1.27, models::Comparison::over, 0.1)) ==
          LimitOutcome::undecided);
}

TEST_CASE("a guard makes a near result undecided and never over") {
    using models::LimitOutcome;
    using models::Reading;
    // JCGM 106:2012 guarded acceptance with limit 1.25 and u 0.15: accept up to 1.25 - 1.645 * 0.15 = 1.00325.
    const double guard = 1.645 * 0.15;
    CHECK(models::outcome_of(Reading::value, 1.003, limit_at(1.25), guard) == LimitOutcome::meets);
    CHECK(models::outcome_of(Reading::value, 1.004, limit_at(1.25), guard) == LimitOutcome::undecided);
    CHECK(models::outcome_of(Reading::value, 1.26, limit_at(1.25), guard) == LimitOutcome::breaks);
    CHECK(models::conformity_probability(1.10, 0.15, 1.25) == Approx(0.841345).margin(5e-7).epsilon(0.0));
    CHECK(models::conformity_probability(1.00327, 0.15, 1.25) == Approx(0.95).margin(5e-6).epsilon(0.0));
    CHECK_FALSE(models::official_control_rejects(1.9, 0.95, 1.0));
    CHECK(models::official_control_rejects(2.1, 1.05, 1.0));
}

TEST_CASE("the limit in force changes on 1 July 2024") {
    const auto limits = dated_limits();
    models::LimitQuestion question{.commodity = "Wheat", .day = models::day_of(2024, 6, 30)};
    CHECK(models::choose_limit(limits, question).limit_mg_per_kg == 1.25);
    question.day = models::day_of(2024, 7, 1);
    CHECK(models::choose_limit(limits, question).limit_mg_per_kg == 1.0);
}

TEST_CASE("several limits that fit are all named and none is guessed") {
    const std::string text = refusal([] { models::choose_limit(dated_limits(), {.commodity = "wheat"}); });
    CHECK_THAT(text, Catch::Contains("2 limits fit wheat") && Catch::Contains("wheat-old") &&
                         Catch::Contains("wheat-new") && Catch::Contains("limit_id"));
}

TEST_CASE("a limit that no row answers is refused with what there is") {
    CHECK_THAT(refusal([] { models::choose_limit(dated_limits(), {.commodity = "rye"}); }),
               Catch::Contains("no limit for rye") && Catch::Contains("durum, wheat"));
    auto limits = dated_limits();
    limits.erase(limits.begin());
    CHECK_THAT(
        refusal([&] { models::choose_limit(limits, {.commodity = "wheat", .day = models::day_of(2023, 8, 1)}); }),
        Catch::Contains("wheat-new (from 2024-07-01)"));
}

TEST_CASE("a limit may be given as its name or as a bare number") {
    const auto limits = dated_limits();
    CHECK(models::limit_from_text("durum-new", limits).limit_mg_per_kg == 1.5);
    const models::Limit number = models::limit_from_text("0.9", limits);
    CHECK(number.limit_mg_per_kg == 0.9);
    CHECK(number.comparison == models::Comparison::over);
    CHECK_FALSE(number.rounding_mg_per_kg);
    CHECK_THAT(refusal([&] { models::limit_from_text("1,25", limits); }), Catch::Contains("decimal comma"));
    CHECK_THAT(refusal([&] { models::limit_from_text("wheat-nev", limits); }), Catch::Contains("use one of wheat-new"));
    CHECK_THAT(refusal([&] { models::limit_from_text("-1", limits); }), Catch::Contains("above 0"));
    CHECK_THAT(refusal([&] { models::limit_from_text("wheat-old", limits, models::day_of(2025, 8, 1)); }),
               Catch::Contains("does not hold on 2025-08-01"));
}

TEST_CASE("numbers in sentences keep the digits that decide") {
    CHECK(models::content_in_words(1.3) == "1.3");
    CHECK(models::content_in_words(0.0432) == "0.0432");
    CHECK(models::content_in_words(1.0004, 1.0) == "1.0004");
    CHECK(models::content_in_words(12.0) == "12.0");
    CHECK(models::chance_in_words(0.12) == "12 %");
    CHECK(models::chance_in_words(0.052, 0.05) == "5.2 %");
    CHECK(models::chance_in_words(0.0) == "under 1 %");
    CHECK(models::chance_in_words(0.9999) == "over 99 %");
    CHECK(models::in_words(limit_at(2.0, models::Comparison::at_or_over, 0.1)) == "2.0 mg/kg and more, rounded to 0.1");
}

TEST_CASE("a limit that is no number is refused") {
    CHECK_THAT(refusal([] { models::breaking_point(limit_at(0.0)); }), Catch::Contains("no limit"));
    CHECK_THAT(refusal([] { models::breaking_point(limit_at(1.0, models::Comparison::over, -0.1)); }),
               Catch::Contains("rounding step above 0"));
}

TEST_CASE("quantiles of draws are those of definition 7") {
    // R 4.2: quantile(c(3, 1, 4, 1, 5, 9, 2, 6), c(.05, .25, .5, .95)) gives 1.00 1.75 3.50 7.95.
    Eigen::VectorXd draws(8);
    draws << 3, 1, 4, 1, 5, 9, 2, 6;
    CHECK(models::quantile_of_draws(draws, 0.05) == Approx(1.0));
    CHECK(models::quantile_of_draws(draws, 0.25) == Approx(1.75));
    CHECK(models::quantile_of_draws(draws, 0.5) == Approx(3.5));
    CHECK(models::quantile_of_draws(draws, 0.95) == Approx(7.95));
    CHECK(models::quantile_of_draws(draws, 1.0) == 9.0);
    CHECK(models::exceedance_of_draws(draws, limit_at(4.0)) == 3.0 / 8.0);
    CHECK(models::exceedance_of_draws(draws, limit_at(4.0, models::Comparison::at_or_over)) == 4.0 / 8.0);
    CHECK(models::exceedance_of_draws(draws, limit_at(4.0, models::Comparison::over, 2.0)) == 3.0 / 8.0);
    const models::DrawSummary summary = models::summary_of_draws(draws, limit_at(4.0));
    CHECK(summary.mean_mg_per_kg == Approx(31.0 / 8.0));
    CHECK(summary.low90_mg_per_kg <= summary.low50_mg_per_kg);
    CHECK_THROWS_AS(models::quantile_of_draws(Eigen::VectorXd(), 0.5), models::Error);
}
