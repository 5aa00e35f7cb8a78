#include "models/decision/conformity.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"

using Catch::Matchers::Contains;
using models::conformity_of;
using models::LimitOutcome;
using models::Reading;

namespace {

models::Limit conformity_limit(double mg_per_kg) {
    models::Limit limit;
    limit.limit_mg_per_kg = mg_per_kg;
    return limit;
}

}  // namespace

TEST_CASE("the guard band of a limit of 1.25 and an uncertainty of 0.15 ends where it does by hand") {
    // JCGM 106:2012, 8.3.2 with k = 1.645: 1.25 - 1.644854 * 0.15 = 1.00327; p_c of 1.10 is F(1) = 0.841345.
    const auto of = conformity_of(Reading::value, 1.10, models::normal_error(0.15), conformity_limit(1.25));
    CHECK(of.accept_to_mg_per_kg == Approx(1.00327).margin(5e-6).epsilon(0.0));
    CHECK(of.break_from_mg_per_kg == Approx(1.49673).margin(5e-6).epsilon(0.0));
    CHECK(of.probability_low == Approx(0.841345).margin(5e-7).epsilon(0.0));
    CHECK(of.probability_high == of.probability_low);
    CHECK(of.wrong_decision == Approx(0.05).epsilon(1e-12));
    CHECK(of.guarded == LimitOutcome::undecided);
    CHECK(of.without_guard == LimitOutcome::meets);
    CHECK_THAT(of.says, Contains("84 % chance that the content meets the limit") && Contains("guard factor 1.645"));
    const auto guarded = [](double x) {
        return conformity_of(Reading::value, x, models::normal_error(0.15), conformity_limit(1.25)).guarded;
    };
    CHECK(guarded(1.0032) == LimitOutcome::meets);
    CHECK(guarded(1.0033) == LimitOutcome::undecided);
    CHECK(guarded(1.4967) == LimitOutcome::undecided);
    CHECK(guarded(1.4968) == LimitOutcome::breaks);
}

TEST_CASE("the lognormal conformity probability is a normal tail on the log scale at the limit") {
    // q = ln(1 + 0.118) of the reference procedure at 1 mg/kg; R: pnorm((log(1) - log(x) - q/2) / sqrt(q)).
    const auto error = models::error_at_limit({}, conformity_limit(1.0));
    CHECK(error.log_variance == Approx(std::log(1.118)).epsilon(1e-12));
    const auto chance = [&](double x) {
        return conformity_of(Reading::value, x, error, conformity_limit(1.0)).probability_low;
    };
    CHECK(chance(0.6) == Approx(0.91348453982799).epsilon(1e-12));
    CHECK(chance(0.95) == Approx(0.494651841442463).epsilon(1e-12));
    CHECK(chance(1.1) == Approx(0.325502099243266).epsilon(1e-12));
    CHECK(chance(0.0) == 1.0);
    const auto of = conformity_of(Reading::value, 0.6, error, conformity_limit(1.0));
    // R: exp(-q/2 - qnorm(0.95) * sqrt(q)), exp(-q/2 + qnorm(0.95) * sqrt(q))
    CHECK(of.accept_to_mg_per_kg == Approx(0.546011203084682).epsilon(1e-12));
    CHECK(of.break_from_mg_per_kg == Approx(1.63816122777934).epsilon(1e-12));
}

TEST_CASE("grain just at the limit is accepted and condemned by a guarded rule once in twenty") {
    std::mt19937_64 random(11);
    std::normal_distribution<double> draw;
    const auto limit = conformity_limit(1.0);
    const auto error = models::error_at_limit({}, limit);
    const double q = error.log_variance;
    int accepted = 0, broken = 0;
    const int n = 40000;
    for (int i = 0; i < n; ++i) {
        const double x = std::exp(-0.5 * q + std::sqrt(q) * draw(random));
        const auto outcome = conformity_of(Reading::value, x, error, limit).guarded;
        accepted += outcome == LimitOutcome::meets;
        broken += outcome == LimitOutcome::breaks;
    }
    // Four standard errors of a share of 5 % among 40,000.
    CHECK(static_cast<double>(accepted) / n == Approx(0.05).margin(0.0044).epsilon(0.0));
    CHECK(static_cast<double>(broken) / n == Approx(0.05).margin(0.0044).epsilon(0.0));
}

