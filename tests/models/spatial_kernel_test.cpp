#include <atomic>
#include <cmath>
#include <complex>
#include <numbers>
#include <vector>

#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging_system.h"
#include "models/spatial/parallel.h"
#include "models/spatial/random_field.h"
#include "models/spatial/random_numbers.h"
#include "models/spatial/tiled_factor.h"

using Catch::Matchers::Contains;

TEST_CASE("every processor level gives the covariances of the model to fourteen digits") {
    const std::vector<std::string> texts = {"exponential 0.5 range 40",
                                            "spherical 0.5 range 90",
                                            "gaussian 0.5 range 60",
                                            "pentaspherical 0.5 range 90",
                                            "circular 0.5 range 90",
                                            "matern 0.5 range 40 smoothness 0.5",
                                            "matern 0.5 range 40 smoothness 1.5",
                                            "matern 0.5 range 40 smoothness 2.5",
                                            "matern 0.5 range 40 smoothness 0.8",
                                            "hole 0.5 range 30 damping 80",
                                            "exponential 0.5 range 80 azimuth 25 ratio 0.4",
                                            "nugget 0.2 + exponential 0.5 range 40 + spherical 0.3 range 100"};
    std::vector<double> x, y;
    for (int i = 0; i < 301; ++i) {
        x.push_back(std::fmod(i * 37.7, 151.0));
        y.push_back(std::fmod(i * 51.3, 97.0));
    }
    CHECK(models::kernels::kernel_levels().front() == "generic");
    for (const std::string& level : models::kernels::kernel_levels()) {
        for (const std::string& text : texts) {
            INFO(level << ": " << text);
            const auto model = models::VariogramModel::parse(text);
            const models::PreparedCovariance covariance(model);
            std::vector<double> found(x.size());
            models::kernels::kernel_table(level).covariances(covariance.arrays(), x.data(), y.data(),
                                                             static_cast<int>(x.size()), x[5], y[5], found.data());
            double worst = 0.0;
            for (std::size_t i = 0; i < x.size(); ++i) {
                const double expected = model.sill() - model.semivariance(x[i] - x[5], y[i] - y[5]);
                worst = std::max(worst, std::abs(found[i] - expected));
            }
            CHECK(worst < 1e-14);
        }
    }
}

TEST_CASE("processor levels agree to twelve digits on a whole kriged tile") {
    const int n = 90, m = 40;
    const auto model = models::VariogramModel::parse("nugget 0.1 + exponential 0.5 range 40");
    const models::PreparedCovariance covariance(model);
    Eigen::VectorXd x(n), y(n), z(n), tx(m), ty(m);
    for (Eigen::Index i = 0; i < n; ++i) {
        const double t = static_cast<double>(i);
        x[i] = std::fmod(t * 37.7, 151.0);
        y[i] = std::fmod(t * 51.3, 97.0);
        z[i] = std::sin(t);
    }
    for (Eigen::Index i = 0; i < m; ++i) {
        const double t = static_cast<double>(i);
        tx[i] = 3.1 * t;
        ty[i] = 2.3 * t;
    }
    std::vector<Eigen::VectorXd> estimates, variances;
    for (const std::string& level : models::kernels::kernel_levels()) {
        const auto& table = models::kernels::kernel_table(level);
        Eigen::MatrixXd factor = Eigen::MatrixXd::Zero(n, n);
        for (Eigen::Index j = 0; j < n; ++j) {
            table.covariances(covariance.arrays(), x.data() + j, y.data() + j, static_cast<int>(n - j), x[j], y[j],
                              factor.col(j).data() + j);
        }
        REQUIRE(table.factor(factor.data(), n) == -1);
        Eigen::VectorXd residual = z;
        table.forward_solve(factor.data(), n, residual.data(), 1);
        models::kernels::SystemArrays system;
        system.covariance = covariance.arrays();
        const models::PreparedBlock point{models::BlockM{}};
        system.block = point.arrays();
        system.n = n;
        system.x = x.data();
        system.y = y.data();
        system.factor = factor.data();
        system.residual = residual.data();
        system.own_covariance = 0.6;
        Eigen::VectorXd estimate(m), variance(m);
        table.dense_tile(system, {m, tx.data(), ty.data(), nullptr, estimate.data(), variance.data(), nullptr, {}});
        estimates.push_back(estimate);
        variances.push_back(variance);
    }
    for (std::size_t level = 1; level < estimates.size(); ++level) {
        CHECK((estimates[level] - estimates[0]).cwiseAbs().maxCoeff() < 1e-12);
        CHECK((variances[level] - variances[0]).cwiseAbs().maxCoeff() < 1e-12);
    }
}

