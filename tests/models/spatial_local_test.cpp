#include <algorithm>
#include <cmath>
#include <numbers>
#include <random>
#include <vector>

#include <Eigen/LU>
#include <catch2/catch.hpp>

#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging.h"
#include "tests/models/spatial_reference.h"

using models::Kriging;
using models::KrigingSettings;
using models::VariogramModel;

namespace {

models::SpatialData clustered(int n) {
    std::mt19937 generator(31);
    const auto uniform = [&] { return static_cast<double>(generator()) / 4294967296.0; };
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    data.error_variances.resize(n);
    data.drift.resize(n, 1);
    for (Eigen::Index i = 0; i < n; ++i) {
        // Every other one in a corner, and some on a lattice so that distances tie.
        const double size = i % 2 == 0 ? 60.0 : 400.0;
        data.positions_m.row(i) << size * uniform(), size * uniform();
        if (i % 5 == 0)
            data.positions_m.row(i) << 10.0 * static_cast<double>(i % 40), 10.0 * static_cast<double>(i / 25);
        data.values[i] = std::sin(data.positions_m(i, 0) / 30.0) + 0.3 * uniform();
        data.error_variances[i] = 0.01 + 0.05 * uniform();
        data.drift(i, 0) = std::cos(data.positions_m(i, 1) / 50.0);
    }
    return data;
}

/// The data that a neighbourhood leaves for one place, found by sorting all of them.
models::SpatialData left_for(const models::SpatialData& data, double x, double y, const models::Neighbourhood& reach) {
    std::vector<std::pair<double, Eigen::Index>> all;
    for (Eigen::Index i = 0; i < data.values.size(); ++i) {
        const double dx = data.positions_m(i, 0) - x, dy = data.positions_m(i, 1) - y;
        if (reach.radius_m == 0.0 || dx * dx + dy * dy <= reach.radius_m * reach.radius_m) {
            all.emplace_back(dx * dx + dy * dy, i);
        }
    }
    std::sort(all.begin(), all.end());
    if (reach.sectors > 0) {
        std::vector<int> taken(static_cast<std::size_t>(reach.sectors));
        const double degrees_a_sector = 360.0 / reach.sectors;
        std::erase_if(all, [&](const auto& entry) {
            const double dx = data.positions_m(entry.second, 0) - x, dy = data.positions_m(entry.second, 1) - y;
            double azimuth_deg = std::atan2(dx, dy) * 180.0 / std::numbers::pi;
            if (azimuth_deg < 0.0) azimuth_deg += 360.0;
            const auto sector = static_cast<std::size_t>(azimuth_deg / degrees_a_sector + 1e-9);
            return ++taken[sector % taken.size()] > reach.count / reach.sectors;
        });
    }
    if (reach.count > 0) all.resize(std::min(all.size(), static_cast<std::size_t>(reach.count)));
    const auto n = static_cast<Eigen::Index>(all.size());
    models::SpatialData left;
    left.positions_m.resize(n, 2);
    left.values.resize(n);
    left.error_variances.resize(n);
    if (data.drift.cols() > 0) left.drift.resize(n, data.drift.cols());
    for (Eigen::Index k = 0; k < n; ++k) {
        const Eigen::Index i = all[static_cast<std::size_t>(k)].second;
        left.positions_m.row(k) = data.positions_m.row(i);
        left.values[k] = data.values[i];
        left.error_variances[k] = data.error_variances[i];
        if (data.drift.cols() > 0) left.drift.row(k) = data.drift.row(i);
    }
    return left;
}

}  // namespace

