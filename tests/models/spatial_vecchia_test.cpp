#include <algorithm>
#include <cmath>
#include <limits>
#include <numbers>
#include <set>

#include <Eigen/Cholesky>
#include <Eigen/LU>
#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/place_order.h"
#include "models/spatial/random_field.h"
#include "models/spatial/random_numbers.h"
#include "models/spatial/variogram_likelihood.h"
#include "models/spatial/variogram_map.h"
#include "models/spatial/whitening.h"
#include "tests/models/spatial_reference.h"
#include "tests/support/shared_data.h"

using Catch::Matchers::Contains;
using models::LikelihoodKind;
using models::VariogramModel;

namespace {

/// Uniform numbers in (0, 1) of which number i is always the same.
double uniform_number(std::uint64_t i) {
    return 0.5 * std::erfc(-models::NormalStream(11, 7, 0).one(i) / std::numbers::sqrt2);
}

models::SpatialData uniform_places(Eigen::Index n, double side_m) {
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    for (Eigen::Index i = 0; i < n; ++i) {
        const auto at = static_cast<std::uint64_t>(3 * i);
        data.positions_m(i, 0) = side_m * uniform_number(at);
        data.positions_m(i, 1) = side_m * uniform_number(at + 1);
        data.values[i] = std::sin(data.positions_m(i, 0) / 37.0) + uniform_number(at + 2);
    }
    return data;
}

/// Always the place that lies farthest from all chosen, looked for among all.
std::vector<int> obvious_order(const Eigen::VectorXd& x, const Eigen::VectorXd& y) {
    std::vector<int> order;
    std::set<int> left;
    for (int i = 0; i < x.size(); ++i) left.insert(i);
    const auto squared = [&](double ax, double ay, int b) { return std::pow(ax - x[b], 2) + std::pow(ay - y[b], 2); };
    while (!left.empty()) {
        int best = -1;
        double best_distance = -1.0;
        for (const int i : left) {
            // The first is the one nearest to the mean.
            double nearest = order.empty() ? 1.0 / (1e-300 + squared(x.mean(), y.mean(), i)) : 1e300;
            for (const int chosen : order) nearest = std::min(nearest, squared(x[chosen], y[chosen], i));
            if (nearest > best_distance) {
                best = i;
                best_distance = nearest;
            }
        }
        order.push_back(best);
        left.erase(best);
    }
    return order;
}

std::vector<int> obvious_nearest_before(const Eigen::VectorXd& x, const Eigen::VectorXd& y, int i, int count) {
    std::vector<std::pair<double, int>> all;
    for (int j = 0; j < i; ++j) all.push_back({std::pow(x[i] - x[j], 2) + std::pow(y[i] - y[j], 2), j});
    std::sort(all.begin(), all.end());
    std::vector<int> nearest;
    for (int k = 0; k < std::min(i, count); ++k) nearest.push_back(all[static_cast<std::size_t>(k)].second);
    return nearest;
}

/// The log-likelihood from its definition: each value's conditional mean and variance under the variogram by a general
/// solver, the coefficients by the normal equations.
double obvious_likelihood(const models::SpatialData& data, const VariogramModel& model, LikelihoodKind kind,
                          int neighbours) {
    const Eigen::Index n = data.values.size();
    const models::VariogramTerm& metric = *std::find_if(
        model.terms.begin(), model.terms.end(), [](const models::VariogramTerm& term) { return term.range_m > 0.0; });
    const double azimuth = metric.azimuth_deg * std::numbers::pi / 180.0;
    const Eigen::VectorXd east = data.positions_m.col(0), north = data.positions_m.col(1);
    const Eigen::VectorXd along = std::sin(azimuth) * east + std::cos(azimuth) * north;
    const Eigen::VectorXd across = (std::cos(azimuth) * east - std::sin(azimuth) * north) / metric.ratio;
    const std::vector<int> order = obvious_order(across, along);
    Eigen::VectorXd x(n), y(n);
    Eigen::MatrixXd columns(n, 2 + data.drift.cols());  // values, constant, drift, in that order
    for (Eigen::Index i = 0; i < n; ++i) {
        const int from = order[static_cast<std::size_t>(i)];
        x[i] = across[from];
        y[i] = along[from];
        columns(i, 0) = data.values[from];
        columns(i, 1) = 1.0;
        if (data.drift.cols() > 0) columns.row(i).tail(data.drift.cols()) = data.drift.row(from);
    }
    const Eigen::MatrixXd design = columns.rightCols(columns.cols() - 1);
    const auto covariance = [&](int i, int j) {
        const int a = order[static_cast<std::size_t>(i)], b = order[static_cast<std::size_t>(j)];
        double value = model.sill() - model.semivariance(east[a] - east[b], north[a] - north[b]);
        if (east[a] == east[b] && north[a] == north[b]) value -= model.error();
        if (i == j) value += model.error() + (data.error_variances.size() > 0 ? data.error_variances[a] : 0.0);
        return value;
    };
    Eigen::MatrixXd white(n, columns.cols());
    double log_determinant = 0.0;
    for (int i = 0; i < n; ++i) {
        const std::vector<int> near = obvious_nearest_before(x, y, i, neighbours);
        const auto m = static_cast<Eigen::Index>(near.size());
        Eigen::MatrixXd among(m, m), rows(m, columns.cols());
        Eigen::VectorXd with(m);
        for (Eigen::Index a = 0; a < m; ++a) {
            const int first = near[static_cast<std::size_t>(a)];
            with[a] = covariance(first, i);
            rows.row(a) = columns.row(first);
            for (Eigen::Index b = 0; b < m; ++b) among(a, b) = covariance(first, near[static_cast<std::size_t>(b)]);
        }
        const Eigen::VectorXd weights = m > 0 ? Eigen::VectorXd(among.fullPivLu().solve(with)) : with;
        const double variance = covariance(i, i) - (m > 0 ? with.dot(weights) : 0.0);
        white.row(i) = columns.row(i);
        if (m > 0) white.row(i) -= weights.transpose() * rows;
        white.row(i) /= std::sqrt(variance);
        log_determinant += std::log(variance);
    }
    const Eigen::MatrixXd w = white.rightCols(white.cols() - 1);
    const Eigen::VectorXd z = white.col(0);
    const Eigen::MatrixXd information = w.transpose() * w;
    const Eigen::VectorXd rest = z - w * information.llt().solve(w.transpose() * z);
    const double two_pi = std::log(2.0 * std::numbers::pi);
    const double p = static_cast<double>(w.cols());
    if (kind == LikelihoodKind::full) {
        return -0.5 * (static_cast<double>(n) * two_pi + log_determinant + rest.squaredNorm());
    }
    return -0.5 * ((static_cast<double>(n) - p) * two_pi + log_determinant + std::log(information.determinant()) -
                   std::log((design.transpose() * design).determinant()) + rest.squaredNorm());
}

}  // namespace

