#include "models/decision/clearing.h"

#include <catch2/catch.hpp>

#include "models/error.h"

namespace {

using models::ClearingState;
using models::Method;
using models::Reading;

models::Limit one() {
    models::Limit limit;
    limit.limit_id = "one";
    limit.limit_mg_per_kg = 1.0;
    return limit;
}

}  // namespace

TEST_CASE("an own strip over the limit is over although the model thinks it is under") {
    const auto clearing = models::clear_grain({{"T1", Reading::value, 1.3, Method::strip}}, 0.01, one());
    CHECK(clearing.state == ClearingState::over);
    CHECK(clearing.suspected);
    CHECK(clearing.reason == "own strip 1.3 mg/kg is over 1.0: suspected, hold and have a laboratory confirm it");
}

TEST_CASE("a strip over the limit is answered by a laboratory that looked at its own sample") {
    const models::OwnResult strip{"T1", Reading::value, 1.3, Method::strip, models::Basis::as_is, 0.0, "S1"};
    models::OwnResult laboratory{"T2", Reading::value, 0.7, Method::laboratory, models::Basis::as_is, 0.0, "S1"};
    CHECK(models::clear_grain({strip, laboratory}, 0.02, one()).state == ClearingState::cleared);
    CHECK(models::clear_grain({strip, laboratory}, 0.12, one()).state == ClearingState::undecided);
    CHECK(models::clear_grain({strip, laboratory}, 0.02, one()).results_counted == 2);
    laboratory.sample = "S2";
    CHECK(models::clear_grain({strip, laboratory}, 0.02, one()).state == ClearingState::over);
    laboratory.sample = "S1";
    laboratory.reading = Reading::invalid;
    CHECK(models::clear_grain({strip, laboratory}, 0.02, one()).state == ClearingState::over);
    laboratory.reading = Reading::value;
    laboratory.don_mg_per_kg = 1.1;
    CHECK_FALSE(models::clear_grain({strip, laboratory}, 0.02, one()).suspected);
}

TEST_CASE("a second result under the limit does not lift one over it") {
    const auto clearing = models::clear_grain(
        {{"T1", Reading::value, 1.3, Method::strip}, {"T2", Reading::value, 0.4, Method::laboratory}}, 0.0, one());
    CHECK(clearing.state == ClearingState::over);
    CHECK(clearing.results_counted == 2);
    CHECK_THAT(clearing.reason, Catch::Contains("another result under the limit does not lift that"));
}

TEST_CASE("a laboratory over the limit is not called a suspicion") {
    const auto clearing = models::clear_grain(
        {{"T1", Reading::above, 2.0, Method::strip}, {"T2", Reading::value, 1.02, Method::laboratory}}, 0.9, one());
    CHECK(clearing.state == ClearingState::over);
    CHECK_FALSE(clearing.suspected);
    CHECK(clearing.reason == "own laboratory result 1.02 mg/kg is over 1.0");
}

TEST_CASE("a void test counts for nothing") {
    const auto clearing = models::clear_grain({{"T1", Reading::invalid, 5.0, Method::strip}}, 0.02, one());
    CHECK(clearing.state == ClearingState::cleared);
    CHECK(clearing.results_counted == 0);
}

TEST_CASE("without a result over grain is cleared up to the load cap and undecided above it") {
    CHECK(models::clear_grain({}, 0.05, one()).state == ClearingState::cleared);
    const auto undecided = models::clear_grain({{"T1", Reading::value, 0.9, Method::strip}}, 0.12, one());
    CHECK(undecided.state == ClearingState::undecided);
    CHECK(undecided.reason ==
          "12 % chance of being over: above the 5 % a cleared load may have; hold and take a second sample or "
          "ask a laboratory");
    CHECK_THAT(models::clear_grain({}, 0.0501, one()).reason, Catch::Contains("5.01 % chance"));
}

TEST_CASE("only the user's own upper cap makes untested grain over") {
    CHECK(models::clear_grain({}, 0.999, one()).state == ClearingState::undecided);
    CHECK(models::clear_grain({}, 0.999, one(), {.upper_cap = 0.9}).state == ClearingState::over);
    CHECK(models::clear_grain({}, 0.9, one(), {.upper_cap = 0.9}).state == ClearingState::undecided);
}

TEST_CASE("a result that cannot decide neither clears nor condemns") {
    CHECK(models::clear_grain({{"T1", Reading::below, 2.5, Method::strip}}, 0.3, one()).state ==
          ClearingState::undecided);
    CHECK(models::clear_grain({{"T1", Reading::below, 2.5, Method::strip}}, 0.03, one()).state ==
          ClearingState::cleared);
    CHECK(models::clear_grain({{"T1", Reading::above, 0.5, Method::strip}}, 0.3, one()).state ==
          ClearingState::undecided);
}

TEST_CASE("grain of unknown chance is held") {
    CHECK(models::clear_grain({}, std::nullopt, one()).state == ClearingState::undecided);
    CHECK(models::clear_grain({{"T", Reading::value, 0.1, Method::laboratory}}, std::nullopt, one()).state ==
          ClearingState::undecided);
}

TEST_CASE("rounding at the limit follows the contract in the clearing as well") {
    models::Limit contract = one();
    contract.rounding_mg_per_kg = 0.1;
    CHECK(models::clear_grain({{"T", Reading::value, 1.04, Method::laboratory}}, 0.04, contract).state ==
          ClearingState::cleared);
    const auto over = models::clear_grain({{"T", Reading::value, 1.05, Method::laboratory}}, 0.04, contract);
    CHECK(over.state == ClearingState::over);
    CHECK_THAT(over.reason, Catch::Contains("(rounded to 0.1: 1.1)"));
}

TEST_CASE("a guarded result waits for the laboratory") {
    const auto clearing =
        models::clear_grain({{"T", Reading::value, 0.95, Method::strip}}, 0.04, one(), {.guard_mg_per_kg = 0.1});
    CHECK(clearing.state == ClearingState::undecided);
    CHECK_THAT(clearing.reason, Catch::Contains("within 0.1 mg/kg of the limit 1.0"));
}

TEST_CASE("caps that are no chances are refused") {
    CHECK_THROWS_WITH(models::clear_grain({}, 0.1, one(), {.load_cap = 5.0}),
                      Catch::Contains("load cap") && Catch::Contains("5 % is 0.05"));
    CHECK_THROWS_AS(models::clear_grain({}, 1.2, one()), models::Error);
    CHECK_THROWS_WITH(models::clear_grain({}, 0.1, one(), {.load_cap = 0.05, .upper_cap = 0.01}),
                      Catch::Contains("upper cap above the load cap"));
}

TEST_CASE("samples that contradict one another clear nothing and an over one stays over") {
    models::OwnResult low{"T1", Reading::value, 0.2, Method::strip};
    models::OwnResult high{"T2", Reading::value, 0.9, Method::strip};
    CHECK(models::clear_grain({low, high}, 0.01, one()).state == ClearingState::cleared);
    low.contradicted = high.contradicted = true;
    const auto clearing = models::clear_grain({low, high}, 0.01, one());
    CHECK(clearing.state == ClearingState::undecided);
    CHECK_THAT(clearing.reason, Catch::Contains("look for a mix-up and take another"));
    CHECK(clearing.in_short == "its samples contradict: take another");
    high.don_mg_per_kg = 1.4;
    CHECK(models::clear_grain({low, high}, 0.01, one()).state == ClearingState::over);
}
