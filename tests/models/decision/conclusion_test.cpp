#include "models/decision/conclusion.h"

#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"

using Catch::Matchers::Contains;
using models::CounterState;
using models::Reading;
using models::RepeatWhen;

namespace {

models::CounterResult strip_of(double don_mg_per_kg, Reading reading = Reading::value) {
    models::CounterResult test;
    test.result.test = "T1";
    test.result.reading = reading;
    test.result.don_mg_per_kg = don_mg_per_kg;
    return test;
}

/// A truck at a limit of 1.0 with a cut-off of 0.92, tested by 1 kg and a portion of 5 g.
models::CounterQuestion truck(std::vector<models::CounterResult> results, RepeatWhen when = RepeatWhen::never) {
    models::CounterQuestion question;
    question.results = std::move(results);
    question.limit.limit_mg_per_kg = 1.0;
    question.cut_off = {0.92, "20 + 20 samples"};
    question.procedure.when = when;
    question.plan.sample_mass_g = 1000.0;
    question.plan.portion_g = 5.0;
    return question;
}

std::string all_words(const models::Conclusion& conclusion) {
    std::string all = conclusion.sentence;
    for (const std::string& note : conclusion.notes) all += " " + note;
    return all;
}

}  // namespace

TEST_CASE("a strip under the cut-off is below it and says the chance that is left") {
    const auto conclusion = models::conclude(truck({strip_of(0.42)}));
    CHECK(conclusion.state == CounterState::below_cut_off);
    CHECK_THAT(conclusion.sentence, Contains("Below the cut-off: 0.42 mg/kg against the cut-off 0.92 mg/kg"));
    CHECK_THAT(conclusion.sentence, Contains("chance the truck is over 1.0 mg/kg"));
    CHECK(conclusion.results_counted == 1);
    // Whitaker's equations for 1000 g and 5 g at 1 mg/kg: variance 0.454 * 0.026 + 5 * 0.066 + 0.026 = 0.367804;
    // R: q = log(1.367804); 1 - pnorm((-log(0.42) - q/2) / sqrt(q))
    CHECK(*conclusion.chance_over_low == Approx(0.101996621992).epsilon(1e-10));
}

TEST_CASE("a strip at the cut-off is suspected and says what would help") {
    models::CounterQuestion question = truck({strip_of(0.92)});
    question.improvements = models::usual_improvements(question.plan, question.error, 0.10);
    const auto conclusion = models::conclude(question);
    CHECK(conclusion.state == CounterState::suspected);
    CHECK_THAT(conclusion.sentence, Contains("Suspected: hold and confirm; ") &&
                                        Contains("chance the truck is over 1.0 mg/kg; a finer grind and a 25 g portion "
                                                 "would bring that to"));
    REQUIRE(conclusion.chance_with_improvement);
    // Own preparation CV 10 % at 5 g is 4.472 % at 25 g: variance 0.454 * 0.026 + 0.002 + 0.026 = 0.039804;
    // R: q = log(1.039804); 1 - pnorm((-log(0.92) - q/2) / sqrt(q))
    CHECK(*conclusion.chance_with_improvement == Approx(0.373248442256).epsilon(1e-10));
    CHECK(*conclusion.chance_with_improvement < *conclusion.chance_over_low);
}

TEST_CASE("below the cut-off is not yet cleared where the chance that is left is above the cap") {
    const std::string cap = "above the 5 % a cleared load may have";
    auto question = truck({strip_of(0.6)});
    question.improvements = models::usual_improvements(question.plan, question.error, 0.10);
    const auto likely = models::conclude(question);
    CHECK(likely.state == CounterState::below_cut_off);
    CHECK_THAT(likely.sentence, Contains(cap) && Contains("a finer grind and a 25 g portion would bring that to"));
    question.results = {strip_of(0.1)};
    CHECK_THAT(models::conclude(question).sentence, !Contains(cap) && !Contains("would bring"));
    question.load_cap = 1.5;
    CHECK_THROWS_WITH(models::conclude(question), Contains("1.5 is no chance"));
}