TEST_CASE("places go from coarse to fine as if each next one were looked for among all") {
    Eigen::VectorXd x(500), y(500);
    for (Eigen::Index i = 0; i < 500; ++i) {
        x[i] = 100.0 * uniform_number(static_cast<std::uint64_t>(2 * i));
        y[i] = 60.0 * uniform_number(static_cast<std::uint64_t>(2 * i + 1));
    }
    // Some crowd together and some coincide.
    for (Eigen::Index i = 300; i < 400; ++i) x[i] = 50.0 + 1e-3 * x[i];
    for (Eigen::Index i = 450; i < 500; ++i) {
        x[i] = x[i - 450];
        y[i] = y[i - 450];
    }
    const std::vector<int> order = models::max_min_order(x, y);
    CHECK(order == obvious_order(x, y));
    CHECK(std::set<int>(order.begin(), order.end()).size() == 500);
    // A lattice is all ties.
    Eigen::VectorXd column(210), row(210);
    for (Eigen::Index i = 0; i < 210; ++i) {
        column[i] = static_cast<double>(i % 14);
        row[i] = static_cast<double>(i / 14);
    }
    CHECK(models::max_min_order(column, row) == obvious_order(column, row));
    CHECK(models::max_min_order(Eigen::VectorXd(), Eigen::VectorXd()).empty());
}

