#include <cmath>
#include <set>

#include <Eigen/Cholesky>
#include <catch2/catch.hpp>

#include "models/error.h"
#include "models/spatial/random_field.h"
#include "models/spatial/random_numbers.h"
#include "models/spatial/simulation.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::Kriging;
using models::SimulationReport;
using models::SimulationSettings;
using models::SpatialData;
using models::VariogramModel;

namespace {

/// All realisations, one a column.
struct Drawn {
    Eigen::MatrixXd values;
    SimulationReport report;
};
Drawn draw_grid(const SpatialData& data, const VariogramModel& model, const models::GridM& grid,
                const SimulationSettings& settings, const Eigen::MatrixXd& drift = {}) {
    Drawn drawn;
    drawn.values.resize(grid.cells(), settings.realisations);
    drawn.report = models::simulate_on_grid(
        data, model, grid, settings, [&](int number, const auto& values) { drawn.values.col(number) = values; }, drift);
    return drawn;
}
Drawn draw_at(const SpatialData& data, const VariogramModel& model, const Eigen::MatrixX2d& targets,
              const SimulationSettings& settings) {
    Drawn drawn;
    drawn.values.resize(targets.rows(), settings.realisations);
    drawn.report = models::simulate_at(data, model, targets, settings,
                                       [&](int number, const auto& values) { drawn.values.col(number) = values; });
    return drawn;
}

Eigen::MatrixXd covariances(const VariogramModel& model, const Eigen::MatrixX2d& a, const Eigen::MatrixX2d& b) {
    Eigen::MatrixXd out(a.rows(), b.rows());
    for (Eigen::Index i = 0; i < a.rows(); ++i) {
        for (Eigen::Index j = 0; j < b.rows(); ++j) {
            out(i, j) = model.sill() - model.semivariance(a(i, 0) - b(j, 0), a(i, 1) - b(j, 1));
        }
    }
    return out;
}

Eigen::MatrixX2d centres_of(const models::GridM& grid) {
    Eigen::MatrixX2d out(grid.cells(), 2);
    for (Eigen::Index k = 0; k < out.rows(); ++k) {
        const auto centre = grid.centre(static_cast<int>(k) / grid.columns, static_cast<int>(k) % grid.columns);
        out.row(k) << centre.x_m, centre.y_m;
    }
    return out;
}

/// Covariances of the kriging errors of all targets, straight from the textbook's matrices.
Eigen::MatrixXd error_covariances(const SpatialData& data, const VariogramModel& model, const Eigen::MatrixX2d& targets,
                                  bool known_mean) {
    const Eigen::MatrixXd c = covariances(model, data.positions_m, data.positions_m),
                          c0 = covariances(model, data.positions_m, targets);
    const Eigen::LLT<Eigen::MatrixXd> factor(c);
    Eigen::MatrixXd out = covariances(model, targets, targets) - c0.transpose() * factor.solve(c0);
    if (!known_mean) {
        const Eigen::VectorXd ones = Eigen::VectorXd::Ones(c.rows()), weights = factor.solve(ones);
        const Eigen::VectorXd gap = Eigen::VectorXd::Ones(c0.cols()) - c0.transpose() * weights;
        out += gap * gap.transpose() / ones.dot(weights);
    }
    return out;
}

/// What must hold within Monte Carlo error of N independent draws from N(mean, covariance).
void check_moments(const Eigen::MatrixXd& drawn, const Eigen::VectorXd& mean, const Eigen::MatrixXd& covariance) {
    const double n = static_cast<double>(drawn.cols());
    const Eigen::Index m = drawn.rows();
    const Eigen::VectorXd found_mean = drawn.rowwise().mean();
    const Eigen::VectorXd z = (found_mean - mean).array() / (covariance.diagonal().array().max(1e-12) / n).sqrt();
    CHECK(z.cwiseAbs().maxCoeff() < 5.0);
    CHECK(z.cwiseAbs().mean() == Approx(0.798).margin(0.25).epsilon(0.0));  // correlated from cell to cell
    const Eigen::MatrixXd centred = drawn.colwise() - found_mean;
    const Eigen::MatrixXd found = centred * centred.transpose() / (n - 1.0);
    // var(s_ij) = (c_ij^2 + c_ii c_jj) / (n - 1)
    double worst = 0.0, squares = 0.0;
    for (Eigen::Index i = 0; i < m; ++i) {
        for (Eigen::Index j = 0; j <= i; ++j) {
            const double spread = std::sqrt(
                (covariance(i, j) * covariance(i, j) + covariance(i, i) * covariance(j, j)) / (n - 1.0) + 1e-24);
            const double deviation = (found(i, j) - covariance(i, j)) / spread;
            worst = std::max(worst, std::abs(deviation));
            squares += deviation * deviation;
        }
    }
    CHECK(worst < 6.0);
    CHECK(squares / (0.5 * static_cast<double>(m * (m + 1))) == Approx(1.0).margin(0.2).epsilon(0.0));
    // The squared Mahalanobis distance of a realisation is chi-squared with m degrees of freedom.
    const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
    if (factor.info() == Eigen::Success) {
        const Eigen::MatrixXd whitened = factor.matrixL().solve(drawn.colwise() - mean);
        const Eigen::VectorXd distance = whitened.colwise().squaredNorm().transpose() / static_cast<double>(m);
        const double spread = std::sqrt(2.0 / static_cast<double>(m));
        CHECK(distance.mean() == Approx(1.0).margin(5.0 * spread / std::sqrt(n)).epsilon(0.0));
        CHECK(std::sqrt((distance.array() - distance.mean()).square().mean()) == Approx(spread).epsilon(0.1));
    }
}

}  // namespace