TEST_CASE("a better test that would hardly change the chance is not spoken of") {
    models::CounterQuestion question = truck({strip_of(1.1)});
    models::SamplingPlan twice = question.plan;
    twice.analyses = 2;
    question.improvements = {{"a second strip of the same extract", twice, question.error}};
    const auto conclusion = models::conclude(question);
    CHECK(conclusion.state == CounterState::suspected);
    REQUIRE(conclusion.improvement);
    CHECK(*conclusion.chance_with_improvement == Approx(*conclusion.chance_over_low).margin(0.05).epsilon(0.0));
    CHECK_THAT(conclusion.sentence, !Contains("would bring"));
}

TEST_CASE("a strip is never told to be rejected") {
    for (const double x : {0.1, 0.92, 1.0, 1.4, 9.0}) {
        for (const Reading reading : {Reading::value, Reading::below, Reading::above, Reading::invalid}) {
            const std::string words = all_words(models::conclude(truck({strip_of(x, reading)}, RepeatWhen::suspected)));
            CHECK_THAT(words, !Contains("reject", Catch::CaseSensitive::No));
        }
    }
}

TEST_CASE("every valid result counts and a single one over the limit is not averaged away") {
    // 0.95 is suspected, 0.55 brings the mean to 0.75.
    auto question = truck({strip_of(0.95), strip_of(0.55)}, RepeatWhen::suspected);
    auto conclusion = models::conclude(question);
    CHECK(conclusion.state == CounterState::below_cut_off);
    CHECK(*conclusion.mean_low_mg_per_kg == Approx(0.75));
    CHECK_THAT(conclusion.sentence, Contains("0.75 mg/kg (mean of 2 valid results)"));
    // 1.05 is over 1.0 whatever comes after it.
    question = truck({strip_of(1.05), strip_of(0.3)}, RepeatWhen::suspected);
    conclusion = models::conclude(question);
    CHECK(conclusion.state == CounterState::suspected);
    CHECK(conclusion.results_counted == 2);
    CHECK_THAT(conclusion.sentence, Contains("one of them alone, 1.05 mg/kg, is over the limit"));
    question = truck({strip_of(1.05), strip_of(1.52), strip_of(0.3)}, RepeatWhen::suspected);
    CHECK_THAT(models::conclude(question).sentence,
               Contains("2 of the 3 are over the limit by themselves, the highest 1.52 mg/kg"));
}

TEST_CASE("results beyond the fixed procedure count and lift no suspicion") {
    auto question = truck({strip_of(0.97), strip_of(0.95), strip_of(0.2), strip_of(0.2)}, RepeatWhen::suspected);
    const auto conclusion = models::conclude(question);
    CHECK(conclusion.state == CounterState::suspected);
    CHECK(*conclusion.mean_low_mg_per_kg == Approx(0.58));
    CHECK_THAT(all_words(conclusion), Contains("2 results beyond what the procedure asks for: they are counted"));
    // A further result can raise a suspicion, though nobody asked for it.
    question = truck({strip_of(0.5), strip_of(1.4)});
    CHECK(models::conclude(question).state == CounterState::suspected);
}

TEST_CASE("the procedure decides about repeats before they are made") {
    const auto suspected = models::conclude(truck({strip_of(0.95)}, RepeatWhen::suspected));
    CHECK(suspected.repeats_due == 1);
    CHECK(suspected.state == CounterState::suspected);
    CHECK_THAT(suspected.sentence, Contains("asks for 1 more portion of the ground sample before it is concluded"));
    CHECK(models::conclude(truck({strip_of(0.5)}, RepeatWhen::suspected)).repeats_due == 0);
    const auto early = models::conclude(truck({strip_of(0.5)}, RepeatWhen::always));
    CHECK(early.repeats_due == 1);
    CHECK(early.state == CounterState::undecided);
    CHECK_THAT(early.sentence, Contains("Not concluded yet: 0.5 mg/kg so far"));
    models::RepeatProcedure procedure;
    CHECK_THAT(
        models::in_words(procedure),
        Contains("If the first result is not below the cut-off, 1 more portion of the ground sample is tested") &&
            Contains("the mean of all valid results"));
    procedure.when = RepeatWhen::never;
    CHECK_THAT(models::in_words(procedure), Contains("tested once and not again"));
    procedure.most_repeats = -1;
    CHECK_THROWS_WITH(models::in_words(procedure), Contains("-1 repeats are none"));
}

