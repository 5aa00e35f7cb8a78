#include <catch2/catch.hpp>

#include "models/assay/amounts.h"
#include "models/error.h"

namespace {

using Catch::Matchers::Contains;
using models::AmountsQuestion;

AmountsQuestion twenty_grams() {
    AmountsQuestion question;
    question.portion_g = 20.0;
    question.ratio = {4.0, "kit lot K7"};
    question.dilution = 6.0;
    question.range = {0.2, 6.0};
    return question;
}

std::string refusal_of_amounts(const AmountsQuestion& question) {
    try {
        models::amounts_for(question);
    } catch (const models::Error& error) {
        return error.what();
    }
    return "";
}

}  // namespace

TEST_CASE("extractant goes in proportion to the grain and the range stays the lot's") {
    const models::Amounts amounts = models::amounts_for(twenty_grams());
    CHECK(amounts.extractant_ml == 80.0);
    CHECK(amounts.range.low_mg_per_kg == 0.2);
    CHECK(amounts.range.high_mg_per_kg == 6.0);
    REQUIRE(amounts.steps.size() == 1);  // the lot's own: one part into five more is six, common practice
    CHECK(amounts.steps[0].of_the_lot);
    CHECK(amounts.steps[0].take_ml == 1.0);
    CHECK(amounts.steps[0].add_ml == 5.0);
    CHECK(amounts.notes.empty());
}

TEST_CASE("an extra dilution comes before the lot's own and alone moves the range") {
    AmountsQuestion question = twenty_grams();
    question.extra_dilution = 5.0;
    const models::Amounts amounts = models::amounts_for(question);
    CHECK(amounts.range.low_mg_per_kg == 1.0);
    CHECK(amounts.range.high_mg_per_kg == 30.0);
    REQUIRE(amounts.steps.size() == 2);
    CHECK(amounts.steps[0].add_ml == 4.0);
    CHECK_FALSE(amounts.steps[0].of_the_lot);
    CHECK(amounts.steps[1].what == "thinned extract");
    CHECK(amounts.steps[1].factor_so_far == 30.0);
    REQUIRE(amounts.notes.size() == 1);
    CHECK_THAT(amounts.notes[0], Contains("write extra_dilution 5 with the test"));
}

TEST_CASE("a large extra dilution is made in equal steps of at most ten") {
    AmountsQuestion question = twenty_grams();
    question.dilution = 1.0;
    for (const double factor : {10.0, 25.0, 100.0, 1000.0}) {
        question.extra_dilution = factor;
        const auto steps = models::amounts_for(question).steps;
        CHECK(steps.size() == (factor == 10.0 ? 1 : factor == 1000.0 ? 3 : 2));
        for (const auto& step : steps) CHECK(step.factor == Approx(steps[0].factor));
        CHECK(steps[0].factor <= 10.0 + 1e-9);
        CHECK(steps.back().factor_so_far == Approx(factor));
    }
}

TEST_CASE("a ratio carries its label") {
    CHECK(models::common_practice_ratio().ml_per_g == 5.0);
    CHECK_THAT(models::common_practice_ratio().source, Contains("common practice, no source"));
    AmountsQuestion question = twenty_grams();
    question.ratio.source.clear();
    CHECK_THAT(refusal_of_amounts(question), Contains("does not say where it comes from"));
}

TEST_CASE("amounts that cannot be are refused by their words") {
    AmountsQuestion question = twenty_grams();
    question.sample_mass_g = 15.0;
    CHECK_THAT(refusal_of_amounts(question), Contains("a portion of 20 g is larger than the sample of 15 g"));
    question = twenty_grams();
    question.portion_g = 0.0;
    CHECK_THAT(refusal_of_amounts(question), Contains("the portion is 0 g, which is not above zero"));
    question = twenty_grams();
    question.ratio.ml_per_g = -5.0;
    CHECK_THAT(refusal_of_amounts(question), Contains("the ratio of extractant to grain is -5 ml/g"));
    question = twenty_grams();
    question.extra_dilution = 0.2;
    CHECK_THAT(refusal_of_amounts(question), Contains("the extra dilution is 0.2, which thins nothing"));
    question = twenty_grams();
    question.range = {6.0, 0.2};
    CHECK_THAT(refusal_of_amounts(question), Contains("a working range of 6 to 0.2 mg/kg is empty"));
}

TEST_CASE("a portion under the lot's own scatters more and says so") {
    AmountsQuestion question = twenty_grams();
    question.usual_portion_g = 25.0;
    REQUIRE(models::amounts_for(question).notes.size() == 1);
    CHECK_THAT(models::amounts_for(question).notes[0], Contains("the lot's procedure extracts 25 g"));
}

TEST_CASE("the extra dilution for a content is the smallest whole one that reaches it") {
    // Half as much again as expected has to lie inside: 1.5 x 4 = 6, 1.5 x 15 = 22.5 = 3 x 7.5.
    CHECK(models::extra_dilution_for(4.0, {0.2, 6.0}) == 1.0);
    CHECK(models::extra_dilution_for(4.1, {0.2, 6.0}) == 2.0);
    CHECK(models::extra_dilution_for(15.0, {0.25, 7.5}) == 3.0);
    CHECK(models::extra_dilution_for(18.0, {0.2, 6.0}) == 5.0);
    // A range too narrow for that holds the content itself.
    CHECK(models::extra_dilution_for(1.0, {0.9, 1.0}) == 1.0);
    CHECK(models::extra_dilution_for(1.9, {0.9, 1.0}) == 2.0);
    CHECK_THROWS_WITH(models::extra_dilution_for(0.1, {0.2, 6.0}),
                      Contains("lies below the range, which begins at 0.2"));
    CHECK_THROWS_WITH(models::extra_dilution_for(1.5, {0.9, 1.0}), Contains("no whole dilution brings 1.5 mg/kg"));
}