TEST_CASE("local kriging is kriging from each place's own nearest data alone") {
    const models::SpatialData with_drift = clustered(700);
    models::SpatialData plain = with_drift;
    plain.drift.resize(0, 0);
    // A fine grid, whose cells share neighbours; a coarse one, whose cells do not; and places far outside.
    const models::GridM fine{5.0, 45.0, 0.8, 37, 41}, coarse{-30.0, 430.0, 46.0, 10, 10};
    Eigen::MatrixX2d places(fine.cells() + coarse.cells() + 2, 2);
    Eigen::Index at = 0;
    for (const models::GridM& grid : {fine, coarse}) {
        for (int row = 0; row < grid.rows; ++row) {
            for (int column = 0; column < grid.columns; ++column) {
                places.row(at++) << grid.centre(row, column).x_m, grid.centre(row, column).y_m;
            }
        }
    }
    places.row(at++) << 1e7, -1e7;
    places.row(at) = with_drift.positions_m.row(10);
    Eigen::MatrixXd drift(places.rows(), 1);
    for (Eigen::Index i = 0; i < places.rows(); ++i) drift(i, 0) = std::cos(places(i, 1) / 50.0);
    KrigingSettings nearest, few, within, both, mean, block, many, quadrants, octants, full_octants;
    nearest.neighbourhood.count = 16;
    few.neighbourhood.count = 3;
    within.neighbourhood.radius_m = 25.0;
    both.neighbourhood = {9, 20.0, 2};
    mean.neighbourhood.count = 13;
    mean.known_mean = 0.2;
    block.neighbourhood.count = 11;
    block.block = {4.0, 3.0};
    many.neighbourhood.count = 140;
    quadrants.neighbourhood = {16, 60.0, 3, 4};
    octants.neighbourhood = {16, 0.0, 0, 8};
    full_octants.neighbourhood = {16, 0.0, 9, 8};  // two data on one side tell no drift
    struct Case {
        const char* model;
        const models::SpatialData& data;
        KrigingSettings settings;
    };
    for (const Case& one : {Case{"nugget 0.05 + exponential 0.5 range 30", plain, nearest},
                            Case{"nugget 0.05 + exponential 0.5 range 30", plain, few},
                            Case{"nugget 0.05 + spherical 0.5 range 90", plain, within},
                            Case{"exponential 0.5 range 30 azimuth 40 ratio 0.5", plain, both},
                            Case{"nugget 0.05 + exponential 0.5 range 30", plain, mean},
                            Case{"nugget 0.05 + exponential 0.5 range 30", plain, block},
                            Case{"nugget 0.05 + exponential 0.5 range 30", plain, quadrants},
                            Case{"nugget 0.05 + exponential 0.5 range 30", plain, octants},
                            Case{"nugget 0.05 + exponential 0.5 range 30", with_drift, full_octants},
                            Case{"nugget 0.05 + exponential 0.5 range 30", with_drift, nearest},
                            Case{"nugget 0.05 + exponential 0.5 range 30", plain, many}}) {
        const VariogramModel model = VariogramModel::parse(one.model);
        const bool drifts = one.data.drift.cols() > 0;
        const models::Neighbourhood& reach = one.settings.neighbourhood;
        INFO(one.model << ", " << reach.count << " within " << reach.radius_m);
        const auto found = Kriging(one.data, model, one.settings).at(places, drifts ? drift : Eigen::MatrixXd());
        KrigingSettings global = one.settings;
        global.neighbourhood = {};
        long long without = 0;
        double worst = 0.0;
        for (Eigen::Index i = 0; i < places.rows(); i += reach.count == 140 ? 37 : 3) {
            const models::SpatialData left = left_for(one.data, places(i, 0), places(i, 1), reach);
            if (left.values.size() < std::max(1, reach.at_least)) {
                CHECK(std::isnan(found.estimate[i]));
                CHECK(std::isnan(found.variance[i]));
                ++without;
                continue;
            }
            const auto alone = Kriging(left, model, global)
                                   .at(places.row(i), drifts ? Eigen::MatrixXd(drift.row(i)) : Eigen::MatrixXd());
            worst = std::max({worst, std::abs(found.estimate[i] - alone.estimate[0]),
                              std::abs(found.variance[i] - alone.variance[0])});
            if (alone.lagrange.size() > 0) worst = std::max(worst, std::abs(found.lagrange[i] - alone.lagrange[0]));
        }
        CHECK(worst < 1e-12);
        CHECK((without > 0) == (reach.radius_m > 0.0 || reach.at_least > 0));
    }
}

TEST_CASE("local kriging is the same to the last bit for any number of threads") {
    models::SpatialData data = clustered(400);
    data.drift.resize(0, 0);
    KrigingSettings one, three;
    one.neighbourhood.count = three.neighbourhood.count = 12;
    one.threads = 1;
    three.threads = 3;
    const VariogramModel model = VariogramModel::parse("nugget 0.05 + exponential 0.5 range 30");
    const models::GridM grid{0.0, 400.0, 4.0, 100, 100};
    const auto a = Kriging(data, model, one).on_grid(grid), b = Kriging(data, model, three).on_grid(grid);
    CHECK((a.estimate.array() == b.estimate.array()).all());
    CHECK((a.variance.array() == b.variance.array()).all());
}