TEST_CASE("the nearest of those before are found with ties in order for any number of threads") {
    Eigen::VectorXd x(700), y(700);
    for (Eigen::Index i = 0; i < 700; ++i) {
        // Whole numbers, so that many are equally far and some coincide.
        x[i] = std::floor(25.0 * uniform_number(static_cast<std::uint64_t>(2 * i)));
        y[i] = std::floor(25.0 * uniform_number(static_cast<std::uint64_t>(2 * i + 1)));
    }
    const int count = 9;
    const std::vector<int> found = models::nearest_before(x, y, count, 1);
    for (int i = 0; i < 700; ++i) {
        const std::vector<int> expected = obvious_nearest_before(x, y, i, count);
        const auto begin = found.begin() + i * count;
        CHECK(std::equal(expected.begin(), expected.end(), begin));
    }
    CHECK(models::nearest_before(x, y, count, 2) == found);
    CHECK(models::nearest_before(x, y, 0).empty());
}

TEST_CASE("the shortest distance is that between the closest places that do not coincide") {
    for (const double squeeze : {1.0, 1e-6, 0.0}) {
        Eigen::VectorXd x(300), y(300);
        for (Eigen::Index i = 0; i < 300; ++i) {
            x[i] = squeeze * uniform_number(static_cast<std::uint64_t>(2 * i));
            y[i] = uniform_number(static_cast<std::uint64_t>(2 * i + 1));
        }
        x[200] = x[100];
        y[200] = y[100];
        double expected = std::numeric_limits<double>::infinity();
        for (Eigen::Index i = 0; i < 300; ++i) {
            for (Eigen::Index j = 0; j < i; ++j) {
                const double distance = std::hypot(x[i] - x[j], y[i] - y[j]);
                if (distance > 0.0) expected = std::min(expected, distance);
            }
        }
        CHECK(models::shortest_distance(x, y) == expected);
    }
    CHECK(std::isinf(models::shortest_distance(Eigen::VectorXd::Ones(4), Eigen::VectorXd::Ones(4))));
}

TEST_CASE("every processor level conditions small systems as a plain factor does") {
    const int places = 23, columns = 3;
    for (const char* text : {"nugget 0.1 + exponential 0.5 range 30", "circular 0.7 range 60",
                             "spherical 0.5 range 60 azimuth 30 ratio 0.5 + gaussian 0.2 range 9"}) {
        const VariogramModel model = VariogramModel::parse(text);
        const models::PreparedCovariance covariance(model);
        for (const std::string& level : models::kernels::kernel_levels()) {
            INFO(level << ": " << text);
            const auto& table = models::kernels::kernel_table(level);
            const auto lanes = static_cast<std::size_t>(table.lanes);
            std::vector<double> x(places * lanes), y(x), error(x), factor(places * (places + 1) / 2 * lanes),
                inverse(x), right(columns * places * lanes), ratio(lanes);
            for (std::size_t i = 0; i < x.size(); ++i) {
                x[i] = 100.0 * uniform_number(3 * i);
                y[i] = 100.0 * uniform_number(3 * i + 1);
                error[i] = 0.1 * uniform_number(3 * i + 2);
            }
            for (std::size_t lane = 0; lane < lanes; ++lane) {  // two at one place
                x[5 * lanes + lane] = x[2 * lanes + lane];
                y[5 * lanes + lane] = y[2 * lanes + lane];
            }
            for (std::size_t i = 0; i < right.size(); ++i) right[i] = uniform_number(1000 + i);
            const std::vector<double> given = right;
            models::kernels::LaneConditions systems;
            systems.covariance = covariance.arrays();
            systems.own_covariance = model.sill();
            systems.n = places;
            systems.columns = columns;
            systems.x = x.data();
            systems.y = y.data();
            systems.error_variance = error.data();
            systems.factor = factor.data();
            systems.inverse_pivots = inverse.data();
            systems.right = right.data();
            systems.pivot_ratio = ratio.data();
            table.condition_systems(systems);
            double worst = 0.0;
            for (std::size_t lane = 0; lane < lanes; ++lane) {
                const auto at = [&](int place) { return static_cast<std::size_t>(place) * lanes + lane; };
                Eigen::MatrixXd c(places, places);
                for (int i = 0; i < places; ++i) {
                    for (int j = 0; j < places; ++j) {
                        c(i, j) = model.sill() - model.semivariance(x[at(i)] - x[at(j)], y[at(i)] - y[at(j)]) +
                                  (i == j ? error[at(i)] : 0.0);
                    }
                }
                const Eigen::MatrixXd lower = c.llt().matrixL();
                worst = std::max(worst, std::abs(1.0 / inverse[at(places - 1)] - lower(places - 1, places - 1)));
                const double least = lower.diagonal().minCoeff() / lower.diagonal().maxCoeff();
                worst = std::max(worst, std::abs(ratio[lane] - least));
                for (int column = 0; column < columns; ++column) {
                    Eigen::VectorXd z(places);
                    for (int i = 0; i < places; ++i) z[i] = given[at(column * places + i)];
                    lower.triangularView<Eigen::Lower>().solveInPlace(z);
                    worst = std::max(worst, std::abs(right[at(column * places + places - 1)] - z[places - 1]));
                }
            }
            CHECK(worst < 1e-12);
        }
    }
}