TEST_CASE("a processor level that is not there is refused with those that are") {
    CHECK_THROWS_WITH(models::kernels::kernel_table("avx1024"), Contains("set it to one of generic"));
}

TEST_CASE("a matrix factored tile by tile is the Cholesky factor whatever the number of threads") {
    const Eigen::Index n = 431;  // two whole tiles and some
    Eigen::MatrixXd matrix(n, n);
    for (Eigen::Index j = 0; j < n; ++j) {
        for (Eigen::Index i = 0; i < n; ++i) {
            matrix(i, j) = std::exp(-0.05 * static_cast<double>(std::abs(i - j))) + (i == j ? 0.1 : 0.0);
        }
    }
    Eigen::MatrixXd one = matrix, three = matrix;
    CHECK(models::factor_in_tiles(one.data(), 431, 1, {}) == -1);
    CHECK(models::factor_in_tiles(three.data(), 431, 3, {}) == -1);
    const Eigen::MatrixXd lower = one.triangularView<Eigen::Lower>();
    CHECK((lower * lower.transpose() - matrix).cwiseAbs().maxCoeff() < 1e-13);
    CHECK((lower.array() == Eigen::MatrixXd(three.triangularView<Eigen::Lower>()).array()).all());
    matrix(400, 400) = -1.0;
    CHECK(models::factor_in_tiles(matrix.data(), 431, 1, {}) == 400);
}

TEST_CASE("every processor level gives the columns of the inverse factor") {
    const Eigen::Index n = 70;
    Eigen::MatrixXd lower = Eigen::MatrixXd::Zero(n, n);
    for (Eigen::Index j = 0; j < n; ++j) {
        for (Eigen::Index i = j; i < n; ++i) lower(i, j) = i == j ? 2.0 : 0.1 * std::sin(static_cast<double>(i * j));
    }
    for (const std::string& level : models::kernels::kernel_levels()) {
        INFO(level);
        Eigen::MatrixXd columns(n - 30, 13);
        models::kernels::kernel_table(level).inverse_columns(lower.data(), 70, 30, 13, columns.data());
        const Eigen::MatrixXd back = lower.rightCols(n - 30) * columns;
        Eigen::MatrixXd unit = Eigen::MatrixXd::Zero(n, 13);
        unit.middleRows(30, 13).setIdentity();
        CHECK((back - unit).cwiseAbs().maxCoeff() < 1e-13);
    }
}

TEST_CASE("work that is told to stop does no more than the piece at hand") {
    for (const int threads : {1, 3}) {
        std::atomic<long long> pieces{0};
        long long pieces_when_told = -1;
        const models::Progress progress([&](std::string_view, double) {
            if (pieces < 100) return true;
            pieces_when_told = pieces;
            return false;
        });
        // One block a thread, each endless for all that a test can wait.
        CHECK_THROWS_AS(models::parallel_blocks(
                            threads, threads,
                            [&](long long, const models::PauseInBlock& pause) {
                                for (long long piece = 0; piece < 1000000000000; ++piece) {
                                    pause();
                                    ++pieces;
                                }
                            },
                            progress, "counting"),
                        models::Cancelled);
        REQUIRE(pieces_when_told >= 100);
        // The calling thread stops at once. Others go on until they are told, which is within one turn of theirs; on a
        // busy machine many turns may pass before the message is out, but the work ends.
        if (threads == 1) CHECK(pieces == pieces_when_told);
    }
}

