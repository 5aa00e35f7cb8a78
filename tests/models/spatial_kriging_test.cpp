#include <algorithm>
#include <array>
#include <cmath>
#include <fstream>
#include <random>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/kriging.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::Kriging;
using models::KrigingSettings;
using models::SpatialData;
using models::VariogramModel;

namespace {

SpatialData isaaks_and_srivastava() {
    SpatialData data;
    data.positions_m.resize(7, 2);
    data.positions_m << 61, 139, 63, 140, 64, 129, 68, 128, 71, 140, 73, 141, 75, 128;
    data.values.resize(7);
    data.values << 477, 696, 227, 646, 606, 791, 783;
    return data;
}

SpatialData scattered(int n, unsigned seed) {
    std::mt19937 generator(seed);
    const auto uniform = [&] { return static_cast<double>(generator() % 100000u) / 100000.0; };
    SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        data.positions_m.row(i) << 500.0 * uniform(), 400.0 * uniform();
        data.values[i] = std::sin(data.positions_m(i, 0) / 60.0) + 0.3 * uniform();
    }
    return data;
}

Eigen::MatrixX2d one_place(double x, double y) {
    Eigen::MatrixX2d place(1, 2);
    place << x, y;
    return place;
}

}  // namespace

TEST_CASE("seven Walker Lake samples give the estimate printed in Isaaks and Srivastava") {
    const SpatialData data = isaaks_and_srivastava();
    // Covariance 10 exp(-0.3 h), target (65,137): 592.7 and 8.96 on pp. 290-296 of the 1989 book; digits beyond
    // from the same system solved in R.
    const auto found =
        Kriging(data, VariogramModel::parse("exponential 10 range 3.3333333333333335")).at(one_place(65, 137));
    CHECK(found.estimate[0] == Approx(592.72894278974331).epsilon(1e-12));
    CHECK(found.variance[0] == Approx(8.9560527886563612).epsilon(1e-12));
    CHECK(found.lagrange[0] == Approx(0.90661661904154289).epsilon(1e-12));
}

TEST_CASE("the variations of Isaaks and Srivastava's example agree with gstat") {
    NEEDS_SHARED_DATA(shared);
    const auto table = tests::reference_table(shared, "published/isaaks_srivastava_ok.csv");
    const char* models[] = {"exponential 10 range 3.3333333333333335",
                            "exponential 20 range 3.3333333333333335",
                            "nugget 5 + exponential 5 range 3.3333333333333335",
                            "gaussian 10 range 5.7735026918962582",
                            "exponential 10 range 6.666666666666667",
                            "nugget 10",
                            "exponential 10 range 6.666666666666667 azimuth 45 ratio 0.5"};
    REQUIRE(table.rows() == 7);
    for (Eigen::Index k = 0; k < 7; ++k) {
        INFO(models[k]);
        const auto found = Kriging(isaaks_and_srivastava(), VariogramModel::parse(models[k])).at(one_place(65, 137));
        CHECK(found.estimate[0] == Approx(table.numbers("pred")[k]).epsilon(1e-11));
        CHECK(found.variance[0] == Approx(table.numbers("var")[k]).epsilon(1e-11));
    }
}

TEST_CASE("the grid of KT3D agrees within its print rounding") {
    NEEDS_SHARED_DATA(shared);
    const auto folder = shared / "data/geostat/kt3d_ok_pykrige";
    std::ifstream points(folder / "test_data.txt"), answer(folder / "test1_answer.asc");
    SpatialData data;
    double x, y, value;
    while (points >> x >> y >> value) {
        data.positions_m.conservativeResize(data.values.size() + 1, 2);
        data.values.conservativeResize(data.values.size() + 1);
        data.positions_m.row(data.values.size() - 1) << x, y;
        data.values[data.values.size() - 1] = value;
    }
    REQUIRE(data.values.size() == 15);
    std::string line;
    for (int k = 0; k < 7; ++k) std::getline(answer, line);
    Eigen::MatrixX2d cells(10000, 2);
    Eigen::VectorXd expected(10000);
    for (Eigen::Index row = 0, k = 0; row < 100; ++row) {
        for (Eigen::Index column = 0; column < 100; ++column, ++k) {
            REQUIRE(answer >> expected[k]);
            cells.row(k) << 1067275.0 + 50.0 * static_cast<double>(column), 243934.0 - 25.0 * static_cast<double>(row);
        }
    }
    const auto found = Kriging(data, VariogramModel::parse("exponential 500 range 1000")).at(cells);
    // Eight digits are printed, and KT3D works in single precision.
    CHECK(tests::largest_difference(found.estimate, expected) < 1e-4);
}

