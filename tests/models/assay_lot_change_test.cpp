#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/lot_change.h"
#include "models/error.h"

namespace {

using models::LotOutcome;

std::vector<models::LotPair> lot_pairs() {
    const double was[] = {0.50, 0.80, 1.20, 2.10, 3.40, 0.95}, is[] = {0.55, 0.83, 1.18, 2.40, 3.60, 1.02};
    std::vector<models::LotPair> pairs;
    for (int i = 0; i < 6; ++i) pairs.push_back({was[i], is[i]});
    return pairs;
}

}  // namespace

TEST_CASE("the change between lots from paired samples is the interval of a paired t test on logarithms") {
    const auto change = models::lot_change_of_pairs("K1", "K2", lot_pairs(), std::nullopt);
    // R 4.2: t.test(log(b), log(a), paired = TRUE, conf.level = 0.9)
    CHECK(std::log(*change.factor) == Approx(0.0628504605));
    CHECK(std::log(*change.low90) == Approx(0.0206256309));
    CHECK(std::log(*change.high90) == Approx(0.1050752900));
    CHECK(change.outcome == LotOutcome::no_bound);
    CHECK_THAT(change.says, Catch::StartsWith("kit lot K2 reads +6.5 % against K1 (90 % interval +2.1 % to +11.1 %") &&
                                Catch::EndsWith("no bound was given, so nothing says whether that matters"));
}

TEST_CASE("the change between lots from a control is the interval of Welch's t test on logarithms") {
    const auto change = models::lot_change_of_control("C1", "K1", "K2", {1.02, 0.95, 1.10, 0.98, 1.05, 0.92},
                                                      {1.15, 1.20, 1.08, 1.25, 1.11}, 0.05);
    // R 4.2: t.test(log(y), log(x), conf.level = 0.9)
    CHECK(std::log(*change.factor) == Approx(0.1438053946));
    CHECK(std::log(*change.low90) == Approx(0.0747154895));
    CHECK(std::log(*change.high90) == Approx(0.2128952997));
    CHECK(change.degrees_of_freedom == Approx(8.9351075421));
    CHECK(change.outcome == LotOutcome::changed);
    CHECK_THAT(change.says, Catch::EndsWith("beyond the bound of 5 %: the lots read differently"));
}

TEST_CASE("the outcome is what the bound makes of the interval") {
    // 90 % interval +2.08 % to +11.08 %
    CHECK(models::lot_change_of_pairs("K1", "K2", lot_pairs(), 0.12).outcome == LotOutcome::equivalent);
    CHECK(models::lot_change_of_pairs("K1", "K2", lot_pairs(), 0.10).outcome == LotOutcome::open);
    CHECK(models::lot_change_of_pairs("K1", "K2", lot_pairs(), 0.02).outcome == LotOutcome::changed);
    // The bound is a factor: the same change seen from the other side has the same outcome.
    std::vector<models::LotPair> turned;
    for (const models::LotPair& pair : lot_pairs()) turned.push_back({pair.new_mg_per_kg, pair.old_mg_per_kg});
    for (const double bound : {0.12, 0.10, 0.02}) {
        CHECK(models::lot_change_of_pairs("K2", "K1", turned, bound).outcome ==
              models::lot_change_of_pairs("K1", "K2", lot_pairs(), bound).outcome);
    }
}

TEST_CASE("four pairs claim nothing whatever they show") {
    auto pairs = lot_pairs();
    pairs.resize(4);
    for (auto& pair : pairs) pair.new_mg_per_kg = 3.0 * pair.old_mg_per_kg;
    const auto change = models::lot_change_of_pairs("K1", "K2", pairs, 0.10);
    CHECK(change.outcome == LotOutcome::too_few);
    CHECK(change.says ==
          "4 pairs: too few to claim anything about the change from kit lot K1 to K2, which takes 5 pairs");
    const auto control = models::lot_change_of_control("C1", "K1", "K2", {1, 1, 1, 1, 1, 1}, {2, 2, 2, 2}, 0.1);
    CHECK(control.outcome == LotOutcome::too_few);
    CHECK_FALSE(models::lot_change_of_pairs("K1", "K2", {}, 0.1).factor);
}

TEST_CASE("lots cannot be compared on nothing") {
    CHECK_THROWS_WITH(models::lot_change_of_pairs("K1", "K2", {{1.0, 0.0}}, 0.1),
                      Catch::Contains("a reading of 0 mg/kg with kit lot K2 cannot be compared"));
    CHECK_THROWS_WITH(models::lot_change_of_pairs("K1", "K2", lot_pairs(), 0.0),
                      Catch::Contains("a bound of 0 % holds no change"));
}
