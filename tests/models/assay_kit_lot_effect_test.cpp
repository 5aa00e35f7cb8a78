#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/kit_lot_effect.h"
#include "models/error.h"

using Catch::Matchers::Contains;

namespace {

models::KitLotComparison beside(const char* against, double strip, double reference, double q, double p,
                                bool laboratory = true) {
    return {against, laboratory, strip, reference, q, p};
}

}  // namespace

TEST_CASE("a kit lot that nothing is compared with is what the prior says") {
    const auto effect = models::kit_lot_effect("K7", {}, 0.1);
    CHECK(effect.log_mean == 0.0);
    CHECK(effect.log_variance == Approx(0.01));
    CHECK_THAT(effect.says, Contains("kit lot K7 reads true") && Contains("nothing to compare it with"));
}

TEST_CASE("the effect of a kit lot is the generalised least squares of its comparisons and its prior") {
    // R: y <- log(c(1.3, 1.1, 0.62, 2.2)) + c(.04, .05, .06, .03)/2 - log(c(1.0, 1.0, 0.5, 2.0)) - c(.01, .01, .02,
    // 0)/2
    //    V <- diag(c(.04, .05, .06, .03)); V[1:2, 1:2] <- V[1:2, 1:2] + .01; V[3, 3] <- V[3, 3] + .02
    //    W <- solve(V); v <- 1 / (sum(W) + 1 / .1^2); c(v * sum(W %*% y), v)
    const auto effect = models::kit_lot_effect(
        "K7",
        {beside("laboratory test A", 1.3, 1.0, 0.04, 0.01), beside("laboratory test A", 1.1, 1.0, 0.05, 0.01),
         beside("laboratory test B", 0.62, 0.5, 0.06, 0.02), beside("control C1", 2.2, 2.0, 0.03, 0.0, false)},
        0.1);
    CHECK(effect.log_mean == Approx(0.0734363450354117).epsilon(1e-10));
    CHECK(effect.log_variance == Approx(0.0056539398862713).epsilon(1e-10));
    CHECK(effect.laboratory_pairs == 3);
    CHECK(effect.controls == 1);
    CHECK_THAT(effect.says, Contains("3 laboratory pairs, 1 reading of controls"));
}

TEST_CASE("many readings of one control never tell a kit lot better than the control is known") {
    std::vector<models::KitLotComparison> readings(1000, beside("control C1", 1.1, 1.0, 0.02, 0.0025, false));
    const auto effect = models::kit_lot_effect("K7", readings, 10.0);
    CHECK(effect.log_variance == Approx(0.0025).epsilon(0.02));
    readings.resize(1);
    CHECK(models::kit_lot_effect("K7", readings, 10.0).log_variance > effect.log_variance);
}

TEST_CASE("a comparison that tells nothing of a kit lot is refused") {
    CHECK_THROWS_WITH(models::kit_lot_effect("K7", {beside("control C1", 0.0, 1.0, 0.02, 0.0)}, 0.1),
                      Contains("tells nothing") && Contains("control C1"));
    CHECK_THROWS_WITH(models::kit_lot_effect("K7", {beside("control C1", 1.0, 1.0, 0.0, 0.0)}, 0.1),
                      Contains("log variance"));
}