TEST_CASE("the cluster data set agrees with the original KT3D to the digits it prints") {
    NEEDS_SHARED_DATA(shared);
    const auto folder = shared / "data/geostat/gslib_cluster";
    std::ifstream points(folder / "cluster.dat"), answer(folder / "cl_ok_global.out");
    std::string line;
    for (int k = 0; k < 7; ++k) std::getline(points, line);
    SpatialData data;
    data.positions_m.resize(140, 2);
    data.values.resize(140);
    for (Eigen::Index i = 0; i < 140; ++i) {
        double secondary, weight;
        REQUIRE(points >> data.positions_m(i, 0) >> data.positions_m(i, 1) >> data.values[i] >> secondary >> weight);
    }
    for (int k = 0; k < 4; ++k) std::getline(answer, line);
    Eigen::MatrixX2d cells(2500, 2);
    Eigen::VectorXd estimate(2500), variance(2500);
    for (Eigen::Index k = 0; k < 2500; ++k) {
        REQUIRE(answer >> estimate[k] >> variance[k]);
        cells.row(k) << 0.5 + static_cast<double>(k % 50), 0.5 + static_cast<double>(k / 50);
    }
    const auto found = Kriging(data, VariogramModel::parse("nugget 0.2 + spherical 0.8 range 10")).at(cells);
    CHECK(tests::largest_difference(found.estimate, estimate) < 6e-4);
    CHECK(tests::largest_difference(found.variance, variance) < 6e-4);
}