TEST_CASE("given all places before it each value has the likelihoods of a direct dense formula in R") {
    NEEDS_SHARED_DATA(shared);
    const auto table = tests::reference_table(shared, "fit/loglik_fixed_parameters_meuse_logzinc.csv");
    const models::SpatialData plain = tests::meuse_log_zinc(shared);
    models::SpatialData drifted = plain;
    drifted.drift = tests::reference_table(shared, "data/meuse.csv").numbers("dist").array().sqrt();
    // Its rows: spherical, exponential, gaussian; without and with drift; full and restricted.
    const Eigen::VectorXd expected = table.numbers("loglik");
    REQUIRE(expected.size() == 12);
    long row = 0;
    for (const auto& [shape, range_m] : {std::pair{"spherical", 900.0}, {"exponential", 300.0}, {"gaussian", 300.0}}) {
        for (const bool with_drift : {false, true}) {
            for (const LikelihoodKind kind : {LikelihoodKind::full, LikelihoodKind::restricted}) {
                const VariogramModel model =
                    VariogramModel::parse(fmt::format("nugget 0.05 + {} 0.6 range {}", shape, range_m));
                const models::SpatialData& data = with_drift ? drifted : plain;
                INFO(model.to_text() << (with_drift ? " with drift" : ""));
                const double all = models::log_likelihood(data, model, kind, {.neighbours = 154});
                CHECK(std::abs(all - expected[row]) < 1e-9);
                // All but one for the last place alone: a nugget makes that next to nothing, but not nothing.
                const double all_but_one = models::log_likelihood(data, model, kind, {.neighbours = 153});
                CHECK(std::abs(all_but_one - expected[row]) < 1e-2);
                ++row;
            }
        }
    }
}

TEST_CASE("given its nearest ones each value has the density that the definition gives") {
    // Drift, errors, coincident places with errors and a nugget, an error term, turned and nested ranges.
    models::SpatialData data = uniform_places(160, 100.0);
    data.error_variances.resize(160);
    data.drift.resize(160, 2);
    for (Eigen::Index i = 0; i < 160; ++i) {
        data.error_variances[i] = 0.02 + 0.1 * uniform_number(static_cast<std::uint64_t>(5000 + i));
        data.drift(i, 0) = data.positions_m(i, 0);
        data.drift(i, 1) = uniform_number(static_cast<std::uint64_t>(6000 + i));
    }
    for (Eigen::Index i = 150; i < 160; ++i) data.positions_m.row(i) = data.positions_m.row(i - 150);
    for (const char* text :
         {"nugget 0.1 + exponential 0.5 range 20", "nugget 0.1 + error 0.05 + spherical 0.5 range 40",
          "nugget 0.1 + exponential 0.5 range 40 azimuth 30 ratio 0.3 + gaussian 0.2 range 9",
          "matern 0.6 range 15 smoothness 1.5", "matern 0.6 range 15 smoothness 0.8"}) {
        const VariogramModel model = VariogramModel::parse(text);
        for (const LikelihoodKind kind : {LikelihoodKind::full, LikelihoodKind::restricted}) {
            for (const int neighbours : {1, 7, 30}) {
                INFO(text << ", " << neighbours << " neighbours");
                const double found = models::log_likelihood(data, model, kind, {.neighbours = neighbours});
                CHECK(found == Approx(obvious_likelihood(data, model, kind, neighbours)).epsilon(1e-11));
            }
            const double exact = models::log_likelihood(data, model, kind);
            CHECK(models::log_likelihood(data, model, kind, {.neighbours = 159}) == Approx(exact).epsilon(1e-12));
            CHECK(std::abs(models::log_likelihood(data, model, kind, {.neighbours = 7}) - exact) > 1e-6);
        }
    }
}

