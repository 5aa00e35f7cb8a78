#include <catch2/catch.hpp>

#include "models/assay/recovery.h"
#include "models/error.h"

namespace {

models::ControlSeries read_control(const std::vector<double>& contents, double assigned, std::optional<double> u) {
    models::ControlSeries series;
    series.control.control = "C1";
    series.control.assigned_mg_per_kg = assigned;
    series.control.standard_uncertainty_mg_per_kg = u;
    series.kit_lot = "K77";
    for (const double content : contents) {
        models::Test test;
        test.test = "T" + std::to_string(series.readings.size() + 1);
        test.don_mg_per_kg = content;
        series.readings.push_back({test, content});
    }
    return series;
}

}  // namespace

TEST_CASE("mean recovery carries the scatter of the readings and the doubt about the assigned content") {
    const auto lot = models::recovery_of(read_control({.96, 1.04, 1.10, .92, .99, 1.01, .95, 1.03}, 1.0, 0.04));
    // R 4.2: r <- c(96,104,110,92,99,101,95,103); se <- sd(r)/sqrt(8); u <- sqrt(se^2+(mean(r)*4/100)^2)
    // nu <- u^4/(se^4/7); mean(r)+c(-1,1)*qt(.95,nu)*u
    CHECK(lot.mean_fraction == Approx(1.0));
    CHECK(lot.degrees_of_freedom == Approx(165.47800238));
    CHECK(*lot.low90 == Approx(0.9257620496));
    CHECK(*lot.high90 == Approx(1.0742379504));
    CHECK(*lot.holds_all);
    CHECK(*lot.readings[2].standard_uncertainty_from_assigned == Approx(1.10 * 0.04));
    CHECK(lot.says == "100 % of the assigned content in 8 readings (90 % interval 93 to 107 %), and 100 % lies inside");
}

TEST_CASE("a low recovery whose interval leaves 100 percent out says so") {
    const auto lot = models::recovery_of(read_control({0.80, 0.82, 0.78, 0.81, 0.79}, 1.0, std::nullopt));
    CHECK_FALSE(*lot.holds_all);
    CHECK(lot.says ==
          "80 % of the assigned content in 5 readings (90 % interval 78 to 82 %), and 100 % does not lie "
          "inside; the uncertainty of the assigned content is not recorded and not in it");
}

TEST_CASE("recovery of one reading has no interval and bounds are counted and left out") {
    models::ControlSeries series = read_control({1.2, 0.05}, 1.0, 0.1);
    series.readings[1].test.reading = models::Reading::below;
    const auto lot = models::recovery_of(series);
    CHECK_FALSE(lot.low90);
    CHECK_FALSE(lot.holds_all);
    CHECK(lot.only_bounds == 1);
    CHECK(lot.says ==
          "120 % of the assigned content in one reading, which has no interval; 1 reading below or above "
          "the range is not in the mean");
}

TEST_CASE("readings that do not differ leave the doubt about the assigned content") {
    const auto lot = models::recovery_of(read_control({2.0, 2.0, 2.0}, 2.0, 0.1));
    CHECK(*lot.high90 - 1.0 == Approx(1.644854 * 0.05).epsilon(1e-5));
}

TEST_CASE("a control with no assigned content has no recovery") {
    CHECK_THROWS_WITH(models::recovery_of(read_control({1.0}, 0.0, std::nullopt)),
                      Catch::Contains("control C1 has no assigned content, so there is no recovery of it"));
}