TEST_CASE("global kriging of the Meuse zinc agrees with gstat and with the exact answer") {
    NEEDS_SHARED_DATA(shared);
    const SpatialData data = tests::meuse_log_zinc(shared);
    const auto meuse = tests::reference_table(shared, "data/meuse.csv");
    const auto grid = tests::reference_table(shared, "data/meuse_grid.csv");
    const Eigen::MatrixX2d cells = tests::places_of(grid);
    const Eigen::MatrixX2d at_data = data.positions_m;
    SpatialData near_river = data;
    near_river.drift = meuse.numbers("dist").array().sqrt();
    const Eigen::MatrixXd near_river_cells = grid.numbers("dist").array().sqrt();
    SpatialData plane = data;
    plane.drift = data.positions_m;
    SpatialData curved = data;
    const auto quadratic = [](const Eigen::MatrixX2d& places) {
        const Eigen::ArrayXd x = (places.col(0).array() - 180000.0) / 1000.0,
                             y = (places.col(1).array() - 331000.0) / 1000.0;
        Eigen::MatrixXd drift(places.rows(), 5);
        drift << x.matrix(), y.matrix(), x.square().matrix(), y.square().matrix(), (x * y).matrix();
        return drift;
    };
    curved.drift = quadratic(data.positions_m);
    const auto soil = [](const geo::PointTable& table) {
        Eigen::MatrixXd drift(table.rows(), 3);
        drift.col(0) = table.numbers("dist").array().sqrt();
        drift.col(1) = (table.numbers("soil").array() == 2.0).cast<double>();
        drift.col(2) = (table.numbers("soil").array() == 3.0).cast<double>();
        return drift;
    };
    SpatialData soils = data;
    soils.drift = soil(meuse);
    SpatialData uneven = data;
    uneven.error_variances = tests::reference_table(shared, "kriging/meuse_known_error_variances.csv").numbers("var");
    const auto twice_table = tests::reference_table(shared, "kriging/meuse_duplicated_input.csv");
    const SpatialData twice{tests::places_of(twice_table), twice_table.numbers("zinc").array().log().matrix(),
                            Eigen::VectorXd(), Eigen::MatrixXd()};

    const std::string zinc = "nugget 0.05066243 + spherical 0.59060780 range 897.0209";
    const std::string river = "nugget 0.0798 + spherical 0.1485283 range 877.3";
    KrigingSettings plain, mean, block40, block200;
    mean.known_mean = 5.9;
    block40.block = {40.0, 40.0};
    block200.block = {200.0, 200.0};
    struct Case {
        std::string file;
        const SpatialData& data;
        std::string model;
        const Eigen::MatrixX2d& targets;
        Eigen::MatrixXd drift;
        KrigingSettings settings;
        double tolerance;
        double scale = 10.0;  ///< of the estimates, logarithms of zinc in mg/kg; variances are below 1
    };
    const Eigen::MatrixXd no_drift;
    const std::vector<Case> cases = {
        {"exact/meuse_ok_global", data, zinc, cells, no_drift, plain, 1e-13},
        {"kriging/meuse_ok_global", data, zinc, cells, no_drift, plain, 1e-13},
        {"kriging/meuse_sk_beta5.9_global", data, zinc, cells, no_drift, mean, 1e-13},
        {"exact/meuse_uk_sqrtdist_global", near_river, river, cells, near_river_cells, plain, 1e-13},
        {"kriging/meuse_uk_sqrtdist_global", near_river, river, cells, near_river_cells, plain, 1e-13},
        {"kriging/meuse_uk_degree1_global", plane, zinc, cells, cells, plain, 1e-11},
        {"kriging/meuse_uk_degree2_global", curved, zinc, cells, quadratic(cells), plain, 1e-11},
        {"kriging/meuse_ked_dist_soil_global", soils, river, cells, soil(grid), plain, 1e-12},
        {"kriging/meuse_ok_at_data", data, zinc, at_data, no_drift, plain, 1e-13},
        {"exact/meuse_ok_exp", data, "nugget 0.02 + exponential 0.7 range 450", cells, no_drift, plain, 1e-13},
        {"exact/meuse_ok_gau_nugget", data, "nugget 0.12 + gaussian 0.5 range 390", cells, no_drift, plain, 1e-13},
        // Condition number 3.6e6: gstat itself is 3.5e-10 away from the quadruple-precision answer.
        {"exact/meuse_ok_gau_tiny_nugget_illcond", data, "nugget 1e-6 + gaussian 0.6 range 300", cells, no_drift, plain,
         1e-10, 1.0},
        {"kriging/meuse_ok_mat1.5", data, "nugget 0.095 + matern 0.567 range 201 smoothness 1.5", cells, no_drift,
         plain, 1e-11},
        // Stein's form in gstat: h/a times 2 sqrt(v).
        {"kriging/meuse_ok_ste0.7", data, "nugget 0.044 + matern 0.65 range 345.42107 smoothness 0.7", cells, no_drift,
         plain, 1e-6},
        {"kriging/meuse_ok_power0.9", data, "nugget 0.05 + power 0.0012 exponent 0.9", cells, no_drift, plain, 1e-11},
        {"kriging/meuse_ok_linear_nosill", data, "nugget 0.05 + linear 0.0006", cells, no_drift, plain, 1e-11},
        {"kriging/meuse_ok_nested", data, "nugget 0.03 + spherical 0.3 range 1200 + exponential 0.3 range 150", cells,
         no_drift, plain, 1e-12},
        {"kriging/meuse_ok_pure_nugget", data, "nugget 0.52", cells, no_drift, plain, 1e-13},
        {"kriging/meuse_ok_aniso_geometric30_0.4", data, "nugget 0.05 + spherical 0.59 range 1200 azimuth 30 ratio 0.4",
         cells, no_drift, plain, 1e-12},
        {"kriging/meuse_ok_aniso_nested", data,
         "nugget 0.05 + spherical 0.3 range 1500 azimuth 30 ratio 0.3 + exponential 0.3 range 400 azimuth 45 ratio 0.5",
         cells, no_drift, plain, 1e-12},
        {"kriging/meuse_ok_aniso_zonal", data,
         "nugget 0.05 + spherical 0.4 range 900 + spherical 0.2 range 1e7 azimuth 30 ratio 1e-4", cells, no_drift,
         plain, 1e-11},
        {"kriging/meuse_ok_err_all", data, "error 0.05066243 + spherical 0.59060780 range 897.0209", cells, no_drift,
         plain, 1e-13},
        {"kriging/meuse_ok_err_all_at_data", data, "error 0.05066243 + spherical 0.59060780 range 897.0209", at_data,
         no_drift, plain, 1e-13},
        {"kriging/meuse_ok_err_split", data, "nugget 0.02 + error 0.03066243 + spherical 0.59060780 range 897.0209",
         cells, no_drift, plain, 1e-13},
        {"kriging/meuse_ok_err_split_at_data", data,
         "nugget 0.02 + error 0.03066243 + spherical 0.59060780 range 897.0209", at_data, no_drift, plain, 1e-13},
        {"kriging/meuse_ok_known_error_variances", uneven, "nugget 0.01 + spherical 0.59060780 range 897.0209", cells,
         no_drift, plain, 1e-13},
        {"kriging/meuse_ok_known_error_variances_at_data", uneven, "nugget 0.01 + spherical 0.59060780 range 897.0209",
         at_data, no_drift, plain, 1e-13},
        {"kriging/meuse_ok_duplicates_err", twice, "error 0.05066243 + spherical 0.59060780 range 897.0209", cells,
         no_drift, plain, 1e-12},
        {"exact/meuse_ok_block40_gauss4x4", data, zinc, cells, no_drift, block40, 1e-12},
        // gstat keeps block weights in 32-bit floats.
        {"kriging/meuse_ok_block40_gauss4x4", data, zinc, cells, no_drift, block40, 5e-8},
        {"kriging/meuse_ok_block200_gauss4x4", data, zinc, cells, no_drift, block200, 5e-8},
        {"kriging/meuse_ok_aniso_block40", data, "nugget 0.05 + spherical 0.59 range 1200 azimuth 30 ratio 0.4", cells,
         no_drift, block40, 5e-8},
        {"kriging/meuse_ok_err_all_block40", data, "error 0.05066243 + spherical 0.59060780 range 897.0209", cells,
         no_drift, block40, 5e-8},
        {"kriging/meuse_uk_sqrtdist_block40_gauss4x4", near_river, river, cells, near_river_cells, block40, 5e-8},
    };
    for (const Case& one : cases) {
        INFO(one.file);
        const auto expected = tests::reference_table(shared, one.file + ".csv");
        const auto found = Kriging(one.data, VariogramModel::parse(one.model), one.settings).at(one.targets, one.drift);
        CHECK(tests::largest_difference(found.estimate, expected.numbers("pred")) < one.tolerance * one.scale);
        CHECK(tests::largest_difference(found.variance, expected.numbers("var")) < one.tolerance);
        CHECK(found.not_estimated.empty());
    }
}