TEST_CASE("where a contract rounds 2.04 meets 2.0 and without rounding it does not") {
    models::Limit rounds = conformity_limit(2.0);
    rounds.rounding_mg_per_kg = 0.1;
    const auto error = models::normal_error(0.1);
    CHECK(conformity_of(Reading::value, 2.04, error, rounds, 0.0).guarded == LimitOutcome::meets);
    CHECK(conformity_of(Reading::value, 2.05, error, rounds, 0.0).without_guard == LimitOutcome::breaks);
    CHECK(conformity_of(Reading::value, 2.04, error, conformity_limit(2.0), 0.0).guarded == LimitOutcome::breaks);
    // The chance is that of lying under 2.05, from which the contract writes 2.1: F(0.1) of the normal distribution.
    CHECK(conformity_of(Reading::value, 2.04, error, rounds).probability_low ==
          Approx(0.539827837277029).epsilon(1e-6));
    // The rounding moves the guard too.
    CHECK(conformity_of(Reading::value, 2.0, error, rounds).accept_to_mg_per_kg ==
          Approx(2.05 - 0.16448536).margin(1e-7).epsilon(0.0));
    models::Limit at = conformity_limit(2.0);
    at.comparison = models::Comparison::at_or_over;
    CHECK(conformity_of(Reading::value, 2.0, error, at, 0.0).guarded == LimitOutcome::undecided);
    CHECK(conformity_of(Reading::value, 2.0, error, at, 0.0).without_guard == LimitOutcome::breaks);
    CHECK(conformity_of(Reading::value, 2.0, error, conformity_limit(2.0), 0.0).guarded == LimitOutcome::meets);
}

TEST_CASE("the end of a range bounds the chance and a void test leaves it open") {
    const auto error = models::normal_error(0.15);
    const auto below = conformity_of(Reading::below, 0.5, error, conformity_limit(1.25));
    CHECK(below.probability_low == Approx(1.0).margin(1e-6).epsilon(0.0));
    CHECK(below.probability_high == 1.0);
    CHECK(below.guarded == LimitOutcome::meets);
    const auto nearly = conformity_of(Reading::below, 1.2, error, conformity_limit(1.25));
    CHECK(nearly.guarded == LimitOutcome::undecided);
    CHECK_THAT(nearly.says, Contains("below 1.2 mg/kg") && Contains("at least 63 %"));
    const auto above = conformity_of(Reading::above, 5.0, error, conformity_limit(1.25));
    CHECK(above.probability_low == 0.0);
    CHECK(above.probability_high < 1e-6);
    CHECK(above.guarded == LimitOutcome::breaks);
    const auto void_test = conformity_of(Reading::invalid, 0.0, error, conformity_limit(1.25));
    CHECK(void_test.probability_low == 0.0);
    CHECK(void_test.probability_high == 1.0);
    CHECK(void_test.guarded == LimitOutcome::undecided);
}

TEST_CASE("a conformity that cannot be is refused by its words") {
    const auto limit = conformity_limit(1.0);
    CHECK_THROWS_WITH(conformity_of(Reading::value, std::nan(""), models::normal_error(0.1), limit),
                      Contains("a result of nan mg/kg is none"));
    CHECK_THROWS_WITH(conformity_of(Reading::value, -0.1, models::normal_error(0.1), limit),
                      Contains("a result of -0.1 mg/kg is none"));
    CHECK_THROWS_WITH(models::normal_error(0.0), Contains("a standard uncertainty of 0 is none"));
    CHECK_THROWS_WITH(models::lognormal_error(-1.0), Contains("a log variance of -1 is none"));
    CHECK_THROWS_WITH(conformity_of(Reading::value, 1.0, models::normal_error(0.1), limit, -1.0),
                      Contains("a guard factor of -1 is none"));
    CHECK_THROWS_WITH(conformity_of(Reading::value, 1.0, models::normal_error(0.1), conformity_limit(0.0)),
                      Contains("no limit"));
}

