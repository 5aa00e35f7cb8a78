#include <cmath>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/indicator.h"
#include "models/spatial/normal_score.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::VariogramModel;

TEST_CASE("kriged chances of Meuse zinc under four thresholds agree with gstat raw and corrected") {
    NEEDS_SHARED_DATA(shared);
    const auto raw = tests::reference_table(shared, "indicator/meuse_zinc_cdf_raw.csv");
    const auto corrected = tests::reference_table(shared, "indicator/meuse_zinc_cdf_order4.csv");
    models::SpatialData zinc = tests::meuse_log_zinc(shared);
    zinc.values = tests::reference_table(shared, "data/meuse.csv").numbers("zinc");
    const VariogramModel model = VariogramModel::parse("nugget 0.05 + spherical 0.16 range 900");
    const std::vector<double> thresholds = {200, 326, 500, 900};
    const auto found = models::krige_indicators(zinc, thresholds, {model}, tests::places_of(raw));
    Eigen::MatrixXd before(raw.rows(), 4);
    long long violations = 0;
    for (Eigen::Index k = 0; k < 4; ++k) {
        const std::string name =
            "le" + std::to_string(static_cast<int>(thresholds[static_cast<std::size_t>(k)])) + ".pred";
        before.col(k) = raw.numbers(name);
        CHECK(tests::largest_difference(found.at_or_under.col(k), corrected.numbers(name)) < 1e-11);
        const models::SpatialData one{
            zinc.positions_m, models::indicators_of(zinc.values, thresholds[static_cast<std::size_t>(k)]), {}, {}};
        CHECK(tests::largest_difference(models::Kriging(one, model).at(tests::places_of(raw)).estimate, before.col(k)) <
              1e-11);
    }
    for (Eigen::Index i = 0; i < before.rows(); ++i) {
        bool wrong = before.row(i).minCoeff() < 0.0 || before.row(i).maxCoeff() > 1.0;
        for (Eigen::Index k = 1; k < 4; ++k) wrong = wrong || before(i, k) < before(i, k - 1);
        violations += wrong ? 1 : 0;
    }
    CHECK(violations > 0);
    CHECK(found.corrected == violations);
}

TEST_CASE("the indicator of Jura cadmium at 100 places held back agrees with gstat") {
    NEEDS_SHARED_DATA(shared);
    const auto jura = tests::reference_table(shared, "data/jura_pred.csv");
    const auto expected = tests::reference_table(shared, "indicator/jura_Cd_le_0.8_at_validation.csv");
    const models::SpatialData cadmium{
        tests::places_of(jura, "Xloc", "Yloc"), models::indicators_of(jura.numbers("Cd"), 0.8), {}, {}};
    const auto found = models::Kriging(cadmium, VariogramModel::parse("nugget 0.1 + spherical 0.12 range 0.9"))
                           .at(tests::places_of(expected));
    CHECK(tests::largest_difference(found.estimate, expected.numbers("pred")) < 1e-12);
    CHECK(tests::largest_difference(found.variance, expected.numbers("var")) < 1e-12);
}

TEST_CASE("corrected chances are a distribution and right ones are left alone") {
    Eigen::MatrixXd chances(4, 3);
    chances << 0.1, 0.5, 0.9,  //
        -0.2, 0.5, 1.3,        //
        0.6, 0.4, 0.8,         //
        NAN, 0.5, 0.2;
    Eigen::MatrixXd corrected = chances;
    const auto correction = models::correct_order(corrected);
    CHECK(correction.rows == 2);
    CHECK(corrected.row(0) == chances.row(0));
    CHECK(corrected.row(1) == Eigen::RowVector3d(0.0, 0.5, 1.0));
    // Up 0.6, 0.6, 0.8 and down 0.4, 0.4, 0.8.
    CHECK(corrected.row(2).isApprox(Eigen::RowVector3d(0.5, 0.5, 0.8)));
    CHECK(std::isnan(corrected(3, 0)));
    CHECK(correction.largest == Approx(0.3));
}