namespace {

/// Whether in a quadrant about the place the fourth and the fifth datum are equally far: gstat may take either.
bool fifth_as_near_as_fourth(const SpatialData& data, const Eigen::RowVector2d& place, double radius_m) {
    std::array<std::vector<double>, 4> squared;
    for (Eigen::Index i = 0; i < data.values.size(); ++i) {
        const double east = data.positions_m(i, 0) - place[0], north = data.positions_m(i, 1) - place[1];
        const double distance = east * east + north * north;
        if (distance <= radius_m * radius_m) squared[(east > 0.0 ? 1 : 0) + (north > 0.0 ? 2 : 0)].push_back(distance);
    }
    for (auto& quadrant : squared) {
        std::sort(quadrant.begin(), quadrant.end());
        if (quadrant.size() > 4 && quadrant[4] - quadrant[3] < 1e-6 * quadrant[4]) return true;
    }
    return false;
}

}  // namespace

TEST_CASE("local neighbourhoods agree with gstat where no two points are equally far") {
    NEEDS_SHARED_DATA(shared);
    const SpatialData data = tests::meuse_log_zinc(shared);
    const auto grid = tests::reference_table(shared, "data/meuse_grid.csv");
    const Eigen::MatrixX2d cells = tests::places_of(grid);
    struct Case {
        std::string file;
        models::Neighbourhood neighbourhood;
        models::BlockM block;
        double tolerance;
    };
    for (const Case& one : {Case{"meuse_ok_nmax16", {16, 0.0, 0}, {}, 1e-12},
                            Case{"meuse_ok_nmax16_maxdist300", {16, 300.0, 0}, {}, 1e-12},
                            Case{"meuse_ok_nmax16_nmin4_maxdist200", {16, 200.0, 4}, {}, 1e-12},
                            Case{"meuse_ok_omax4_quadrant_maxdist500", {16, 500.0, 0, 4}, {}, 1e-12},
                            Case{"meuse_ok_maxdist500", {0, 500.0, 0}, {}, 1e-12},
                            Case{"meuse_ok_nmax16_block40", {16, 0.0, 0}, {40.0, 40.0}, 5e-8}}) {
        INFO(one.file);
        const auto expected = tests::reference_table(shared, "kriging/" + one.file + ".csv");
        KrigingSettings settings;
        settings.neighbourhood = one.neighbourhood;
        settings.block = one.block;
        auto found = Kriging(data, tests::meuse_model(), settings).at(cells);
        Eigen::VectorXd estimate = expected.numbers("pred"), variance = expected.numbers("var");
        long long missing = 0, counted = 0, ties = 0;
        for (Eigen::Index i = 0; i < estimate.size(); ++i) {
            const bool tie = one.neighbourhood.sectors > 0 ? fifth_as_near_as_fourth(data, cells.row(i), 500.0)
                                                           : expected.has("tie") && expected.numbers("tie")[i] == 1.0;
            ties += tie ? 1 : 0;
            if (tie) {
                found.estimate[i] = estimate[i];
                found.variance[i] = variance[i];
            }
            missing += std::isnan(estimate[i]) ? 1 : 0;
        }
        CHECK(tests::largest_difference(found.estimate, estimate) < 10.0 * one.tolerance);
        CHECK(tests::largest_difference(found.variance, variance) < one.tolerance);
        for (const auto& reason : found.not_estimated) counted += reason.places;
        CHECK(counted == missing);
        CHECK(ties < 250);  // of 3,103
    }
}