TEST_CASE("on a line with exponential covariance two neighbours are as good as all") {
    // A chain (Markov): between two neighbours nothing farther matters. On 2^k + 1 even steps from coarse to fine every
    // place halves the gap between two before it.
    models::SpatialData data;
    const Eigen::Index n = 257;
    data.positions_m.setZero(n, 2);
    data.values.resize(n);
    data.drift.resize(n, 1);
    for (Eigen::Index i = 0; i < n; ++i) {
        data.positions_m(i, 0) = 5.0 * static_cast<double>(i);
        data.values[i] = std::sin(static_cast<double>(i) / 9.0) + uniform_number(static_cast<std::uint64_t>(i));
        data.drift(i, 0) = std::cos(static_cast<double>(i) / 31.0);
    }
    const VariogramModel model = VariogramModel::parse("exponential 1.3 range 40");
    for (const LikelihoodKind kind : {LikelihoodKind::full, LikelihoodKind::restricted}) {
        const double exact = models::log_likelihood(data, model, kind);
        CHECK(models::log_likelihood(data, model, kind, {.neighbours = 2}) == Approx(exact).epsilon(1e-12));
        CHECK(models::log_likelihood(data, model, kind, {.neighbours = 3}) == Approx(exact).epsilon(1e-12));
        CHECK(std::abs(models::log_likelihood(data, model, kind, {.neighbours = 1}) - exact) > 1.0);
    }
    // So the fit shows next to no error and finds what the exact one finds.
    const auto exact = models::fit_variogram_by_likelihood(data, VariogramModel::parse("exponential 0 range 1"));
    const auto near = models::fit_variogram_by_likelihood(data, VariogramModel::parse("exponential 0 range 1"),
                                                          LikelihoodKind::restricted, {}, {.neighbours = 2});
    CHECK_FALSE(exact.approximation);
    CHECK(exact.notes.empty());
    REQUIRE(near.approximation);
    CHECK(near.approximation->neighbours == 2);
    CHECK(near.approximation->compared_places == 257);
    CHECK(std::abs(near.approximation->change_with_twice) < 1e-8);
    CHECK(std::abs(near.approximation->error_there) < 1e-8);
    CHECK(near.objective == Approx(exact.objective).epsilon(1e-11));
    CHECK(near.model.terms[0].range_m == Approx(exact.model.terms[0].range_m).epsilon(1e-4));
    REQUIRE(near.notes.size() == 2);
    CHECK_THAT(near.notes[1], Contains("2 neighbours instead of all: with 4 the log-likelihood moves by "));
}

TEST_CASE("generalised residuals of many places on a line are those of all places taken together") {
    // A chain again, on 2^12 + 1 even steps: the nearest 30 leave nothing out.
    models::SpatialData data;
    const Eigen::Index n = 4097;
    data.positions_m.setZero(n, 2);
    data.values.resize(n);
    data.drift.resize(n, 1);
    for (Eigen::Index i = 0; i < n; ++i) {
        data.positions_m(i, 1) = 2.0 * static_cast<double>(i);
        data.drift(i, 0) = 50.0 + std::cos(static_cast<double>(i) / 300.0);
        data.values[i] = 3.0 * data.drift(i, 0) + uniform_number(static_cast<std::uint64_t>(i));
    }
    const VariogramModel model = VariogramModel::parse("exponential 1.3 range 40");
    const Eigen::VectorXd coefficients = models::Kriging(data, model).coefficients();
    const Eigen::VectorXd expected =
        data.values.array() - coefficients[0] - coefficients[1] * data.drift.col(0).array();
    const Eigen::VectorXd found = models::generalised_residuals(data, model);
    CHECK(tests::largest_difference(found, expected) < 1e-9);
    CHECK_THROWS_WITH(models::generalised_residuals(data, VariogramModel::parse("gaussian 1 range 1e6")),
                      Contains("cannot be told apart"));
}

