#include "models/spatial/simulation.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/kriging_factor.h"
#include "models/spatial/parallel.h"
#include "models/spatial/random_numbers.h"
#include "models/spatial/simulation_fields.h"

namespace models {

namespace {

constexpr std::uint32_t purpose_error = 3;
constexpr Eigen::Index targets_a_simulation_tile = 256;
constexpr double most_batch_numbers = 3.2e7;
constexpr Eigen::Index most_places_of_a_small_factor = 2500;

/// values += kriging of the residuals that the weights and coefficients were solved from, a tile of targets at a time.
void add_kriging(Eigen::MatrixXd& values, const PreparedData& data, const PreparedCovariance& covariance,
                 const Eigen::MatrixX2d& targets, const Eigen::MatrixXd& target_drift, const Eigen::MatrixXd& weights,
                 const Eigen::MatrixXd& coefficients, int threads, const Progress& progress) {
    const auto& table = kernels::kernel_table();
    constexpr Eigen::Index tile = targets_a_simulation_tile;
    const Eigen::Index m = targets.rows(), n = data.x.size(), sets = weights.cols();
    // The product comes from the processor's own kernel, which takes tiles of one stride: weights lie sets x n.
    std::vector<Eigen::MatrixXd> turned;
    for (Eigen::Index first = 0; first < sets; first += tile) {
        turned.emplace_back(tile, n);
        const Eigen::Index columns = std::min(tile, sets - first);
        turned.back().topRows(columns) = weights.middleCols(first, columns).transpose();
    }
    parallel_blocks(
        (m + tile - 1) / tile, threads,
        [&](long long block) {
            const Eigen::Index begin = block * tile, size = std::min(tile, m - begin);
            const Eigen::VectorXd x = targets.col(0).segment(begin, size), y = targets.col(1).segment(begin, size);
            Eigen::MatrixXd near_turned(tile, n), minus(tile, tile);
            for (Eigen::Index i = 0; i < n; ++i) {
                table.covariances(covariance.arrays(), x.data(), y.data(), static_cast<int>(size), data.x[i], data.y[i],
                                  near_turned.col(i).data());
            }
            for (std::size_t part = 0; part < turned.size(); ++part) {
                const Eigen::Index first = static_cast<Eigen::Index>(part) * tile,
                                   columns = std::min(tile, sets - first);
                minus.setZero();
                table.take_off(near_turned.data(), static_cast<int>(size), turned[part].data(),
                               static_cast<int>(columns), static_cast<int>(n), minus.data(), tile);
                values.block(begin, first, size, columns) -= minus.topLeftCorner(size, columns);
            }
            if (coefficients.rows() > 0) {
                values.middleRows(begin, size).noalias() += target_drift.middleRows(begin, size) * coefficients;
            }
        },
        progress, "conditioning");
}

/// The places of the data, each once, and which datum lies at which.
struct DistinctPlaces {
    Eigen::MatrixX2d places;
    std::vector<Eigen::Index> of_datum;
    explicit DistinctPlaces(const PreparedData& data) {
        std::map<std::pair<double, double>, Eigen::Index> known;
        for (Eigen::Index i = 0; i < data.x.size(); ++i) {
            const auto entry = known.emplace(std::pair{data.x[i], data.y[i]}, static_cast<Eigen::Index>(known.size()));
            of_datum.push_back(entry.first->second);
        }
        places.resize(static_cast<Eigen::Index>(known.size()), 2);
        for (const auto& [place, index] : known) places.row(index) << place.first, place.second;
    }
};

void check_simulation(const VariogramModel& model, const SimulationSettings& settings) {
    if (settings.realisations < 1) {
        throw Error(fmt::format("{} realisations are asked for", settings.realisations), "", "ask for at least one");
    }
    if (!model.has_sill()) {
        throw Error("a variogram without a sill (linear, power) cannot be simulated",
                    "variogram \"" + model.to_text() + "\"", "take a shape that levels off, such as spherical");
    }
}

KrigingSettings kriging_settings(const SimulationSettings& settings) {
    KrigingSettings out;
    out.known_mean = settings.known_mean;
    return out;
}

/// Draws, conditions and hands over, a batch at a time so that memory stays bounded.
void run_batches(const PreparedData& data, const PreparedCovariance& covariance, const VariogramModel& model,
                 const DistinctPlaces& distinct, const JointField& field, const Eigen::MatrixX2d& targets,
                 const Eigen::MatrixXd& drift, const SimulationSettings& settings, const TakeRealisation& take,
                 SimulationReport& report, const Progress& progress) {
    const Eigen::Index m = targets.rows(), n = data.x.size();
    const KrigingFactor kriging(data, covariance, model, settings.threads);
    const double mean = settings.known_mean.value_or(0.0);
    std::vector<Eigen::Index> left_out;
    for (Eigen::Index i = 0; i < m; ++i) {
        if (!drift.row(i).allFinite()) left_out.push_back(i);
    }
    if (!left_out.empty()) {
        report.not_estimated.push_back({"a drift column has no value there", static_cast<long long>(left_out.size())});
    }
    // Even, so that both halves of a transform are used.
    const int most = 2 * std::max(1, static_cast<int>(most_batch_numbers / 2.0 / static_cast<double>(m + n)));
    for (int first = 0; first < settings.realisations; first += most) {
        const int columns = std::min(most, settings.realisations - first);
        const double begin = static_cast<double>(first) / settings.realisations,
                     share = static_cast<double>(columns) / settings.realisations;
        const Progress drawing([&](std::string_view what, double within) {
            progress.step(what, begin + 0.5 * share * within);
            return true;
        });
        const Progress conditioning([&](std::string_view what, double within) {
            progress.step(what, begin + share * (0.5 + 0.5 * within));
            return true;
        });
        Eigen::MatrixXd values(m, columns), at_places(distinct.places.rows(), columns), residuals(n, columns);
        field.draw(settings.seed, first, values, at_places, settings.threads, drawing);
        for (int k = 0; k < columns; ++k) {
            const NormalStream errors(settings.seed, purpose_error, static_cast<std::uint32_t>(first + k));
            for (Eigen::Index i = 0; i < n; ++i) {
                const double error = data.error_variances[i] > 0.0 ? std::sqrt(data.error_variances[i]) *
                                                                         errors.one(static_cast<std::uint64_t>(i))
                                                                   : 0.0;
                const Eigen::Index place = distinct.of_datum[static_cast<std::size_t>(i)];
                residuals(i, k) = data.values[i] - mean - at_places(place, k) - error;
            }
        }
        const Eigen::MatrixXd coefficients = kriging.solve(residuals);
        if (settings.known_mean) values.array() += mean;
        add_kriging(values, data, covariance, targets, drift, residuals, coefficients, settings.threads, conditioning);
        for (int k = 0; k < columns; ++k) {
            for (const Eigen::Index i : left_out) values(i, k) = std::numeric_limits<double>::quiet_NaN();
            take(first + k, values.col(k));
        }
    }
}

}  // namespace

SimulationReport simulate_at(const SpatialData& data, const VariogramModel& model, const Eigen::MatrixX2d& targets_m,
                             const SimulationSettings& settings, const TakeRealisation& take,
                             const Eigen::MatrixXd& target_drift, const Progress& progress) {
    check_simulation(model, settings);
    const PreparedData prepared(data, model, kriging_settings(settings));
    const PreparedCovariance covariance(model);
    const DistinctPlaces distinct(prepared);
    for (Eigen::Index i = 0; i < targets_m.rows(); ++i) {
        if (!targets_m.row(i).allFinite()) {
            throw Error("the place has no coordinates", fmt::format("target {}", i + 1), "leave the row out");
        }
    }
    const Eigen::MatrixXd drift = prepared.drift_of_targets(targets_m.rows(), target_drift);
    SimulationReport report;
    report.preparation = prepared.report;
    const auto field = cholesky_field(model, distinct.places, targets_m);
    report.method = field->method();
    report.neglected = field->neglected();
    run_batches(prepared, covariance, model, distinct, *field, targets_m, drift, settings, take, report, progress);
    return report;
}

SimulationReport simulate_on_grid(const SpatialData& data, const VariogramModel& model, const GridM& grid,
                                  const SimulationSettings& settings, const TakeRealisation& take,
                                  const Eigen::MatrixXd& target_drift, const Progress& progress) {
    check_simulation(model, settings);
    const PreparedData prepared(data, model, kriging_settings(settings));
    const PreparedCovariance covariance(model);
    const DistinctPlaces distinct(prepared);
    const Eigen::MatrixXd drift = prepared.drift_of_targets(grid.cells(), target_drift);
    Eigen::MatrixX2d centres(grid.cells(), 2);
    for (int row = 0; row < grid.rows; ++row) {
        for (int column = 0; column < grid.columns; ++column) {
            const PointM centre = grid.centre(row, column);
            centres.row(static_cast<Eigen::Index>(row) * grid.columns + column) << centre.x_m, centre.y_m;
        }
    }
    SimulationReport report;
    report.preparation = prepared.report;
    const Eigen::Index places = centres.rows() + distinct.places.rows();
    std::unique_ptr<JointField> field;
    const bool small = places <= most_places_of_a_small_factor && settings.method == SimulationMethod::fastest;
    if (!small && settings.method != SimulationMethod::factor) {
        field = torus_field(model, distinct.places, grid, settings.threads);
        if (!field && places > most_places_of_a_factor) {
            throw Error(fmt::format("no torus has this covariance exactly enough, and {} cells are too many for the "
                                    "factor of a full matrix",
                                    grid.cells()),
                        "variogram \"" + model.to_text() + "\"",
                        fmt::format("give larger cells (up to {} places with the data), a shorter range, or a rougher "
                                    "shape",
                                    most_places_of_a_factor));
        }
        if (!field) {
            report.notes.emplace_back(
                "no torus has this covariance exactly enough; the realisations come from the factor of the full "
                "matrix");
        }
    }
    if (!field) field = cholesky_field(model, distinct.places, centres);
    report.method = field->method();
    report.neglected = field->neglected();
    run_batches(prepared, covariance, model, distinct, *field, centres, drift, settings, take, report, progress);
    return report;
}

}  // namespace models