TEST_CASE("leave-one-out in closed form equals as many refits by gstat") {
    NEEDS_SHARED_DATA(shared);
    const SpatialData data = tests::meuse_log_zinc(shared);
    const auto meuse = tests::reference_table(shared, "data/meuse.csv");
    const auto plain = tests::reference_table(shared, "cv/meuse_ok_loo.csv");
    const auto found = Kriging(data, tests::meuse_model()).leave_one_out();
    CHECK(tests::largest_difference(found.predicted, plain.numbers("pred")) < 2e-13);
    CHECK(tests::largest_difference(found.variance, plain.numbers("var")) < 2e-14);
    CHECK(tests::largest_difference(found.standardised_error, plain.numbers("zscore")) < 2e-12);
    // Row meuse_ok_loo of the statistics computed in R from gstat's krige.cv.
    CHECK(found.mean_error == Approx(-2.0735849014489284e-05).epsilon(1e-8));
    CHECK(found.rmse == Approx(0.39180350642663508).epsilon(1e-12));
    CHECK(found.mean_square_standardised_error == Approx(0.81854555645258542).epsilon(1e-12));

    SpatialData near_river = data;
    near_river.drift = meuse.numbers("dist").array().sqrt();
    const auto drift = tests::reference_table(shared, "cv/meuse_uk_sqrtdist_loo.csv");
    const auto with_drift =
        Kriging(near_river, VariogramModel::parse("nugget 0.0798 + spherical 0.1485283 range 877.3")).leave_one_out();
    CHECK(tests::largest_difference(with_drift.predicted, drift.numbers("pred")) < 4e-13);
    CHECK(tests::largest_difference(with_drift.variance, drift.numbers("var")) < 4e-14);

    const auto filtered = tests::reference_table(shared, "cv/meuse_ok_loo_err.csv");
    const auto with_error =
        Kriging(data, VariogramModel::parse("error 0.05066243 + spherical 0.59060780 range 897.0209")).leave_one_out();
    CHECK(tests::largest_difference(with_error.predicted, filtered.numbers("pred")) < 2e-13);
    CHECK(tests::largest_difference(with_error.variance, filtered.numbers("var")) < 2e-14);

    KrigingSettings sixteen;
    sixteen.neighbourhood.count = 16;
    const auto local = tests::reference_table(shared, "cv/meuse_ok_loo_nmax16.csv");
    const auto near = Kriging(data, tests::meuse_model(), sixteen).leave_one_out();
    CHECK(tests::largest_difference(near.predicted, local.numbers("pred")) < 1e-11);
    CHECK(tests::largest_difference(near.variance, local.numbers("var")) < 1e-11);
}