TEST_CASE("repeats of suspected results let at most one in a hundred more pass at the limit") {
    // Readings of grain at the limit against a cut-off that one of them passes in 5 % of cases.
    std::mt19937_64 random(5);
    std::normal_distribution<double> draw;
    auto question = truck({strip_of(1.0), strip_of(1.0)}, RepeatWhen::suspected);
    question.cut_off.mg_per_kg = 0.8355146;  // 1 - 1.644854 * 0.1
    int passed = 0;
    const int n = 40000;
    for (int i = 0; i < n; ++i) {
        question.results[0].result.don_mg_per_kg = 1.0 + 0.1 * draw(random);
        question.results[1].result.don_mg_per_kg = 1.0 + 0.1 * draw(random);
        if (question.results[0].result.don_mg_per_kg < question.cut_off.mg_per_kg) {
            ++passed;
            continue;
        }
        passed += models::conclude(question).state == CounterState::below_cut_off;
    }
    // Three standard errors above 5 % and 1 %, three below 5 %.
    CHECK(static_cast<double>(passed) / n < 0.06 + 0.0036);
    CHECK(static_cast<double>(passed) / n > 0.05 - 0.0033);
}

TEST_CASE("void tests keep their reason and count for nothing") {
    auto void_test = strip_of(0.0, Reading::invalid);
    void_test.void_reason = "no control line";
    const auto conclusion = models::conclude(truck({void_test, strip_of(0.4)}));
    CHECK(conclusion.state == CounterState::below_cut_off);
    CHECK(conclusion.results_counted == 1);
    CHECK_THAT(all_words(conclusion), Contains("Test T1 is void and does not count: no control line."));
    const auto none = models::conclude(truck({void_test}));
    CHECK(none.state == CounterState::undecided);
    CHECK(none.repeats_due == 1);
    CHECK_THAT(none.sentence, Contains("No valid result: hold the truck and test it."));
}

TEST_CASE("the ends of a strip's range are facts and no numbers") {
    CHECK(models::conclude(truck({strip_of(0.25, Reading::below)})).state == CounterState::below_cut_off);
    CHECK(models::conclude(truck({strip_of(0.92, Reading::below)})).state == CounterState::below_cut_off);
    const auto open = models::conclude(truck({strip_of(2.5, Reading::below)}));
    CHECK(open.state == CounterState::undecided);
    CHECK_THAT(open.sentence, Contains("the strip's range leaves it open") && Contains("at most"));
    const auto above = models::conclude(truck({strip_of(5.0, Reading::above)}));
    CHECK(above.state == CounterState::suspected);
    CHECK_THAT(above.sentence, Contains("5.0 mg/kg or more") && Contains("; over 99 % chance"));
    CHECK_FALSE(above.chance_with_improvement);
}

TEST_CASE("a laboratory stands above the strips by the rule of the limit") {
    auto laboratory = strip_of(1.3);
    laboratory.result.method = models::Method::laboratory;
    auto conclusion = models::conclude(truck({strip_of(0.4), laboratory}));
    CHECK(conclusion.state == CounterState::laboratory_decides);
    CHECK_THAT(conclusion.sentence, Contains("it found 1.3 mg/kg, which is over by the rule of the limit"));
    laboratory.result.don_mg_per_kg = 0.8;
    laboratory.result.sample = "S1";
    auto strip = strip_of(1.4);
    strip.result.sample = "S1";
    conclusion = models::conclude(truck({strip, laboratory}));
    CHECK(conclusion.state == CounterState::laboratory_decides);
    CHECK_THAT(conclusion.sentence, Contains("0.8 mg/kg, which meets the limit"));
}

