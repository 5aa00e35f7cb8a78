#include <catch2/catch.hpp>

#include "models/assay/interval_law.h"

using namespace models::interval_law;

TEST_CASE("quantiles of Student's law are those of R") {
    // R 4.2: qt(.95, c(1, 4, 9)), qt(.975, 19), qt(.95, 2.5)
    CHECK(student_quantile(0.95, 1.0) == Approx(6.313751514675).epsilon(1e-11));
    CHECK(student_quantile(0.95, 4.0) == Approx(2.131846786327).epsilon(1e-11));
    CHECK(student_quantile(0.95, 9.0) == Approx(1.833112932656).epsilon(1e-11));
    CHECK(student_quantile(0.975, 19.0) == Approx(2.093024054408).epsilon(1e-11));
    CHECK(student_quantile(0.95, 2.5) == Approx(2.558218614136).epsilon(1e-11));
    // (EU) 2023/2782, Annex I, table of t at 5 %: df 10 1.812; 15 1.753; 24 1.711; 40 1.684; 120 1.658
    const double table[][2] = {{10, 1.812}, {15, 1.753}, {24, 1.711}, {40, 1.684}, {120, 1.658}, {1e6, 1.645}};
    for (const auto& row : table) CHECK(student_quantile(0.95, row[0]) == Approx(row[1]).margin(5e-4).epsilon(0.0));
    CHECK(student_quantile(0.05, 4.0) == Approx(-student_quantile(0.95, 4.0)).epsilon(1e-13));
    CHECK(student_quantile(0.5, 3.0) == 0.0);
}

TEST_CASE("quantiles of chi-square are those of R") {
    // R 4.2: qchisq(c(.05, .95), 1), qchisq(c(.05, .95), 8), qchisq(.95, 30), qchisq(.05, 200)
    CHECK(chi_square_quantile(0.05, 1.0) == Approx(0.003932140000).epsilon(1e-9));
    CHECK(chi_square_quantile(0.95, 1.0) == Approx(3.841458820694).epsilon(1e-11));
    CHECK(chi_square_quantile(0.05, 8.0) == Approx(2.732636793500).epsilon(1e-11));
    CHECK(chi_square_quantile(0.95, 8.0) == Approx(15.507313055865).epsilon(1e-11));
    CHECK(chi_square_quantile(0.95, 30.0) == Approx(43.772971825742).epsilon(1e-11));
    CHECK(chi_square_quantile(0.05, 200.0) == Approx(168.278554436628).epsilon(1e-11));
}

TEST_CASE("a quantile put back into its law gives the probability") {
    for (const double freedom : {0.7, 1.0, 3.0, 12.5, 400.0}) {
        for (const double p : {1e-6, 0.03, 0.5, 0.9, 0.9999}) {
            CHECK(student_cdf(student_quantile(p, freedom), freedom) == Approx(p).epsilon(1e-9));
            CHECK(chi_square_cdf(chi_square_quantile(p, freedom), freedom) == Approx(p).epsilon(1e-9));
        }
    }
}

TEST_CASE("laws without degrees of freedom and quantiles at the ends are refused") {
    CHECK_THROWS_WITH(student_quantile(0.95, 0.0), Catch::Contains("0 degrees of freedom are none"));
    CHECK_THROWS_WITH(chi_square_quantile(1.0, 3.0), Catch::Contains("a quantile at 1 is not defined"));
}