TEST_CASE("the random numbers are those of the published Philox test vectors") {
    // Salmon et al., Random123, file kat_vectors, philox4x32 with 10 rounds.
    CHECK(models::philox({0, 0, 0, 0}, {0, 0}) ==
          std::array<std::uint32_t, 4>{0x6627e8d5, 0xe169c58d, 0xbc57ac4c, 0x9b00dbd8});
    CHECK(models::philox({0xffffffff, 0xffffffff, 0xffffffff, 0xffffffff}, {0xffffffff, 0xffffffff}) ==
          std::array<std::uint32_t, 4>{0x408f276d, 0x41c83b0e, 0xa20bc7c6, 0x6d5451fd});
    CHECK(models::philox({0x243f6a88, 0x85a308d3, 0x13198a2e, 0x03707344}, {0xa4093822, 0x299f31d0}) ==
          std::array<std::uint32_t, 4>{0xd16cfe09, 0x94fdcceb, 0x5001e420, 0x24126ea1});
}

TEST_CASE("normal values have the moments of a normal distribution") {
    const models::NormalStream stream(20240601, 7, 3);
    const int n = 400000;
    double sum = 0.0, squares = 0.0, fourth = 0.0;
    int beyond = 0;
    for (int i = 0; i < n; ++i) {
        const double value = stream.one(static_cast<std::uint64_t>(i));
        sum += value;
        squares += value * value;
        fourth += value * value * value * value;
        beyond += std::abs(value) > 1.959963984540054 ? 1 : 0;
    }
    CHECK(std::abs(sum / n) < 5.0 / std::sqrt(n));
    CHECK(std::abs(squares / n - 1.0) < 5.0 * std::sqrt(2.0 / n));
    CHECK(std::abs(fourth / n - 3.0) < 5.0 * std::sqrt(96.0 / n));
    CHECK(std::abs(beyond - 0.05 * n) < 5.0 * std::sqrt(0.05 * 0.95 * n));
}

TEST_CASE("a field on a torus has the covariances of its variogram between all nodes of the grid") {
    const VariogramModel model =
        VariogramModel::parse("spherical 0.7 range 60 azimuth 30 ratio 0.5 + exponential 0.3 range 12");
    const models::GridM grid{0.0, 90.0, 5.0, 14, 11};
    const auto field = models::TorusField::embed(model, grid.columns, grid.rows, grid.cell_m);
    REQUIRE(field);
    CHECK(field->neglected() < 1e-10);
    Eigen::MatrixXd drawn(grid.cells(), 4000);
    Eigen::VectorXd first(grid.cells()), second(grid.cells());
    for (int pair = 0; pair < 2000; ++pair) {
        field->draw(11, static_cast<std::uint32_t>(pair), first, second);
        drawn.col(2 * pair) = first;
        drawn.col(2 * pair + 1) = second;
    }
    check_moments(drawn, Eigen::VectorXd::Zero(grid.cells()), covariances(model, centres_of(grid), centres_of(grid)));
}