TEST_CASE("a laboratory answers the strip of its own sample and of no other") {
    auto laboratory = strip_of(0.8);
    laboratory.result.method = models::Method::laboratory;
    laboratory.result.sample = "S1";
    auto strip = strip_of(1.4);
    strip.result.sample = "S2";
    const auto conclusion = models::conclude(truck({strip, laboratory}));
    CHECK(conclusion.state == CounterState::suspected);
    CHECK(conclusion.results_counted == 1);
    CHECK_THAT(all_words(conclusion), Contains("A laboratory found 0.8 mg/kg in another sample of it"));
    // Under the limit it is no reason to hold what the laboratory has found good.
    strip.result.don_mg_per_kg = 0.7;
    CHECK(models::conclude(truck({strip, laboratory})).state == CounterState::laboratory_decides);
}

TEST_CASE("what strips share widens the chance and what is known of it is taken off") {
    models::CounterQuestion question = truck({strip_of(0.9)});
    const double alone = *models::conclude(question).chance_over_low;
    question.shared_log_variance = 0.04;
    // R: q = log(1.367804); 1 - pnorm((-log(0.9) - q/2) / sqrt(q + 0.04))
    CHECK(*models::conclude(question).chance_over_low == Approx(0.534355027499).epsilon(1e-10));
    CHECK(alone != *models::conclude(question).chance_over_low);
    question.shared_log_mean = std::log(0.9 / 0.8);
    CHECK(*models::conclude(question).chance_over_low == Approx(0.455426805174).epsilon(1e-10));
}

TEST_CASE("a result on another basis is brought to that of the limit") {
    auto dry = strip_of(1.0);
    dry.result.basis = models::Basis::dry;
    dry.result.moisture = 0.15;
    // 1.0 dry is 0.85 as is at 15 % moisture.
    const auto conclusion = models::conclude(truck({dry}));
    CHECK(*conclusion.mean_low_mg_per_kg == Approx(0.85));
    CHECK(conclusion.state == CounterState::below_cut_off);
}

TEST_CASE("a cut-off without validation is the end of guarded acceptance") {
    models::Limit limit;
    limit.limit_mg_per_kg = 1.25;
    const auto cut_off = models::cutoff_from_guard(models::normal_error(0.15), limit);
    CHECK(cut_off.mg_per_kg == Approx(1.00327).margin(5e-6).epsilon(0.0));
    CHECK_THAT(cut_off.from, Contains("guard factor 1.645"));
    CHECK_THROWS_WITH(models::cutoff_from_guard(models::normal_error(1.0), limit), Contains("no result would pass"));
}

TEST_CASE("a question that cannot be is refused by its words") {
    auto question = truck({strip_of(0.5)});
    question.cut_off.mg_per_kg = 1.2;
    CHECK_THROWS_WITH(models::conclude(question), Contains("the cut-off 1.2 mg/kg lies above the limit 1.0"));
    question.cut_off.mg_per_kg = std::nan("");
    CHECK_THROWS_WITH(models::conclude(question), Contains("a cut-off of nan"));
    question = truck({strip_of(std::nan(""))});
    CHECK_THROWS_WITH(models::conclude(question), Contains("test T1: a result of nan mg/kg is none"));
    question = truck({strip_of(0.5)});
    question.plan.portion_g = 2000.0;
    CHECK_THROWS_WITH(models::conclude(question), Contains("a portion of 2000 g is larger than the sample of 1000 g"));
}

TEST_CASE("a larger portion and a finer grind divide an own error of known portion once") {
    models::SamplingPlan plan;
    plan.portion_g = 5.0;
    models::ErrorModel own;
    own.own_sampling_cv = own.own_analysis_cv = 0.0;
    own.own_preparation_cv = 0.3;
    const auto cv_of = [&](const std::string& words, const models::ErrorModel& error) {
        for (const models::Improvement& each : models::usual_improvements(plan, error, 0.1)) {
            if (each.words == words) return models::plan_cv(each.plan, 1.0, each.error);
        }
        return -1.0;
    };
    CHECK(cv_of("a 25 g portion", own) == -1.0);  // at which portion 0.3 was measured is not known
    own.own_portion_g = 10.0;
    CHECK(cv_of("a 25 g portion", own) == Approx(0.3 * std::sqrt(10.0 / 25.0)));
    CHECK(cv_of("a finer grind", own) == Approx(0.1));  // measured with the portion in use
    CHECK(cv_of("a finer grind and a 25 g portion", own) == Approx(0.1 * std::sqrt(5.0 / 25.0)));
}