TEST_CASE("indicators that make no sense are refused in words") {
    models::SpatialData data{Eigen::MatrixX2d::Random(5, 2), Eigen::VectorXd::Random(5), {}, {}};
    const VariogramModel model = VariogramModel::parse("spherical 1 range 1");
    CHECK_THROWS_WITH(models::krige_indicators(data, {}, {model}, data.positions_m), Contains("no threshold is given"));
    CHECK_THROWS_WITH(models::krige_indicators(data, {2, 1}, {model}, data.positions_m),
                      Contains("the threshold 1 is not greater than the one before it"));
    CHECK_THROWS_WITH(models::krige_indicators(data, {1, 2, 3}, {model, model}, data.positions_m),
                      Contains("2 variograms are given for 3 thresholds"));
}

TEST_CASE("scores of ranks are normal quantiles and lead back to the values") {
    Eigen::VectorXd values(5);
    values << 8.0, 0.3, 2.0, 2.0, 40.0;
    const models::NormalScore score(values);
    // qnorm(c(0.1, 0.4, 0.7, 0.9)) in R 4.2.2; the two equal values share the rank 2.5.
    CHECK(score.score(0.3) == Approx(-1.2815515655446004).epsilon(1e-14));
    CHECK(score.score(2.0) == Approx(-0.2533471031357998).epsilon(1e-13));
    CHECK(score.score(8.0) == Approx(0.52440051270804078).epsilon(1e-13));
    CHECK(score.score(40.0) == Approx(1.2815515655446004).epsilon(1e-14));
    for (const double value : {0.3, 1.1, 2.0, 5.5, 8.0, 31.0, 40.0}) {
        CHECK(score.value(score.score(value)) == Approx(value).epsilon(1e-13));
    }
    CHECK(score.value(-5.0) == 0.3);
    CHECK(score.value(5.0) == 40.0);
    CHECK_THROWS_WITH(models::NormalScore(Eigen::VectorXd::Ones(4)), Contains("all values are the same"));
}

TEST_CASE("the mean of a back transform is the integral that defines it and is not the median") {
    NEEDS_SHARED_DATA(shared);
    const Eigen::VectorXd zinc = tests::reference_table(shared, "data/meuse.csv").numbers("zinc");
    const models::NormalScore score(zinc);
    for (const double centre : {-1.3, 0.2, 2.5}) {
        for (const double variance : {0.01, 0.4, 1.0}) {
            // The mean value over equal slices of probability, cut fine.
            const double spread = std::sqrt(variance);
            const int steps = 400000;
            double sum = 0.0;
            for (int k = 0; k < steps; ++k) {
                const double u = -9.0 + 18.0 * (k + 0.5) / steps;
                sum += score.value(centre + spread * u) * std::exp(-0.5 * u * u);
            }
            const double mean = sum * 18.0 / steps / std::sqrt(2.0 * std::acos(-1.0));
            CHECK(score.mean(centre, variance) == Approx(mean).epsilon(1e-7));
        }
    }
    CHECK(score.mean(0.2, 1.0) > 1.1 * score.value(0.2));
    CHECK(score.mean(0.2, 0.0) == score.value(0.2));
    // Over the law of the scores themselves the mean is that of the data, up to their cut tails.
    CHECK(score.mean(0.0, 1.0) == Approx(zinc.mean()).epsilon(2e-3));
    CHECK(score.chance_over(5000.0, 0.0, 1.0) == 0.0);
    CHECK(score.chance_over(326.0, score.score(326.0), 0.5) == Approx(0.5));
}

TEST_CASE("the mean of lognormal kriging is unbiased where the median is not") {
    // 4,000 draws of the truth given the kriging: exp of a normal value with that mean and variance.
    const auto moments = models::lognormal_moments(0.4, 0.5);
    CHECK(moments.median == Approx(std::exp(0.4)).epsilon(1e-15));
    double sum = 0.0;
    const int steps = 200000;
    for (int k = 0; k < steps; ++k) {
        const double u = -10.0 + 20.0 * (k + 0.5) / steps;
        sum += std::exp(0.4 + std::sqrt(0.5) * u - 0.5 * u * u);
    }
    CHECK(moments.mean == Approx(sum * 20.0 / steps / std::sqrt(2.0 * std::acos(-1.0))).epsilon(1e-10));
}