TEST_CASE("kriging asks within a tile whether to go on and a stopped map hands out nothing more") {
    const Eigen::Index n = 700;
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const double t = static_cast<double>(i);
        data.positions_m.row(i) << std::fmod(t * 37.7, 1511.0), std::fmod(t * 51.3, 977.0);
        data.values[i] = std::sin(t);
    }
    const auto model = models::VariogramModel::parse("nugget 0.1 + exponential 0.5 range 400");
    const models::Progress stop_at_once([](std::string_view, double) { return false; });
    CHECK_THROWS_AS(models::Kriging(data, model, {}, stop_at_once), models::Cancelled);
    models::KrigingSettings settings;
    settings.threads = 1;
    const models::Kriging kriging(data, model, settings);
    // A grid of one hundred million cells, stopped when the first strip has been handed out.
    int strips = 0, strips_when_told = -1;
    const models::Progress stop_later([&](std::string_view, double) {
        if (strips == 0) return true;
        strips_when_told = strips;
        return false;
    });
    CHECK_THROWS_AS(kriging.over_grid(
                        {0.0, 1000.0, 0.1, 10000, 10000}, [&](int, int, const models::KrigingEstimates&) { ++strips; },
                        {}, stop_later),
                    models::Cancelled);
    CHECK(strips_when_told == 1);
    CHECK(strips == 1);
    // Within one tile: the kernel asks many times, and the first refusal is its last question.
    int asked = 0;
    struct Refusal {};
    const auto refuse = [](const void* who) {
        int& count = *static_cast<int*>(const_cast<void*>(who));
        if (++count == 3) throw Refusal();
    };
    const models::PreparedCovariance covariance(model);
    const models::PreparedBlock point{models::BlockM{}};
    const int size = 4;
    Eigen::MatrixXd factor = Eigen::MatrixXd::Identity(size, size);
    const Eigen::VectorXd x = Eigen::VectorXd::LinSpaced(size, 0.0, 300.0), zero = Eigen::VectorXd::Zero(size);
    models::kernels::SystemArrays system;
    system.covariance = covariance.arrays();
    system.block = point.arrays();
    system.n = size;
    system.x = system.y = x.data();
    system.factor = factor.data();
    system.residual = system.weights = zero.data();
    system.own_covariance = 0.6;
    const int side = 200;
    const Eigen::VectorXd places = Eigen::VectorXd::LinSpaced(side, 1.0, 201.0);
    Eigen::VectorXd estimate(side * side), variance(side * side);
    models::kernels::GridTileArrays tile;
    tile.columns = tile.rows = side;
    tile.x = tile.y = places.data();
    tile.half_x = tile.half_y = 100.5;
    tile.row_stride = side;
    tile.estimate = estimate.data();
    tile.variance = variance.data();
    tile.pause = {refuse, &asked};
    for (const std::string& level : models::kernels::kernel_levels()) {
        asked = 0;
        CHECK_THROWS_AS(models::kernels::kernel_table(level).chebyshev_tile(system, tile), Refusal);
        CHECK(asked == 3);
    }
}

TEST_CASE("every processor level transforms as the sum that defines the discrete Fourier transform") {
    constexpr int lanes = models::kernels::fourier_lanes;
    for (const std::string& level : models::kernels::kernel_levels()) {
        for (const int n : {1, 2, 3, 4, 5, 6, 8, 10, 16, 30, 36, 75, 240}) {
            INFO(level << ", " << n);
            std::vector<double> values(static_cast<std::size_t>(2 * lanes * n)), room(values.size());
            for (std::size_t k = 0; k < values.size(); ++k) values[k] = std::sin(1.7 * static_cast<double>(k * k));
            const std::vector<double> given = values;
            const models::FourierPlan plan(n);
            const double* found =
                models::kernels::kernel_table(level).fourier(plan.arrays(), values.data(), room.data());
            double worst = 0.0;
            for (int lane = 0; lane < lanes; ++lane) {
                for (int j = 0; j < n; ++j) {
                    std::complex<double> sum = 0.0;
                    for (int k = 0; k < n; ++k) {
                        const auto at = static_cast<std::size_t>(2 * lanes * k + lane);
                        sum += std::complex(given[at], given[at + lanes]) *
                               std::polar(1.0, -2.0 * std::numbers::pi * (j * k % n) / n);
                    }
                    const auto at = 2 * lanes * j + lane;
                    worst = std::max(worst, std::abs(sum - std::complex(found[at], found[at + lanes])));
                }
            }
            CHECK(worst < 1e-14 * n);
        }
    }
}

TEST_CASE("every processor level draws the random numbers of the sequence") {
    constexpr int lanes = models::kernels::fourier_lanes, count = 200;
    const models::NormalStream stream(0x1234567890abcdefULL, 2, 77);
    for (const std::string& level : models::kernels::kernel_levels()) {
        INFO(level);
        const std::uint64_t first = 0xfffffff0ULL, step = 3, lane_step = 1009;  // past 32 bits on the way
        std::vector<double> drawn(2 * lanes * count);
        models::kernels::kernel_table(level).normals(stream.arrays(), first, step, lane_step, count, drawn.data());
        double worst = 0.0;
        for (std::size_t k = 0; k < count; ++k) {
            for (std::size_t lane = 0; lane < lanes; ++lane) {
                const auto [one, two] = stream.two(first + step * k + lane_step * lane);
                worst = std::max(worst, std::abs(drawn[2 * lanes * k + lane] - one));
                worst = std::max(worst, std::abs(drawn[2 * lanes * k + lanes + lane] - two));
            }
        }
        CHECK(worst < 1e-14);
    }
}