TEST_CASE("coefficients of a drift are those of generalised least squares") {
    NEEDS_SHARED_DATA(shared);
    SpatialData data = tests::meuse_log_zinc(shared);
    data.drift = tests::reference_table(shared, "data/meuse.csv").numbers("dist").array().sqrt();
    const auto expected = tests::reference_table(shared, "kriging/meuse_gls_coefficients_M_UK.csv").numbers("beta");
    const Kriging kriging(data, VariogramModel::parse("nugget 0.0798 + spherical 0.1485283 range 877.3"));
    CHECK(tests::largest_difference(kriging.coefficients(), expected) < 1e-12);
}

TEST_CASE("the mean of a lognormal value agrees with trans-Gaussian kriging to first order") {
    NEEDS_SHARED_DATA(shared);
    // gstat's krigeTg with lambda = 0 expands the same correction around the mean m of the logs (Cressie 1993, p. 137):
    // exp(estimate) + exp(m) (variance/2 - lagrange).
    const auto expected = tests::reference_table(shared, "kriging/meuse_transgaussian_lambda0.csv");
    const Kriging kriging(tests::meuse_log_zinc(shared), tests::meuse_model());
    const auto found = kriging.at(tests::places_of(expected));
    const double mean = kriging.coefficients()[0];
    for (Eigen::Index i = 0; i < found.estimate.size(); i += 50) {
        const auto moments = models::lognormal_moments(found.estimate[i], found.variance[i], found.lagrange[i]);
        const double correction = std::log(moments.mean / moments.median);
        CHECK(moments.median + std::exp(mean) * correction == Approx(expected.numbers("pred")[i]).epsilon(1e-10));
    }
}

TEST_CASE("the weights of ordinary kriging sum to one") {
    SpatialData data = scattered(40, 1);
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + exponential 1 range 80 azimuth 20 ratio 0.6");
    const Eigen::MatrixX2d targets = scattered(30, 2).positions_m;
    const Eigen::VectorXd before = Kriging(data, model).at(targets).estimate;
    data.values.array() += 7.25;
    const Eigen::VectorXd after = Kriging(data, model).at(targets).estimate;
    CHECK((after - before).isApprox(Eigen::VectorXd::Constant(30, 7.25), 1e-12));
}

TEST_CASE("without error the map passes through the data and a filtered error does not") {
    const SpatialData data = scattered(40, 3);
    const auto exact = Kriging(data, VariogramModel::parse("nugget 0.2 + spherical 1 range 150")).at(data.positions_m);
    CHECK(tests::largest_difference(exact.estimate, data.values) < 1e-12);
    CHECK(exact.variance.maxCoeff() < 1e-12);
    CHECK(exact.variance.minCoeff() >= 0.0);
    const auto smooth = Kriging(data, VariogramModel::parse("error 0.2 + spherical 1 range 150")).at(data.positions_m);
    CHECK(tests::largest_difference(smooth.estimate, data.values) > 0.01);
    CHECK(smooth.variance.minCoeff() > 0.01);
}

