#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/kriging.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::Kriging;
using models::VariogramModel;

TEST_CASE("five folds in block form equal five refits by gstat") {
    NEEDS_SHARED_DATA(shared);
    const auto expected = tests::reference_table(shared, "cv/meuse_ok_5fold_mod5.csv");
    const auto found = Kriging(tests::meuse_log_zinc(shared), tests::meuse_model()).leave_folds_out(5);
    CHECK(tests::largest_difference(found.predicted, expected.numbers("pred")) < 2e-13);
    CHECK(tests::largest_difference(found.variance, expected.numbers("var")) < 2e-14);
    CHECK(tests::largest_difference(found.standardised_error, expected.numbers("zscore")) < 2e-12);
    // Row meuse_ok_5fold_mod5 of the statistics that R computes from gstat's krige.cv.
    CHECK(found.mean_error == Approx(-0.0079099177401872455).epsilon(1e-10));
    CHECK(found.rmse == Approx(0.39205215144553068).epsilon(1e-12));
    CHECK(found.mean_square_standardised_error == Approx(0.80200017934059442).epsilon(1e-12));
}

TEST_CASE("leave-one-out of skewed values and of Jura cadmium equals gstat's refits") {
    NEEDS_SHARED_DATA(shared);
    models::SpatialData zinc = tests::meuse_log_zinc(shared);
    zinc.values = zinc.values.array().exp().matrix();
    const auto raw = tests::reference_table(shared, "cv/meuse_zinc_raw_loo.csv");
    const auto found =
        Kriging(zinc, VariogramModel::parse("nugget 25000 + spherical 130000 range 870")).leave_one_out();
    CHECK(tests::largest_difference(found.predicted, raw.numbers("pred")) < 1e-9);  // values to 1,839
    CHECK(tests::largest_difference(found.variance, raw.numbers("var")) < 1e-8);    // of 155,000
    const auto jura = tests::reference_table(shared, "data/jura_pred.csv");
    const auto expected = tests::reference_table(shared, "cv/jura_Cd_loo.csv");
    // Goovaerts (1997), Geostatistics for Natural Resources Evaluation: the model of cadmium, in kilometres.
    const auto cadmium =
        Kriging({tests::places_of(jura, "Xloc", "Yloc"), jura.numbers("Cd"), {}, {}},
                VariogramModel::parse("nugget 0.3 + spherical 0.3 range 0.2 + spherical 0.26 range 1.3"))
            .leave_one_out();
    CHECK(tests::largest_difference(cadmium.predicted, expected.numbers("pred")) < 1e-12);
    CHECK(tests::largest_difference(cadmium.variance, expected.numbers("var")) < 1e-12);
    CHECK(cadmium.mean_square_standardised_error == Approx(0.94388140992779357).epsilon(1e-11));
}

TEST_CASE("folds equal a kriging of each fold from the rest whatever the drift the errors and the neighbourhood") {
    std::mt19937 generator(3);
    const auto uniform = [&] { return static_cast<double>(generator()) / 4294967296.0; };
    const Eigen::Index n = 46;
    models::SpatialData data{Eigen::MatrixX2d(n, 2), Eigen::VectorXd(n), Eigen::VectorXd(n), Eigen::MatrixXd(n, 1)};
    for (Eigen::Index i = 0; i < n; ++i) {
        data.positions_m.row(i) << 300.0 * uniform(), 200.0 * uniform();
        data.values[i] = std::sin(data.positions_m(i, 0) / 40.0) + 0.2 * uniform();
        data.error_variances[i] = 0.02 + 0.1 * uniform();
        data.drift(i, 0) = data.positions_m(i, 1);
    }
    const VariogramModel model = VariogramModel::parse("nugget 0.05 + error 0.03 + exponential 0.5 range 60");
    for (const int neighbours : {0, 12}) {
        models::KrigingSettings settings;
        settings.neighbourhood.count = neighbours;
        const auto found = Kriging(data, model, settings).leave_folds_out(7);
        for (int fold = 0; fold < 7; ++fold) {
            std::vector<Eigen::Index> inside, rest;
            for (Eigen::Index i = 0; i < n; ++i) (i % 7 == fold ? inside : rest).push_back(i);
            const models::SpatialData some{data.positions_m(rest, Eigen::all), data.values(rest),
                                           data.error_variances(rest), data.drift(rest, Eigen::all)};
            const auto slow =
                Kriging(some, model, settings).at(data.positions_m(inside, Eigen::all), data.drift(inside, Eigen::all));
            CHECK(tests::largest_difference(found.predicted(inside), slow.estimate) < 1e-11);
            CHECK(tests::largest_difference(found.variance(inside), slow.variance) < 1e-11);
        }
    }
    const auto all = Kriging(data, model).leave_folds_out(static_cast<int>(n)),
               one = Kriging(data, model).leave_one_out();
    CHECK(tests::largest_difference(all.predicted, one.predicted) < 1e-12);
    CHECK(all.crps == Approx(one.crps).epsilon(1e-12));
}