TEST_CASE("likelihoods of many places are the same to the bit for any number of threads") {
    models::SpatialData data = uniform_places(3400, 1000.0);
    const VariogramModel model = VariogramModel::parse("nugget 0.1 + exponential 0.5 range 60");
    const double one = models::log_likelihood(data, model, LikelihoodKind::restricted, {.threads = 1});
    CHECK(models::log_likelihood(data, model, LikelihoodKind::restricted, {.threads = 2}) == one);
    CHECK(models::log_likelihood(data, model, LikelihoodKind::restricted, {.threads = 5}) == one);
    data = uniform_places(400, 300.0);
    const auto shapes = VariogramModel::parse("nugget 0 + spherical 0 range 1");
    const auto fit = [&](int threads) {
        return models::fit_variogram_by_likelihood(data, shapes, LikelihoodKind::restricted, {},
                                                   {.neighbours = 12, .threads = threads});
    };
    const auto first = fit(1), second = fit(2);
    CHECK(first.model.to_text() == second.model.to_text());
    CHECK(first.objective == second.objective);
    CHECK(first.notes == second.notes);
}

TEST_CASE("ten thousand simulated values give their variogram back within its standard errors") {
    // An exact draw on the nodes of a torus, of which ten thousand are kept, and a nugget.
    const double nugget = 0.3, sill = 1.0, range_m = 60.0, cell_m = 10.0;
    const auto truth = [](double nugget_, double sill_, double range_) {
        return VariogramModel(
            {{.shape = models::VariogramShape::nugget, .partial_sill = nugget_},
             {.shape = models::VariogramShape::exponential, .partial_sill = sill_, .range_m = range_}});
    };
    const int side = 256;
    const auto field = models::TorusField::embed(truth(0.0, sill, range_m), side, side, cell_m);
    REQUIRE(field);
    Eigen::VectorXd drawn(side * side), other(side * side);
    field->draw(20, 0, drawn, other);
    const Eigen::Index n = 10000;
    models::SpatialData data;
    data.positions_m.resize(n, 2);
    data.values.resize(n);
    const models::NormalStream noise(20, 99, 0);
    std::set<int> used;
    std::uint64_t next = 0;
    for (Eigen::Index i = 0; i < n; ++i) {
        int node = 0;
        do node = static_cast<int>(uniform_number(next++) * side * side);
        while (!used.insert(node).second);
        data.positions_m(i, 0) = cell_m * (node % side);
        data.positions_m(i, 1) = -cell_m * (node / side);
        data.values[i] = 5.0 + drawn[node] + std::sqrt(nugget) * noise.one(static_cast<std::uint64_t>(i));
    }
    const auto fit =
        models::fit_variogram_by_likelihood(data, VariogramModel::parse("nugget 0 + exponential 0 range 1"));
    CHECK(fit.settled);
    CHECK_THAT(fit.method, Contains("each value given its 30 nearest"));
    const Eigen::Vector3d at(std::log(nugget), std::log(sill), std::log(range_m));
    const Eigen::Vector3d found(std::log(fit.model.terms[0].partial_sill), std::log(fit.model.terms[1].partial_sill),
                                std::log(fit.model.terms[1].range_m));
    // Observed information: minus the second differences of the log-likelihood at the truth.
    const auto value = [&](const Eigen::Vector3d& logs) {
        return models::log_likelihood(data, truth(std::exp(logs[0]), std::exp(logs[1]), std::exp(logs[2])),
                                      LikelihoodKind::restricted);
    };
    const double step = 0.02;
    Eigen::Matrix3d information;
    for (int a = 0; a < 3; ++a) {
        for (int b = 0; b <= a; ++b) {
            const Eigen::Vector3d ea = step * Eigen::Vector3d::Unit(a), eb = step * Eigen::Vector3d::Unit(b);
            information(a, b) =
                -(value(at + ea + eb) - value(at + ea - eb) - value(at - ea + eb) + value(at - ea - eb)) /
                (4.0 * step * step);
            information(b, a) = information(a, b);
        }
    }
    const Eigen::Vector3d errors = information.inverse().diagonal().cwiseSqrt();
    INFO("off by " << (found - at).transpose() << ", standard errors " << errors.transpose());
    // Sharp enough to mean something, and 16.27: 0.999 quantile of chi-squared with 3 degrees of freedom.
    CHECK(errors.maxCoeff() < 0.2);
    CHECK((found - at).dot(information * (found - at)) < 16.27);
}