TEST_CASE("shifting and turning the ground or shuffling the data changes nothing") {
    const SpatialData data = scattered(60, 4);
    const Eigen::MatrixX2d targets = scattered(50, 5).positions_m;
    const auto base =
        Kriging(data, VariogramModel::parse("nugget 0.1 + exponential 1 range 80 azimuth 20 ratio 0.5")).at(targets);

    const auto moved = [](const Eigen::MatrixX2d& places, double degrees, double factor) {
        const double angle = degrees * std::acos(-1.0) / 180.0;  // clockwise
        Eigen::MatrixX2d out(places.rows(), 2);
        out.col(0) = factor * (std::cos(angle) * places.col(0) + std::sin(angle) * places.col(1)).array() + 1000.0;
        out.col(1) = factor * (-std::sin(angle) * places.col(0) + std::cos(angle) * places.col(1)).array() - 300.0;
        return out;
    };
    SpatialData turned = data;
    turned.positions_m = moved(data.positions_m, 35.0, 2.0);
    const auto again =
        Kriging(turned, VariogramModel::parse("nugget 0.1 + exponential 1 range 160 azimuth 55 ratio 0.5"))
            .at(moved(targets, 35.0, 2.0));
    CHECK(tests::largest_difference(base.estimate, again.estimate) < 1e-11);
    CHECK(tests::largest_difference(base.variance, again.variance) < 1e-11);

    SpatialData backwards = data;
    backwards.positions_m = data.positions_m.colwise().reverse();
    backwards.values = data.values.reverse();
    const auto other =
        Kriging(backwards, VariogramModel::parse("nugget 0.1 + exponential 1 range 80 azimuth 20 ratio 0.5"))
            .at(targets);
    CHECK(tests::largest_difference(base.estimate, other.estimate) < 1e-12);
}

TEST_CASE("a block of equal values has that value and less variance than a point") {
    SpatialData data = scattered(30, 6);
    data.values.setConstant(4.0);
    KrigingSettings block;
    block.block = {60.0, 40.0};
    const VariogramModel model = VariogramModel::parse("nugget 0.3 + spherical 1 range 150");
    const auto targets = scattered(20, 7).positions_m;
    const auto found = Kriging(data, model, block).at(targets);
    CHECK(tests::largest_difference(found.estimate, Eigen::VectorXd::Constant(20, 4.0)) < 1e-12);
    CHECK((found.variance.array() < Kriging(data, model).at(targets).variance.array()).all());
}

TEST_CASE("kriging is the same to the last bit for any number of threads") {
    const SpatialData data = scattered(120, 8);
    models::GridM grid{0.0, 400.0, 5.0, 100, 80};
    for (const bool local : {false, true}) {
        KrigingSettings one, five;
        one.threads = 1;
        five.threads = 5;
        if (local) one.neighbourhood.count = five.neighbourhood.count = 12;
        const VariogramModel model = VariogramModel::parse("nugget 0.1 + spherical 1 range 150");
        const auto a = Kriging(data, model, one).on_grid(grid), b = Kriging(data, model, five).on_grid(grid);
        CHECK((a.estimate.array() == b.estimate.array()).all());
        CHECK((a.variance.array() == b.variance.array()).all());
    }
}

TEST_CASE("points at one place are merged without error and kept apart with it") {
    SpatialData data = scattered(20, 9);
    data.positions_m.row(7) = data.positions_m.row(3);
    data.positions_m.row(11) = data.positions_m.row(3);
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + spherical 1 range 150");
    const Kriging merged(data, model);
    CHECK(merged.preparation().merged == 2);
    CHECK(merged.preparation().places == 18);
    CHECK_THAT(merged.preparation().notes.at(0), Contains("2 points lay where another does"));
    const double mean = (data.values[3] + data.values[7] + data.values[11]) / 3.0;
    CHECK(merged.at(data.positions_m.row(3)).estimate[0] == Approx(mean));

    data.error_variances = Eigen::VectorXd::Constant(20, 0.05);
    const Kriging apart(data, model);
    CHECK(apart.preparation().merged == 0);
    CHECK(apart.at(data.positions_m).estimate.allFinite());
}