TEST_CASE("simulated Meuse zinc has the exact conditional mean and covariances") {
    NEEDS_SHARED_DATA(shared);
    // Simple kriging with mean 5.9 at 194 cells; mean from gstat, covariances from R's dense formula.
    const auto cells = tests::reference_table(shared, "simulation/meuse_sgs_sk_global_4000.csv");
    const auto matrix = tests::reference_table(shared, "simulation/meuse_exact_conditional_covariance.csv");
    Eigen::MatrixXd exact(194, 194);
    for (Eigen::Index k = 0; k < 194; ++k) exact.col(k) = matrix.numbers("V" + std::to_string(k + 1));
    SimulationSettings settings;
    settings.realisations = 4000;
    settings.seed = 20240601;
    settings.known_mean = 5.9;
    const auto drawn = draw_at(tests::meuse_log_zinc(shared), tests::meuse_model(), tests::places_of(cells), settings);
    CHECK_THAT(drawn.report.method, Contains("Cholesky factor"));
    CHECK(drawn.report.neglected < 1e-12);
    check_moments(drawn.values, cells.numbers("sk_pred"), exact);
}

TEST_CASE("simulation on a grid has the law of the kriging error though the data lie off the nodes") {
    NEEDS_SHARED_DATA(shared);
    const SpatialData data = tests::meuse_log_zinc(shared);
    const models::GridM grid{178600.0, 333800.0, 200.0, 14, 21};
    SimulationSettings settings;
    settings.realisations = 4000;
    settings.method = models::SimulationMethod::torus;
    for (const bool known_mean : {true, false}) {
        if (known_mean) settings.known_mean = 5.9;
        if (!known_mean) settings.known_mean.reset();
        const auto drawn = draw_grid(data, tests::meuse_model(), grid, settings);
        CHECK_THAT(drawn.report.method, Contains("circulant embedding on a torus of"));
        CHECK(drawn.report.neglected < 1e-3);
        models::KrigingSettings kriging;
        kriging.known_mean = settings.known_mean;
        check_moments(drawn.values, Kriging(data, tests::meuse_model(), kriging).on_grid(grid).estimate,
                      error_covariances(data, tests::meuse_model(), centres_of(grid), known_mean));
    }
}

TEST_CASE("realisations pass through the data at the nodes and a filtered error does not") {
    SpatialData data;
    const models::GridM grid{0.0, 100.0, 5.0, 30, 20};
    data.positions_m.resize(4, 2);
    data.positions_m << 12.5, 52.5, 77.5, 22.5, 102.5, 87.5, 31.0, 33.0;
    data.values.resize(4);
    data.values << 1.0, -2.0, 0.5, 3.0;
    SimulationSettings settings;
    settings.realisations = 20;
    settings.method = models::SimulationMethod::torus;
    const auto cell_of = [&](Eigen::Index i) {
        return static_cast<Eigen::Index>((100.0 - data.positions_m(i, 1)) / 5.0) * 30 +
               static_cast<Eigen::Index>(data.positions_m(i, 0) / 5.0);
    };
    const auto exact = draw_grid(data, VariogramModel::parse("nugget 0.2 + spherical 1 range 40"), grid, settings);
    const auto filtered = draw_grid(data, VariogramModel::parse("error 0.2 + spherical 1 range 40"), grid, settings);
    for (Eigen::Index i = 0; i < 3; ++i) {
        CHECK((exact.values.row(cell_of(i)).array() - data.values[i]).abs().maxCoeff() < 1e-10);
        CHECK((filtered.values.row(cell_of(i)).array() - data.values[i]).abs().minCoeff() > 1e-6);
    }
    // No two realisations are alike.
    CHECK((exact.values.col(0) - exact.values.col(1)).cwiseAbs().maxCoeff() > 0.5);
}