TEST_CASE("the yields of a whole wheat field are fitted and the error that is shown is the error there is") {
    NEEDS_SHARED_DATA(shared);
    const auto table = geo::PointTable::read(shared / "data/spatial/paar_wheat_utm20s.csv");
    models::SpatialData data{tests::places_of(table), table.numbers("Tg"), {}, {}};
    REQUIRE(data.values.size() > 3000);
    double last_share = 0.0;
    bool goes_on = true;
    const models::Progress progress([&](std::string_view what, double share) {
        if (what == "fitting the variogram") {
            goes_on = goes_on && share >= last_share && share <= 1.0;
            last_share = share;
        }
        return true;
    });
    const auto fit = models::fit_variogram_by_likelihood(
        data, VariogramModel::parse("nugget 0 + exponential 0 range 1"), LikelihoodKind::restricted, progress);
    CHECK(goes_on);
    CHECK(last_share == 1.0);
    CHECK(fit.model.terms[1].partial_sill > 0.0);
    REQUIRE(fit.approximation);
    CHECK(fit.approximation->neighbours == 30);
    CHECK(fit.approximation->compared_places == 2000);
    const double with_30 = models::log_likelihood(data, fit.model, LikelihoodKind::restricted);
    const double with_60 = models::log_likelihood(data, fit.model, LikelihoodKind::restricted, {.neighbours = 60});
    CHECK(fit.objective == Approx(with_30).epsilon(1e-12));
    CHECK(fit.approximation->change_with_twice == Approx(with_60 - with_30).margin(1e-8).epsilon(0.0));
    REQUIRE(fit.notes.size() == 2);
    INFO(fit.notes[1]);
    CHECK_THAT(fit.notes[0], Contains("each value given its 30 nearest"));
    CHECK_THAT(fit.notes[1], Contains(fmt::format("with 60 the log-likelihood moves by {:+.2g};", with_60 - with_30)));
    CHECK_THAT(fit.notes[1], Contains("that of 2000 places lying together is"));
    // Nothing within a step of either side is likelier.
    for (const double factor : {0.97, 1.03}) {
        VariogramModel beside = fit.model;
        beside.terms[1].range_m *= factor;
        CHECK(models::log_likelihood(data, beside, LikelihoodKind::restricted) < with_30);
        beside = fit.model;
        beside.terms[1].partial_sill *= factor;
        CHECK(models::log_likelihood(data, beside, LikelihoodKind::restricted) < with_30);
    }
}

TEST_CASE("a fit of many places stops where it is told to") {
    const models::SpatialData data = uniform_places(3300, 1000.0);
    const auto shapes = VariogramModel::parse("nugget 0 + exponential 0 range 1");
    for (const int stop_after : {0, 3, 25, 60}) {
        int steps = 0;
        const models::Progress progress([&](std::string_view, double) { return steps++ < stop_after; });
        CHECK_THROWS_AS(models::fit_variogram_by_likelihood(data, shapes, LikelihoodKind::full, progress),
                        models::Cancelled);
    }
}

TEST_CASE("likelihoods from neighbours that cannot be are refused in words") {
    models::SpatialData data = uniform_places(60, 100.0);
    const auto shapes = VariogramModel::parse("nugget 0.1 + exponential 1 range 10");
    CHECK_THROWS_WITH(models::log_likelihood(data, shapes, LikelihoodKind::full, {.neighbours = -3}),
                      Contains("-3 neighbours are asked for"));
    CHECK_THROWS_WITH(
        models::log_likelihood(data, VariogramModel::parse("linear 1"), LikelihoodKind::full, {.neighbours = 5}),
        Contains("has no likelihood"));
    // So smooth that the nearest ones say it all, to the last digit.
    CHECK_THROWS_WITH(models::log_likelihood(data, VariogramModel::parse("gaussian 1 range 90000"),
                                             LikelihoodKind::full, {.neighbours = 20}),
                      Contains("cannot be told apart"));
    data.positions_m.setConstant(4.0);
    data.error_variances = Eigen::VectorXd::Constant(60, 0.1);
    CHECK_THROWS_WITH(models::fit_variogram_by_likelihood(data, shapes, LikelihoodKind::full, {}, {.neighbours = 5}),
                      Contains("all points lie at one place"));
}