TEST_CASE("one point gives its value everywhere and says how little it knows") {
    SpatialData data;
    data.positions_m = one_place(10, 10);
    data.values = Eigen::VectorXd::Constant(1, 3.5);
    const Kriging kriging(data, VariogramModel::parse("spherical 1 range 100"));
    const auto found = kriging.at(one_place(500, 500));
    CHECK(found.estimate[0] == 3.5);
    CHECK(found.variance[0] == Approx(2.0));
    CHECK_THROWS_WITH(kriging.leave_one_out(), Contains("cannot be cross-validated"));
}

TEST_CASE("collinear points and equal values are no trouble") {
    SpatialData data;
    data.positions_m.resize(5, 2);
    data.positions_m << 0, 0, 10, 10, 20, 20, 30, 30, 40, 40;
    data.values = Eigen::VectorXd::Constant(5, 2.0);
    const auto found = Kriging(data, VariogramModel::parse("spherical 1 range 25")).at(one_place(12, 30));
    CHECK(found.estimate[0] == Approx(2.0));
    CHECK(found.variance[0] > 0.0);
    data.drift = data.positions_m;
    CHECK_THROWS_WITH(Kriging(data, VariogramModel::parse("spherical 1 range 25")),
                      Contains("follow from one another"));
}

TEST_CASE("impossible kriging is refused in words") {
    const VariogramModel model = VariogramModel::parse("spherical 1 range 100");
    CHECK_THROWS_WITH(Kriging({}, model), Contains("there are no points"));
    SpatialData data = scattered(10, 10);
    data.values[4] = std::numeric_limits<double>::infinity();
    CHECK_THROWS_WITH(Kriging(data, model), Contains("point 5"));
    data = scattered(10, 10);
    data.error_variances = Eigen::VectorXd::Constant(10, -0.1);
    CHECK_THROWS_WITH(Kriging(data, model), Contains("a variance cannot be negative"));
    data = scattered(10, 10);
    data.drift = Eigen::MatrixXd::Constant(10, 1, 2.0);
    CHECK_THROWS_WITH(Kriging(data, model), Contains("the same at all points"));
    data = scattered(10, 10);
    CHECK_THROWS_WITH(Kriging(data, VariogramModel::parse("spherical 0 range 10")), Contains("sill is greater than 0"));
    KrigingSettings mean;
    mean.known_mean = 1.0;
    CHECK_THROWS_WITH(Kriging(data, VariogramModel::parse("linear 1"), mean), Contains("without a sill"));
    data.positions_m.row(5) = data.positions_m.row(4).array() + 1e-13;
    CHECK_THROWS_WITH(Kriging(data, VariogramModel::parse("gaussian 1 range 500")), Contains("nearest two places"));
    data = scattered(3, 11);
    data.drift = Eigen::MatrixXd::Random(3, 3);
    CHECK_THROWS_WITH(Kriging(data, model), Contains("3 places cannot give"));
}

TEST_CASE("targets without drift or reach are counted with their reason") {
    SpatialData data = scattered(30, 12);
    data.drift = data.positions_m.col(0);
    const VariogramModel model = VariogramModel::parse("spherical 1 range 100");
    Eigen::MatrixXd drift = data.drift;
    drift(3, 0) = NAN;
    drift(4, 0) = NAN;
    const auto found = Kriging(data, model).at(data.positions_m, drift);
    REQUIRE(found.not_estimated.size() == 1);
    CHECK(found.not_estimated[0].places == 2);
    CHECK_THAT(found.not_estimated[0].reason, Contains("drift column has no value"));
    CHECK(std::isnan(found.estimate[3]));
    CHECK(std::isfinite(found.estimate[5]));

    KrigingSettings near;
    near.neighbourhood.radius_m = 1.0;
    const auto far = Kriging(scattered(30, 12), model, near).at(one_place(5000, 5000));
    REQUIRE(far.not_estimated.size() == 1);
    CHECK_THAT(far.not_estimated[0].reason, Contains("fewer than 1 point within reach"));
}

TEST_CASE("kriging stops when asked to") {
    const models::Progress stopping([](std::string_view, double) { return false; });
    const Kriging kriging(scattered(50, 13), VariogramModel::parse("spherical 1 range 100"));
    CHECK_THROWS_AS(kriging.on_grid({0.0, 400.0, 2.0, 250, 200}, {}, stopping), models::Cancelled);
}