TEST_CASE("the score of a normal forecast is the integral that defines it") {
    // Gneiting & Raftery (2007), equation 20: integral of (F(y) - 1{y >= x})^2, here by Simpson's rule on both sides of
    // the observation, 20,000 steps each.
    const auto by_integral = [](double residual, double spread) {
        const auto cumulative = [&](double y) { return 0.5 * std::erfc(-y / (spread * std::sqrt(2.0))); };
        const auto simpson = [&](double from, double to, bool above) {
            const int steps = 20000;
            const double h = (to - from) / steps;
            double sum = 0.0;
            for (int k = 0; k <= steps; ++k) {
                const double f = cumulative(from + k * h) - (above ? 1.0 : 0.0);
                sum += f * f * (k == 0 || k == steps ? 1.0 : k % 2 == 1 ? 4.0 : 2.0);
            }
            return sum * h / 3.0;
        };
        const double low = std::min(-12.0 * spread, residual - spread),
                     high = std::max(12.0 * spread, residual + spread);
        return simpson(low, residual, false) + simpson(residual, high, true);
    };
    for (const double residual : {-3.7, -0.4, 0.0, 0.9, 6.0}) {
        for (const double spread : {0.2, 1.0, 4.0}) {
            CHECK(models::normal_crps(residual, spread) == Approx(by_integral(residual, spread)).epsilon(1e-9));
        }
    }
    CHECK(models::normal_crps(-0.7, 0.0) == 0.7);
    // At the centre of a standard normal forecast: (sqrt 2 - 1) / sqrt pi.
    CHECK(models::normal_crps(0.0, 1.0) == Approx((std::sqrt(2.0) - 1.0) / std::sqrt(std::acos(-1.0))).epsilon(1e-14));
}

TEST_CASE("intervals of the true model hold the share of observations that they promise") {
    // 4,000 normal residuals with the spreads that are claimed, from quantiles: nothing is left to chance.
    const Eigen::Index n = 4000;
    Eigen::VectorXd residuals(n), spreads(n);
    std::mt19937 generator(9);
    for (Eigen::Index i = 0; i < n; ++i) {
        spreads[i] = 0.5 + static_cast<double>(generator() % 1000) / 500.0;
        // Bisection of the normal distribution at (i + 1/2) / n.
        double low = -9.0, high = 9.0;
        for (int step = 0; step < 70; ++step) {
            const double middle = 0.5 * (low + high);
            (0.5 * std::erfc(-middle / std::sqrt(2.0)) < (static_cast<double>(i) + 0.5) / static_cast<double>(n)
                 ? low
                 : high) = middle;
        }
        residuals[i] = spreads[i] * low;
    }
    const auto scores = models::validation_scores(residuals, spreads);
    for (std::size_t k = 0; k < 4; ++k)
        CHECK(scores.coverage[k] == Approx(models::validation_levels[k]).margin(1e-3).epsilon(0.0));
    CHECK(scores.mean_square_standardised_error == Approx(1.0).margin(2e-3).epsilon(0.0));
    CHECK(scores.counted == n);
    residuals[17] = std::nan("");
    CHECK(models::validation_scores(residuals, spreads).counted == n - 1);
}

TEST_CASE("folds that cannot be are refused in words") {
    models::SpatialData data;
    data.positions_m = Eigen::MatrixX2d::Random(8, 2) * 100.0;
    data.values = Eigen::VectorXd::Random(8);
    const VariogramModel model = VariogramModel::parse("spherical 1 range 50");
    CHECK_THROWS_WITH(Kriging(data, model).leave_folds_out(1), Contains("1 fold of 8 places is asked for"));
    CHECK_THROWS_WITH(Kriging(data, model).leave_folds_out(9), Contains("9 folds of 8 places"));
    data.drift = Eigen::MatrixXd::Random(8, 4);
    CHECK_THROWS_WITH(Kriging(data, model).leave_folds_out(2), Contains("outside a fold cannot give 5 coefficients"));
}
