#include <cmath>
#include <random>

#include <catch2/catch.hpp>

#include "models/spatial/kriging.h"
#include "models/spatial/kriging_grid.h"
#include "models/spatial/kriging_system.h"
#include "tests/models/spatial_reference.h"

using models::Kriging;
using models::KrigingSettings;
using models::VariogramModel;

namespace {

models::SpatialData wavy(int n, unsigned seed) {
    std::mt19937 generator(seed);
    const auto uniform = [&] { return static_cast<double>(generator()) / 4294967296.0; };
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        data.positions_m.row(i) << 180000.0 + 1000.0 * uniform(), 330000.0 + 800.0 * uniform();
        data.values[i] = std::sin(data.positions_m(i, 0) / 90.0) + 0.3 * uniform();
    }
    // Two data exactly at cell centres.
    data.positions_m.row(0) << 180302.5, 330402.5;
    data.positions_m.row(1) << 180707.5, 330107.5;
    return data;
}

}  // namespace

TEST_CASE("tiles of a grid equal the plain formula for every kind of model") {
    const models::SpatialData data = wavy(150, 5);
    const models::GridM grid{179950.0, 330850.0, 5.0, 220, 180};
    models::SpatialData drifting = data;
    drifting.drift = data.positions_m;
    Eigen::MatrixXd drift(grid.cells(), 2);
    for (Eigen::Index cell = 0; cell < drift.rows(); ++cell) {
        const auto centre = grid.centre(static_cast<int>(cell / 220), static_cast<int>(cell % 220));
        drift.row(cell) << centre.x_m, centre.y_m;
    }
    KrigingSettings plain, mean, block, estimate_only;
    mean.known_mean = 0.2;
    block.block = {15.0, 10.0};
    estimate_only.variance = false;
    struct Case {
        const char* model;
        const models::SpatialData& data;
        Eigen::MatrixXd drift;
        KrigingSettings settings;
    };
    const Eigen::MatrixXd none;
    for (const Case& one : {
             Case{"nugget 0.05 + exponential 0.5 range 150", data, none, plain},
             Case{"exponential 0.5 range 150", data, none, plain},
             Case{"nugget 0.05 + spherical 0.5 range 400", data, none, plain},
             Case{"nugget 0.05 + pentaspherical 0.5 range 300", data, none, plain},
             Case{"nugget 0.05 + gaussian 0.5 range 200", data, none, plain},
             Case{"nugget 0.05 + matern 0.5 range 80 smoothness 1.5", data, none, plain},
             Case{"nugget 0.05 + circular 0.5 range 300", data, none, plain},
             Case{"nugget 0.05 + hole 0.5 range 90", data, none, plain},
             Case{"nugget 0.05 + linear 0.002", data, none, plain},
             Case{"error 0.05 + exponential 0.5 range 150", data, none, plain},
             Case{"nugget 0.05 + exponential 0.5 range 300 azimuth 30 ratio 0.3", data, none, plain},
             Case{"nugget 0.05 + spherical 0.3 range 300 azimuth 70 ratio 0.5 + exponential 0.2 range 40", data, none,
                  plain},
             Case{"nugget 0.05 + exponential 0.5 range 150", data, none, mean},
             Case{"nugget 0.05 + exponential 0.5 range 150", data, none, block},
             Case{"nugget 0.05 + exponential 0.5 range 150", data, none, estimate_only},
             Case{"nugget 0.05 + exponential 0.5 range 150", drifting, drift, plain},
         }) {
        INFO(one.model);
        KrigingSettings slow = one.settings;
        slow.grid_method = models::GridMethod::dense;
        const VariogramModel model = VariogramModel::parse(one.model);
        const auto fast = Kriging(one.data, model, one.settings).on_grid(grid, one.drift);
        const auto dense = Kriging(one.data, model, slow).on_grid(grid, one.drift);
        CHECK(tests::largest_difference(fast.estimate, dense.estimate) < 1e-11);
        if (one.settings.variance) CHECK(tests::largest_difference(fast.variance, dense.variance) < 1e-11);
        if (fast.lagrange.size() > 0) CHECK(tests::largest_difference(fast.lagrange, dense.lagrange) < 1e-11);
    }
}

TEST_CASE("tiles are the same to the last bit for any number of threads") {
    const models::GridM grid{179950.0, 330850.0, 4.0, 280, 230};
    KrigingSettings one, three;
    one.threads = 1;
    three.threads = 3;
    const VariogramModel model = VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150");
    const auto a = Kriging(wavy(120, 6), model, one).on_grid(grid),
               b = Kriging(wavy(120, 6), model, three).on_grid(grid);
    CHECK((a.estimate.array() == b.estimate.array()).all());
    CHECK((a.variance.array() == b.variance.array()).all());
}

TEST_CASE("a cell of a tiled grid without drift is left out and counted") {
    models::SpatialData data = wavy(120, 7);
    data.drift = data.positions_m.col(0);
    const models::GridM grid{179950.0, 330850.0, 4.0, 280, 230};
    Eigen::MatrixXd drift(grid.cells(), 1);
    for (Eigen::Index cell = 0; cell < drift.rows(); ++cell)
        drift(cell, 0) = grid.centre(0, static_cast<int>(cell % 280)).x_m;
    drift(12345, 0) = NAN;
    const auto found =
        Kriging(data, VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150")).on_grid(grid, drift);
    REQUIRE(found.not_estimated.size() == 1);
    CHECK(found.not_estimated[0].places == 1);
    CHECK(std::isnan(found.estimate[12345]));
    CHECK(std::isnan(found.variance[12345]));
    CHECK(std::isfinite(found.estimate[12346]));
}

TEST_CASE("tiles that share the inverse of the factor equal the plain formula") {
    // Many cells and few data: every tile has near data, and inverting once is cheaper than solving for them again.
    const models::SpatialData data = wavy(90, 11);
    const models::GridM grid{179950.0, 330850.0, 2.5, 440, 360};
    KrigingSettings slow;
    slow.grid_method = models::GridMethod::dense;
    const VariogramModel model = VariogramModel::parse("nugget 0.05 + exponential 0.5 range 150");
    const models::PreparedCovariance covariance(model);
    Eigen::MatrixXd factor = Eigen::MatrixXd::Identity(90, 90);
    models::kernels::SystemArrays system;
    system.covariance = covariance.arrays();
    const models::PreparedBlock point{models::BlockM{}};
    system.block = point.arrays();
    system.n = 90;
    const Eigen::VectorXd x = data.positions_m.col(0), y = data.positions_m.col(1);
    system.x = x.data();
    system.y = y.data();
    system.factor = factor.data();
    REQUIRE(models::plan_grid(system, grid, {}, true, 1.0).inverse);
    const auto fast = Kriging(data, model).on_grid(grid), dense = Kriging(data, model, slow).on_grid(grid);
    CHECK(tests::largest_difference(fast.estimate, dense.estimate) < 1e-11);
    CHECK(tests::largest_difference(fast.variance, dense.variance) < 1e-11);
}