TEST_CASE("a field that no torus can hold is drawn from the full matrix and has the same law") {
    SpatialData data;
    data.positions_m.resize(5, 2);
    data.positions_m << 10, 10, 80, 20, 45, 60, 20, 85, 90, 90;
    data.values.resize(5);
    data.values << 1.0, 2.0, 1.5, 0.3, 2.5;
    const models::GridM grid{0.0, 100.0, 10.0, 10, 10};
    // A pure wave: its spectrum is a ring, which no finite torus holds.
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + hole 1 range 20");
    SimulationSettings settings;
    settings.realisations = 4000;
    settings.method = models::SimulationMethod::torus;
    const auto drawn = draw_grid(data, model, grid, settings);
    CHECK_THAT(drawn.report.method, Contains("Cholesky factor"));
    CHECK_THAT(drawn.report.notes.at(0), Contains("no torus has this covariance exactly"));
    check_moments(drawn.values, Kriging(data, model).on_grid(grid).estimate,
                  error_covariances(data, model, centres_of(grid), false));
    // The same seed by either way gives the same law: smooth fields too, whose matrix is singular to rounding.
    SimulationSettings few;
    few.realisations = 2;
    const auto smooth = draw_grid(data, VariogramModel::parse("nugget 0.01 + gaussian 1 range 60"), grid, few);
    CHECK(smooth.values.allFinite());
    CHECK(smooth.report.neglected < 1e-9);
}

TEST_CASE("simulations are the same to the last bit for any number of threads and differ by seed") {
    NEEDS_SHARED_DATA(shared);
    const SpatialData data = tests::meuse_log_zinc(shared);
    const models::GridM grid{178600.0, 333800.0, 100.0, 30, 42};
    SimulationSettings settings;
    settings.realisations = 7;
    settings.method = models::SimulationMethod::torus;
    settings.threads = 1;
    const auto one = draw_grid(data, tests::meuse_model(), grid, settings);
    settings.threads = 3;
    const auto three = draw_grid(data, tests::meuse_model(), grid, settings);
    CHECK(one.values == three.values);
    settings.seed = 2;
    CHECK(draw_grid(data, tests::meuse_model(), grid, settings).values != one.values);
}

TEST_CASE("observations with errors at one place share the ground and not the error") {
    SpatialData data;
    data.positions_m = Eigen::MatrixX2d::Constant(3, 2, 52.5);
    data.values = Eigen::Vector3d(1.0, 1.4, 0.9);
    data.error_variances = Eigen::Vector3d(0.1, 0.2, 0.4);
    const models::GridM grid{0.0, 100.0, 5.0, 20, 20};
    SimulationSettings settings;
    settings.realisations = 4000;
    settings.known_mean = 0.0;
    settings.method = models::SimulationMethod::torus;
    const VariogramModel model = VariogramModel::parse("spherical 1 range 40");
    const auto drawn = draw_grid(data, model, grid, settings);
    models::KrigingSettings kriging;
    kriging.known_mean = 0.0;
    const auto expected = Kriging(data, model, kriging).on_grid(grid);
    const Eigen::VectorXd mean = drawn.values.rowwise().mean();
    const Eigen::VectorXd variance = (drawn.values.colwise() - mean).rowwise().squaredNorm() / 3999.0;
    CHECK(((mean - expected.estimate).array() / (expected.variance.array() / 4000.0).sqrt()).abs().maxCoeff() < 5.0);
    CHECK((variance.array() / expected.variance.array() - 1.0).abs().maxCoeff() < 6.0 * std::sqrt(2.0 / 4000.0));
}

TEST_CASE("what cannot be simulated is refused in words") {
    SpatialData data;
    data.positions_m.resize(2, 2);
    data.positions_m << 0, 0, 50, 50;
    data.values = Eigen::Vector2d(1.0, 2.0);
    const models::GridM grid{0.0, 50.0, 5.0, 10, 10};
    SimulationSettings settings;
    const auto nothing = [](int, const auto&) {};
    CHECK_THROWS_WITH(models::simulate_on_grid(data, VariogramModel::parse("linear 0.01"), grid, settings, nothing),
                      Contains("without a sill (linear, power) cannot be simulated"));
    settings.realisations = 0;
    CHECK_THROWS_WITH(
        models::simulate_on_grid(data, VariogramModel::parse("spherical 1 range 10"), grid, settings, nothing),
        Contains("0 realisations are asked for"));
    settings.realisations = 1;
    CHECK_THROWS_WITH(models::simulate_at(data, VariogramModel::parse("spherical 1 range 10"),
                                          Eigen::MatrixX2d::Random(6001, 2), settings, nothing),
                      Contains("too many for the factor of a full matrix"));
    const models::Progress stopping([](std::string_view, double) { return false; });
    CHECK_THROWS_AS(models::simulate_on_grid(data, VariogramModel::parse("spherical 1 range 10"), grid, settings,
                                             nothing, {}, stopping),
                    models::Cancelled);
}