TEST_CASE("places whose neighbours cannot be told apart are counted and leave the others as they are") {
    models::SpatialData data;
    data.positions_m.resize(40, 2);
    data.values.resize(40);
    for (Eigen::Index i = 0; i < 40; ++i) {
        // Twenty places in a heap that a Gaussian variogram cannot resolve, twenty far apart.
        const double t = static_cast<double>(i);
        data.positions_m.row(i) << (i < 20 ? 1e-4 * t : 1000.0 + 30.0 * t),
            (i < 20 ? 1e-4 * std::fmod(7.0 * t, 5.0) : 0.0);
        data.values[i] = std::sin(t);
    }
    KrigingSettings settings;
    settings.neighbourhood.count = 6;
    Eigen::MatrixX2d places(6, 2);
    places << 0.0, 1.0, 1700.0, 3.0, 0.5, 0.0, 1800.0, 1.0, 0.1, 0.2, 1900.0, 2.0;
    const auto found = Kriging(data, VariogramModel::parse("gaussian 1 range 50"), settings).at(places);
    for (Eigen::Index i = 0; i < 6; ++i) CHECK(std::isnan(found.estimate[i]) == (i % 2 == 0));
    REQUIRE(found.not_estimated.size() == 1);
    CHECK(found.not_estimated[0].places == 3);
    CHECK(found.not_estimated[0].reason == "the points within reach cannot be told apart");
}

TEST_CASE("every processor level solves small systems side by side by the textbook formulas") {
    const int n = 11, p = 2, m = 3;
    for (const std::string& level : models::kernels::kernel_levels()) {
        INFO(level);
        const auto& table = models::kernels::kernel_table(level);
        const auto lanes = static_cast<std::size_t>(table.lanes);
        std::vector<double> factor(66 * lanes), inverse(11 * lanes), right(33 * lanes), triangle(3 * lanes),
            coefficients(2 * lanes), pivots(lanes), drifts(lanes), c(33 * lanes), target_drift(6 * lanes),
            gap(2 * lanes), estimate(3 * lanes), variance(3 * lanes), lagrange(3 * lanes);
        const auto covariance = [](double a, double b, double scale) {
            return (a == b ? 0.1 : 0.0) + std::exp(-std::abs(a - b) * scale);
        };
        Eigen::MatrixXd full(n, n), x(n, p), x0(m, p), c0(n, m);
        Eigen::VectorXd z(n);
        for (std::size_t lane = 0; lane < lanes; ++lane) {
            const double scale = 0.3 + 0.1 * static_cast<double>(lane);
            for (int i = 0; i < n; ++i) {
                const auto row = static_cast<std::size_t>(i);
                for (int j = 0; j <= i; ++j) {
                    const double value = covariance(i, j, scale);
                    factor[(row * (row + 1) / 2 + static_cast<std::size_t>(j)) * lanes + lane] = value;
                    if (lane == 0) full(i, j) = full(j, i) = value;
                }
                const double values[3] = {std::sin(1.3 * i), 1.0, 0.1 * i};
                for (std::size_t k = 0; k < 3; ++k) right[(k * 11 + row) * lanes + lane] = values[k];
                for (int t = 0; t < m; ++t) {
                    const double value = covariance(i, t * 2.7 + 0.4, scale);
                    c[(static_cast<std::size_t>(t) * 11 + row) * lanes + lane] = value;
                    if (lane == 0) c0(i, t) = value;
                }
                if (lane == 0) {
                    z[i] = values[0];
                    x.row(i) << values[1], values[2];
                }
            }
            for (int t = 0; t < m; ++t) {
                const double here[2] = {1.0, 0.1 * (t * 2.7 + 0.4)};
                for (std::size_t k = 0; k < 2; ++k) {
                    target_drift[(static_cast<std::size_t>(t) * 2 + k) * lanes + lane] = here[k];
                    if (lane == 0) x0(t, static_cast<Eigen::Index>(k)) = here[k];
                }
            }
        }
        models::kernels::LaneSystems systems{n,
                                             p,
                                             factor.data(),
                                             inverse.data(),
                                             right.data(),
                                             triangle.data(),
                                             coefficients.data(),
                                             pivots.data(),
                                             drifts.data(),
                                             0.0,
                                             1.1};
        table.factor_systems(systems);
        table.krige_systems(
            systems, {m, c.data(), target_drift.data(), gap.data(), estimate.data(), variance.data(), lagrange.data()});
        // The textbook formulas, from inverses.
        const Eigen::MatrixXd inverted = full.inverse(), information = (x.transpose() * inverted * x).inverse();
        const Eigen::VectorXd b = information * x.transpose() * inverted * z;
        for (int t = 0; t < m; ++t) {
            const Eigen::VectorXd at = x0.row(t).transpose(), weight = inverted * c0.col(t);
            const Eigen::VectorXd left = at - x.transpose() * weight;
            const auto first = static_cast<std::size_t>(t) * lanes;
            CHECK(estimate[first] == Approx(at.dot(b) + weight.dot(z - x * b)).epsilon(1e-12));
            CHECK(variance[first] == Approx(1.1 - weight.dot(c0.col(t)) + left.dot(information * left)).epsilon(1e-12));
            CHECK(lagrange[first] == Approx(at.dot(information * left)).epsilon(1e-12));
        }
    }
}
