#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/spatial/structure_verdict.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;

TEST_CASE("nine points cannot show structure and say so") {
    Eigen::MatrixX2d places = Eigen::MatrixX2d::Random(9, 2) * 100.0;
    const auto verdict = models::structure_verdict(places, Eigen::VectorXd::Random(9));
    CHECK_FALSE(verdict.supported);
    CHECK_THAT(verdict.reason, Contains("not supported: 9 points cannot show structure"));
}

TEST_CASE("the Meuse zinc has structure") {
    NEEDS_SHARED_DATA(shared);
    const auto data = tests::meuse_log_zinc(shared);
    const auto verdict = models::structure_verdict(data.positions_m, data.values);
    CHECK(verdict.supported);
    CHECK(verdict.leave_one_out_skill > 0.6);
    CHECK_THAT(verdict.reason, Contains("supported: predicting each of 155 points"));
}

TEST_CASE("values without structure are called structured at most once in ten fields") {
    // 200 fields of 40 places whose values know nothing of one another.
    std::mt19937_64 generator(20240607);
    const auto uniform = [&] { return (static_cast<double>(generator() >> 11) + 0.5) / 9007199254740992.0; };
    const auto normal = [&] {
        return std::sqrt(-2.0 * std::log(uniform())) * std::cos(2.0 * std::acos(-1.0) * uniform());
    };
    int wrong = 0;
    for (int field = 0; field < 200; ++field) {
        Eigen::MatrixX2d places(40, 2);
        Eigen::VectorXd values(40);
        for (Eigen::Index i = 0; i < 40; ++i) {
            places.row(i) << 300.0 * uniform(), 300.0 * uniform();
            values[i] = normal();
        }
        wrong += models::structure_verdict(places, values).supported ? 1 : 0;
    }
    CHECK(wrong <= 20);
}

TEST_CASE("equal values and points at one place are not called structured") {
    const Eigen::MatrixX2d places = Eigen::MatrixX2d::Random(30, 2) * 100.0;
    CHECK_THAT(models::structure_verdict(places, Eigen::VectorXd::Ones(30)).reason,
               Contains("all values are the same"));
    const Eigen::VectorXd errors = Eigen::VectorXd::Constant(30, 0.1);
    CHECK_THAT(models::structure_verdict(Eigen::MatrixX2d::Ones(30, 2), Eigen::VectorXd::Random(30), errors).reason,
               Contains("at one place"));
}
