#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/error_variance.h"
#include "models/error.h"

using namespace models;
using Catch::Matchers::Contains;

TEST_CASE("the error of the reference procedure is the one that was published for 5 mg/kg") {
    // Whitaker et al. (2000), J AOAC Int 83, 1285-1292, abstract: 13.4, 6.3, 10.0 and 6.3 %.
    const AssayProcedure reference{454.0, 25.0, 1};
    const RelativeVariance v = relative_variance(5.0, reference);
    CHECK(100.0 * std::sqrt(v.total()) == Approx(13.4).margin(0.05).epsilon(0.0));
    CHECK(100.0 * std::sqrt(v.sampling) == Approx(6.3).margin(0.05).epsilon(0.0));
    CHECK(100.0 * std::sqrt(v.preparation) == Approx(10.0).margin(0.05).epsilon(0.0));
    CHECK(100.0 * std::sqrt(v.analysis) == Approx(6.3).margin(0.05).epsilon(0.0));
}

TEST_CASE("the relative error grows towards low contents as tabulated") {
    // Computed apart from this program from the paper's equations; half a unit of the last printed digit.
    struct Row {
        double content, total_sd, sampling_cv, preparation_cv, analysis_cv;
    };
    for (const Row& row : {Row{0.5, 0.257372, 24.162, 38.497, 24.162}, Row{1.0, 0.343511, 16.125, 25.690, 16.125},
                           Row{2.0, 0.458480, 10.761, 17.144, 10.761}, Row{5.0, 0.671525, 6.304, 10.044, 6.304}}) {
        const RelativeVariance v = relative_variance(row.content, {});
        CHECK(row.content * std::sqrt(v.total()) == Approx(row.total_sd).margin(5.1e-7).epsilon(0.0));
        CHECK(100.0 * std::sqrt(v.sampling) == Approx(row.sampling_cv).margin(5.1e-4).epsilon(0.0));
        CHECK(100.0 * std::sqrt(v.preparation) == Approx(row.preparation_cv).margin(5.1e-4).epsilon(0.0));
        CHECK(100.0 * std::sqrt(v.analysis) == Approx(row.analysis_cv).margin(5.1e-4).epsilon(0.0));
    }
    // A kilogram sampled and a portion of 5 g at 1 mg/kg: standard deviation 0.6065 mg/kg.
    CHECK(std::sqrt(relative_variance(1.0, {1000.0, 5.0, 1}).total()) == Approx(0.6065).margin(5e-5).epsilon(0.0));
}

TEST_CASE("more grain divides the sampling error and more analyses the analytical one") {
    const RelativeVariance one = relative_variance(1.3, {300.0, 10.0, 1});
    const RelativeVariance more = relative_variance(1.3, {1200.0, 20.0, 3});
    CHECK(more.sampling == Approx(one.sampling / 4.0));
    CHECK(more.preparation == Approx(one.preparation / 2.0));
    CHECK(more.analysis == Approx(one.analysis / 3.0));
}

TEST_CASE("the steps on the log scale add up to the log variance of the whole") {
    for (const double content : {0.1, 0.7, 1.25, 6.0}) {
        const RelativeVariance v = relative_variance(content, {600.0, 8.0, 2});
        const LogVariance q = log_variance(v);
        CHECK(q.total() == Approx(std::log(1.0 + v.total())).epsilon(1e-13));
        CHECK(q.sampling == Approx(std::log(1.0 + v.sampling)).epsilon(1e-13));
        CHECK(q.preparation > 0.0);
        CHECK(q.analysis > 0.0);
    }
}

TEST_CASE("the relative error stays what it is below the lowest documented content") {
    CHECK(relative_variance(1e-6, {}).total() == relative_variance(0.05, {}).total());
    CHECK(relative_variance(0.04, {}).total() <
          relative_variance(0.04, {}, {.lowest_content_mg_per_kg = 0.01}).total());
}