TEST_CASE("official control takes a lot as over only where the result less its uncertainty is over") {
    models::AnalysisOnly analysis;
    analysis.standard_uncertainty_mg_per_kg = 0.15;
    analysis.recovery_corrected = true;
    const auto official = [&](double x) {
        return models::official_conclusion(Reading::value, x, analysis, conformity_limit(1.0));
    };
    // U = 2 * 0.15: 1.3 - 0.3 is 1.0 and not above it.
    CHECK_FALSE(*official(1.29).over);
    CHECK(*official(1.31).over);
    CHECK_THAT(official(1.31).says, Contains("Official control in the European Union would take it as over") &&
                                        Contains("k = 2 of the analysis alone") && Contains("nothing is cleared"));
    CHECK_THAT(official(1.29).says, Contains("would accept it"));
    CHECK(official(1.31).notes.empty());
}

TEST_CASE("official control corrects for recovery outside 90 to 110 per cent") {
    models::AnalysisOnly analysis;
    analysis.standard_uncertainty_mg_per_kg = 0.08;
    analysis.recovery = 0.8;
    const auto corrected = models::official_conclusion(Reading::value, 1.0, analysis, conformity_limit(1.0));
    CHECK(corrected.corrected_mg_per_kg == Approx(1.25));
    CHECK(corrected.expanded_uncertainty_mg_per_kg == Approx(0.2));
    CHECK(*corrected.over);
    analysis.recovery = 0.93;
    const auto as_it_is = models::official_conclusion(Reading::value, 1.0, analysis, conformity_limit(1.0));
    CHECK(as_it_is.corrected_mg_per_kg == 1.0);
    CHECK_THAT(as_it_is.notes.at(0), Contains("needs no correction"));
    analysis.recovery = 0.8;
    analysis.recovery_corrected = true;
    CHECK(models::official_conclusion(Reading::value, 1.0, analysis, conformity_limit(1.0)).corrected_mg_per_kg == 1.0);
    // No uncertainty: half the result, so that 2.0 is the first that is not over 1.0.
    const auto half = models::official_conclusion(Reading::value, 2.01, {}, conformity_limit(1.0));
    CHECK(*half.over);
    CHECK(half.notes.size() == 2);
    CHECK_THAT(half.notes.at(1), Contains("U is taken as 50 % of the result"));
    CHECK_THAT(half.says, Contains("less 1.0 mg/kg (U: the 50 % that the regulation permits by default, for no "
                                   "uncertainty of the analysis is stated) is over 1.0 mg/kg"));
    CHECK_THAT(corrected.says, !Contains("by default"));
    CHECK_FALSE(*models::official_conclusion(Reading::value, 2.0, {}, conformity_limit(1.0)).over);
    analysis.recovery = 0.0;
    CHECK_THROWS_WITH(models::official_conclusion(Reading::value, 1.0, analysis, conformity_limit(1.0)),
                      Contains("a recovery of 0 is none"));
}

TEST_CASE("official control says nothing from the end of a range that leaves it open") {
    models::AnalysisOnly analysis;
    analysis.standard_uncertainty_mg_per_kg = 0.1;
    const auto official = [&](Reading reading, double x) {
        return models::official_conclusion(reading, x, analysis, conformity_limit(1.0)).over;
    };
    CHECK_FALSE(official(Reading::below, 2.5));
    CHECK(official(Reading::below, 0.5) == std::optional<bool>(false));
    CHECK_FALSE(official(Reading::above, 0.5));
    CHECK(official(Reading::above, 5.0) == std::optional<bool>(true));
    CHECK_FALSE(official(Reading::invalid, 0.0));
}