TEST_CASE("an own duplicate study replaces the published error of its step only") {
    ErrorModel own;
    own.own_preparation_cv = 0.08;
    const RelativeVariance published = relative_variance(1.0, {});
    const RelativeVariance measured = relative_variance(1.0, {}, own);
    CHECK(measured.preparation == Approx(0.0064));
    CHECK(measured.sampling == published.sampling);
    CHECK(measured.analysis == published.analysis);
}

TEST_CASE("an own error varies with one over the mass at which its duplicates were taken") {
    // By hand: 0.2^2 454/50 = 0.3632, 0.2^2 at 454 g, 0.1^2 25/5 = 0.05.
    ErrorModel own;
    own.own_sampling_cv = 0.2;
    own.own_preparation_cv = 0.1;
    CHECK(relative_variance(1.0, {50.0, 5.0, 1}, own).sampling == Approx(0.04));
    CHECK_THAT(describe(own)[0], Contains("20.0 %, the user's own duplicates, taken as the same at every mass"));
    own.own_sampling_mass_g = 454.0;
    own.own_portion_g = 25.0;
    CHECK(relative_variance(1.0, {50.0, 5.0, 1}, own).sampling == Approx(0.3632));
    CHECK(relative_variance(1.0, {454.0, 25.0, 1}, own).sampling == Approx(0.04));
    CHECK(relative_variance(1.0, {50.0, 5.0, 1}, own).preparation == Approx(0.05));
    CHECK_THAT(describe(own)[1], Contains("10.0 %, the user's own duplicates of 25 g; its variance goes with 1 / "
                                          "portion"));
    CHECK_THAT(assumptions({}, own)[0], Contains("454 g is assumed"));
    own.own_portion_g = 0.0;
    CHECK_THROWS_WITH(relative_variance(1.0, {50.0, 5.0, 1}, own), Contains("portion of the own duplicates in g is 0"));
}

TEST_CASE("a laboratory without a stated uncertainty has the error of laboratories among each other") {
    // Thompson (2000), Analyst 125, 385-386: 22 % at and below 0.12 mg/kg, 16 % at 1 mg/kg (2 c^-0.1505 at c = 1e-6).
    const ErrorModel horwitz{.analysis_by_horwitz = true};
    CHECK(100.0 * std::sqrt(relative_variance(0.1, {}, horwitz).analysis) == Approx(22.0));
    CHECK(100.0 * std::sqrt(relative_variance(1.0, {}, horwitz).analysis) == Approx(15.997).margin(5e-4).epsilon(0.0));
    CHECK(100.0 * std::sqrt(relative_variance(1.25, {}, horwitz).analysis) == Approx(15.468).margin(5e-4).epsilon(0.0));
    CHECK(100.0 * std::sqrt(relative_variance(5.0, {}, horwitz).analysis) == Approx(12.556).margin(5e-4).epsilon(0.0));
}

TEST_CASE("what was not recorded is assumed by name") {
    CHECK(assumptions({500.0, 10.0, 1}).empty());
    const auto said = assumptions({});
    REQUIRE(said.size() == 2);
    CHECK_THAT(said[0], Contains("mass") && Contains("454 g"));
    CHECK_THAT(said[1], Contains("portion") && Contains("25 g"));
    CHECK_THAT(describe(ErrorModel{}).front(), Contains("Whitaker"));
}

TEST_CASE("an error at no content or of no grain is refused") {
    CHECK_THROWS_WITH(relative_variance(0.0, {}), Contains("true content") && Contains("not above zero"));
    CHECK_THROWS_WITH(relative_variance(1.0, {-5.0, std::nullopt, 1}), Contains("sample mass"));
    CHECK_THROWS_WITH(relative_variance(1.0, {std::nullopt, 0.0, 1}), Contains("portion"));
    CHECK_THROWS_WITH(relative_variance(1.0, {std::nullopt, std::nullopt, 0}), Contains("analyses"));
}
