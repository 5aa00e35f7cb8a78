#include "models/spatial/kriging.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>
#include <Eigen/QR>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/kriging_grid.h"
#include "models/spatial/kriging_local.h"
#include "models/spatial/kriging_refinement.h"
#include "models/spatial/kriging_system.h"
#include "models/spatial/parallel.h"
#include "models/spatial/tiled_factor.h"

namespace models {

namespace {

constexpr double not_a_number = std::numeric_limits<double>::quiet_NaN();
constexpr Eigen::Index most_global_points = 20000;
constexpr Eigen::Index targets_a_tile = 256;
constexpr int cells_a_strip = 1 << 18;
constexpr int cells_a_strip_of_tiles = 1 << 23;  ///< a quarter of a gigabyte with variance
constexpr Eigen::Index large_matrix = 600;       ///< from here on several threads factor it together

std::string nearest_pair(const Eigen::VectorXd& x, const Eigen::VectorXd& y) {
    double least = std::numeric_limits<double>::infinity();
    Eigen::Index first = 0, second = 0;
    for (Eigen::Index i = 0; i < x.size(); ++i) {
        for (Eigen::Index j = 0; j < i; ++j) {
            const double distance = std::hypot(x[i] - x[j], y[i] - y[j]);
            if (distance < least) {
                least = distance;
                first = j;
                second = i;
            }
        }
    }
    return fmt::format("the nearest two places, {} and {}, are {:.3g} apart", first + 1, second + 1, least);
}

}  // namespace

namespace {

constexpr const char* drift_is_missing = "a drift column has no value there";

void ask_pause_of_tile(const void* who) {
    (*static_cast<const PauseInBlock*>(who))();
}

Eigen::MatrixX2d centres_of(const GridM& grid, int first_row, int rows) {
    Eigen::MatrixX2d centres(static_cast<Eigen::Index>(rows) * grid.columns, 2);
    Eigen::Index cell = 0;
    for (int row = first_row; row < first_row + rows; ++row) {
        for (int column = 0; column < grid.columns; ++column, ++cell) {
            const PointM centre = grid.centre(row, column);
            centres(cell, 0) = centre.x_m;
            centres(cell, 1) = centre.y_m;
        }
    }
    return centres;
}

}  // namespace

void add_to(std::vector<NotEstimated>& all, const std::vector<NotEstimated>& more) {
    for (const NotEstimated& entry : more) {
        const auto same = std::find_if(all.begin(), all.end(),
                                       [&](const NotEstimated& known) { return known.reason == entry.reason; });
        if (same == all.end()) {
            all.push_back(entry);
        } else {
            same->places += entry.places;
        }
    }
}

struct Kriging::System {
    KrigingSettings settings;
    VariogramModel model;
    PreparedCovariance covariance;
    PreparedBlock block;
    PreparedData data;
    std::unique_ptr<LocalKriging> local;
    // Global: factor L of C, W = L^-1 X = Q R, e, L'^-1 e, b.
    Eigen::MatrixXd factor, drift_factor, orthogonal, triangle;
    Eigen::VectorXd residual, weights, coefficients;
    double own = 0.0;

    System(const SpatialData& given, const VariogramModel& variogram, const KrigingSettings& wanted,
           const Progress& progress)
        : settings(wanted),
          model(variogram),
          covariance(variogram),
          block(wanted.block),
          data(given, variogram, wanted) {
        if (!settings.neighbourhood.is_global()) {
            if (!model.has_sill()) covariance.level = semivariance_across();
            own = own_covariance(covariance, block);
            local = std::make_unique<LocalKriging>(data, covariance, block, settings, own);
            return;
        }
        if (data.x.size() > most_global_points) {
            throw Error(fmt::format("{} points at once need a matrix of {:.1f} GB", data.x.size(),
                                    8e-9 * std::pow(static_cast<double>(data.x.size()), 2)),
                        "", "use the nearest points of each place only (for example 32 neighbours)");
        }
        factor_covariance(progress);
        solve();
        own = own_covariance(covariance, block);
    }

    double semivariance_across() const {
        const double dx = data.x.maxCoeff() - data.x.minCoeff(), dy = data.y.maxCoeff() - data.y.minCoeff();
        double level = 0.0;
        for (const VariogramTerm& term : model.terms) {
            if (term.shape != VariogramShape::linear && term.shape != VariogramShape::power) continue;
            level += term.partial_sill * term.unit_semivariance(std::hypot(dx, dy) / term.ratio);
        }
        return level;
    }

    void factor_covariance(const Progress& progress) {
        const auto& table = kernels::kernel_table();
        const Eigen::Index n = data.x.size();
        covariance.level = model.has_sill() ? 0.0 : semivariance_across();
        // Without a sill, -gamma is only positive on contrasts; any constant added to all covariances leaves estimates
        // and variances as they are, so it is raised until the matrix can be factored.
        for (int attempt = 0;; ++attempt) {
            factor.resize(n, n);
            const long long columns_a_block = 32, blocks = (n + columns_a_block - 1) / columns_a_block;
            parallel_blocks(
                blocks, settings.threads,
                [&](long long number) {
                    const Eigen::Index end = std::min<Eigen::Index>(n, (number + 1) * columns_a_block);
                    for (Eigen::Index j = number * columns_a_block; j < end; ++j) {
                        table.covariances(covariance.arrays(), data.x.data() + j, data.y.data() + j,
                                          static_cast<int>(n - j), data.x[j], data.y[j], factor.col(j).data() + j);
                        factor(j, j) += data.error_variances[j];
                    }
                },
                progress, "covariances");
            const int bad = n < large_matrix
                                ? table.factor(factor.data(), static_cast<int>(n))
                                : factor_in_tiles(factor.data(), static_cast<int>(n), settings.threads, progress);
            const double largest = factor.diagonal().cwiseAbs().maxCoeff();
            if (bad < 0 && factor.diagonal().minCoeff() > 1e-8 * largest) return;
            if (!model.has_sill() && attempt < 20) {
                covariance.level = covariance.level > 0.0 ? 2.0 * covariance.level : 1.0;
                continue;
            }
            throw Error("the covariances of the points cannot be told apart (their matrix is singular): " +
                            nearest_pair(data.x, data.y),
                        "variogram \"" + model.to_text() + "\"",
                        covariance.structured_at_zero + covariance.nugget == 0.0
                            ? "give a variogram whose sill is greater than 0"
                            : "give the observations an error variance, add a small nugget, or take a rougher shape");
        }
    }

    void solve() {
        const auto& table = kernels::kernel_table();
        const int n = static_cast<int>(data.x.size());
        const Eigen::Index p = data.drift.cols();
        residual = data.values;
        if (settings.known_mean) residual.array() -= *settings.known_mean;
        table.forward_solve(factor.data(), n, residual.data(), 1);
        if (p > 0) {
            drift_factor = data.drift;
            table.forward_solve(factor.data(), n, drift_factor.data(), static_cast<int>(p));
            const Eigen::HouseholderQR<Eigen::MatrixXd> qr(drift_factor);
            orthogonal = qr.householderQ() * Eigen::MatrixXd::Identity(n, p);
            triangle = qr.matrixQR().topRows(p).triangularView<Eigen::Upper>();
            coefficients = triangle.triangularView<Eigen::Upper>().solve(orthogonal.transpose() * residual);
            residual -= drift_factor * coefficients;
        }
        weights = residual;
        table.backward_solve(factor.data(), n, weights.data(), 1);
        if (is_ill_conditioned(factor) && n <= most_points_to_refine) {
            refine_weights({data, model, covariance.level, factor, drift_factor, orthogonal, triangle},
                           settings.known_mean.value_or(0.0), settings.threads, weights, coefficients);
            residual = factor.triangularView<Eigen::Lower>().transpose() * weights;
        }
    }

    Eigen::MatrixX2d places_of(const std::vector<Eigen::Index>& chosen) const {
        Eigen::MatrixX2d out(static_cast<Eigen::Index>(chosen.size()), 2);
        out.col(0) = data.x(chosen);
        out.col(1) = data.y(chosen);
        return out;
    }
    Eigen::MatrixXd covariates(const std::vector<Eigen::Index>& chosen) const {
        const Eigen::Index columns = std::max<Eigen::Index>(0, data.drift.cols() - 1);
        return data.drift(chosen, Eigen::seqN(data.drift.cols() - columns, columns));
    }
    /// The same kriging of values at places from some of the observations.
    Kriging without(const std::vector<Eigen::Index>& rest) const {
        SpatialData some{places_of(rest), data.values(rest), data.error_variances(rest), covariates(rest)};
        VariogramModel errorless = model;  // the error terms are in the variances
        for (VariogramTerm& term : errorless.terms) {
            if (term.shape == VariogramShape::error) term.partial_sill = 0.0;
        }
        KrigingSettings at_places = settings;
        at_places.block = {};
        return Kriging(some, errorless, at_places);
    }

    Eigen::MatrixXd inverse_factor(const Progress& progress) const {
        constexpr Eigen::Index columns_a_block = 64;
        const Eigen::Index n = data.x.size();
        Eigen::MatrixXd inverse = Eigen::MatrixXd::Zero(n, n);
        const Progress quiet([&](std::string_view what, double) {
            progress.step(what, 0.0);
            return true;
        });
        parallel_blocks(
            (n + columns_a_block - 1) / columns_a_block, settings.threads,
            [&](long long number) {
                const Eigen::Index first = number * columns_a_block, columns = std::min(columns_a_block, n - first);
                Eigen::MatrixXd part(n - first, columns);
                kernels::kernel_table().inverse_columns(factor.data(), static_cast<int>(n), static_cast<int>(first),
                                                        static_cast<int>(columns), part.data());
                inverse.block(first, first, n - first, columns) = part;
            },
            quiet, "kriging");
        return inverse;
    }

    kernels::SystemArrays arrays() const {
        kernels::SystemArrays out;
        out.covariance = covariance.arrays();
        out.block = block.arrays();
        out.n = static_cast<int>(data.x.size());
        out.p = static_cast<int>(data.drift.cols());
        out.x = data.x.data();
        out.y = data.y.data();
        out.factor = factor.data();
        out.drift_factor = drift_factor.data();
        out.triangle = triangle.data();
        out.residual = residual.data();
        out.weights = weights.data();
        out.coefficients = coefficients.data();
        out.known_mean = settings.known_mean.value_or(0.0);
        out.own_covariance = own;
        return out;
    }
};

Kriging::Kriging(const SpatialData& data, const VariogramModel& model, const KrigingSettings& settings,
                 const Progress& progress)
    : system_(std::make_unique<System>(data, model, settings, progress)) {}
Kriging::~Kriging() = default;
Kriging::Kriging(Kriging&&) noexcept = default;
Kriging& Kriging::operator=(Kriging&&) noexcept = default;

const KrigingPreparation& Kriging::preparation() const {
    return system_->data.report;
}

Eigen::VectorXd Kriging::coefficients() const {
    const PreparedData& data = system_->data;
    if (system_->coefficients.size() == 0) return {};
    Eigen::VectorXd given = system_->coefficients;
    for (Eigen::Index k = 0; k < data.drift_scale.size(); ++k) {
        given[k + 1] /= data.drift_scale[k];
        given[0] -= given[k + 1] * data.drift_centre[k];
    }
    return given;
}

KrigingEstimates Kriging::at(const Eigen::MatrixX2d& targets_m, const Eigen::MatrixXd& target_drift,
                             const Progress& progress) const {
    const System& system = *system_;
    const Eigen::Index m = targets_m.rows();
    const Eigen::MatrixXd drift = system.data.drift_of_targets(m, target_drift);
    KrigingEstimates found;
    found.estimate = Eigen::VectorXd::Constant(m, not_a_number);
    if (system.settings.variance) {
        found.variance = Eigen::VectorXd::Constant(m, not_a_number);
        if (drift.cols() > 0) found.lagrange = Eigen::VectorXd::Constant(m, not_a_number);
    }
    if (system.local) {
        system.local->estimate(targets_m, drift, found, progress);
        return found;
    }
    // A place without coordinates or drift is left out; the rest goes through in tiles that do not depend on threads.
    std::vector<Eigen::Index> usable;
    long long no_place = 0, no_drift = 0;
    for (Eigen::Index i = 0; i < m; ++i) {
        if (!std::isfinite(targets_m(i, 0)) || !std::isfinite(targets_m(i, 1))) {
            ++no_place;
        } else if (!drift.row(i).allFinite()) {
            ++no_drift;
        } else {
            usable.push_back(i);
        }
    }
    if (no_place > 0) found.not_estimated.push_back({"the place has no coordinates", no_place});
    if (no_drift > 0) found.not_estimated.push_back({drift_is_missing, no_drift});
    const auto arrays = system.arrays();
    const auto count = static_cast<Eigen::Index>(usable.size());
    parallel_blocks(
        (count + targets_a_tile - 1) / targets_a_tile, system.settings.threads,
        [&](long long block, const PauseInBlock& pause) {
            const Eigen::Index begin = block * targets_a_tile, size = std::min(targets_a_tile, count - begin);
            Eigen::VectorXd x(size), y(size), estimate(size), variance(size), lagrange(size);
            Eigen::MatrixXd own_drift(size, drift.cols());
            for (Eigen::Index k = 0; k < size; ++k) {
                const Eigen::Index i = usable[static_cast<std::size_t>(begin + k)];
                x[k] = targets_m(i, 0);
                y[k] = targets_m(i, 1);
                own_drift.row(k) = drift.row(i);
            }
            kernels::kernel_table().dense_tile(arrays, {static_cast<int>(size),
                                                        x.data(),
                                                        y.data(),
                                                        own_drift.data(),
                                                        estimate.data(),
                                                        system.settings.variance ? variance.data() : nullptr,
                                                        found.lagrange.size() > 0 ? lagrange.data() : nullptr,
                                                        {ask_pause_of_tile, &pause}});
            for (Eigen::Index k = 0; k < size; ++k) {
                const Eigen::Index i = usable[static_cast<std::size_t>(begin + k)];
                found.estimate[i] = estimate[k];
                if (found.variance.size() > 0) found.variance[i] = variance[k];
                if (found.lagrange.size() > 0) found.lagrange[i] = lagrange[k];
            }
        },
        progress, "kriging");
    return found;
}

void Kriging::over_grid(const GridM& grid, const TakeStrip& take, const StripDrift& strip_drift,
                        const Progress& progress) const {
    const System& system = *system_;
    const bool tiled_wanted = !system.local && system.settings.grid_method != GridMethod::dense;
    const GridPlan plan =
        tiled_wanted ? plan_grid(system.arrays(), grid, system.settings.block, system.settings.variance,
                                 std::max(system.data.values.maxCoeff() - system.data.values.minCoeff(), 1e-300))
                     : GridPlan{};
    kernels::SystemArrays arrays = system.arrays();
    const Eigen::MatrixXd inverse = plan.inverse ? system.inverse_factor(progress) : Eigen::MatrixXd();
    if (plan.inverse) arrays.inverse = inverse.data();
    const int most_rows = std::max(1, static_cast<int>(cells_a_strip / std::max(1, grid.columns)));
    const int most_rows_of_tiles = std::max(1, static_cast<int>(cells_a_strip_of_tiles / std::max(1, grid.columns)));
    const int rows_a_strip =
        std::min(grid.rows, plan.side_cells > 0 ? std::min(plan.side_cells, most_rows_of_tiles) : most_rows);
    for (int first = 0; first < grid.rows; first += rows_a_strip) {
        const int rows = std::min(rows_a_strip, grid.rows - first);
        const double begin = static_cast<double>(first) / grid.rows, share = static_cast<double>(rows) / grid.rows;
        const Progress part([&](std::string_view what, double within) {
            progress.step(what, begin + share * within);
            return true;
        });
        const Eigen::MatrixXd drift = strip_drift ? strip_drift(first, rows) : Eigen::MatrixXd();
        if (plan.side_cells == 0) {
            take(first, rows, at(centres_of(grid, first, rows), drift, part));
            continue;
        }
        const Eigen::Index cells = static_cast<Eigen::Index>(rows) * grid.columns;
        const Eigen::MatrixXd ready = system.data.drift_of_targets(cells, drift);
        KrigingEstimates found;
        found.estimate.resize(cells);
        if (system.settings.variance) {
            found.variance.resize(cells);
            if (ready.cols() > 0) found.lagrange.resize(cells);
        }
        krige_strip(arrays, plan, grid, system.settings.block, first, rows, ready, system.settings.threads, found,
                    part);
        long long no_drift = 0;
        for (Eigen::Index cell = 0; cell < cells && ready.cols() > 1; ++cell) {
            if (ready.row(cell).allFinite()) continue;
            ++no_drift;
            found.estimate[cell] = not_a_number;
            if (found.variance.size() > 0) found.variance[cell] = not_a_number;
            if (found.lagrange.size() > 0) found.lagrange[cell] = not_a_number;
        }
        if (no_drift > 0) found.not_estimated.push_back({drift_is_missing, no_drift});
        take(first, rows, found);
    }
}

KrigingEstimates Kriging::on_grid(const GridM& grid, const Eigen::MatrixXd& target_drift,
                                  const Progress& progress) const {
    KrigingEstimates all;
    all.estimate.resize(grid.cells());
    if (system_->settings.variance) {
        all.variance.resize(grid.cells());
        if (system_->data.drift.cols() > 0) all.lagrange.resize(grid.cells());
    }
    const auto take = [&](int first_row, int rows, const KrigingEstimates& strip) {
        const Eigen::Index begin = static_cast<Eigen::Index>(first_row) * grid.columns;
        const Eigen::Index size = static_cast<Eigen::Index>(rows) * grid.columns;
        all.estimate.segment(begin, size) = strip.estimate;
        if (all.variance.size() > 0) all.variance.segment(begin, size) = strip.variance;
        if (all.lagrange.size() > 0) all.lagrange.segment(begin, size) = strip.lagrange;
        add_to(all.not_estimated, strip.not_estimated);
    };
    const auto rows_of_drift = [&](int first_row, int rows) -> Eigen::MatrixXd {
        return target_drift.middleRows(static_cast<Eigen::Index>(first_row) * grid.columns,
                                       static_cast<Eigen::Index>(rows) * grid.columns);
    };
    if (target_drift.rows() > 0 && target_drift.rows() != grid.cells()) {
        throw Error(fmt::format("the grid has {} cells and the drift {} rows", grid.cells(), target_drift.rows()));
    }
    over_grid(grid, take, target_drift.rows() > 0 ? StripDrift(rows_of_drift) : StripDrift(), progress);
    return all;
}

namespace {

CrossValidation scored(CrossValidation found, const Eigen::VectorXd& error_variances) {
    const Eigen::VectorXd spreads = (found.variance + error_variances).cwiseSqrt();
    found.standardised_error = found.residual.cwiseQuotient(spreads);
    static_cast<ValidationScores&>(found) = validation_scores(found.residual, spreads);
    return found;
}

}  // namespace

CrossValidation Kriging::leave_one_out(const Progress& progress) const {
    const System& system = *system_;
    CrossValidation found;
    const Eigen::Index n = system.data.x.size(), p = system.data.drift.cols();
    if (n < p + 1 || n < 2) {
        throw Error(counted(n, "place") + " cannot be cross-validated", "", "give more points");
    }
    if (system.local) {
        found = system.local->leave_one_out(progress);
    } else {
        // Rows of G = L^-1: P = G'G - (Q'G)'(Q'G), and only its diagonal and P z = G'e are wanted.
        constexpr Eigen::Index columns_a_block = 64;
        Eigen::VectorXd diagonal(n);
        parallel_blocks(
            (n + columns_a_block - 1) / columns_a_block, system.settings.threads,
            [&](long long block) {
                const Eigen::Index first = block * columns_a_block, columns = std::min(columns_a_block, n - first);
                Eigen::MatrixXd inverse(n - first, columns);
                kernels::kernel_table().inverse_columns(system.factor.data(), static_cast<int>(n),
                                                        static_cast<int>(first), static_cast<int>(columns),
                                                        inverse.data());
                diagonal.segment(first, columns) = inverse.colwise().squaredNorm().transpose();
                if (p > 0) {
                    const Eigen::MatrixXd projected = system.orthogonal.bottomRows(n - first).transpose() * inverse;
                    diagonal.segment(first, columns) -= projected.colwise().squaredNorm().transpose();
                }
            },
            progress, "leave-one-out");
        const Eigen::VectorXd full_variance = diagonal.cwiseInverse();
        found.residual = system.weights.cwiseProduct(full_variance);
        found.predicted = system.data.values - found.residual;
        found.variance = (full_variance - system.data.error_variances).cwiseMax(0.0);
    }
    return scored(std::move(found), system.data.error_variances);
}

CrossValidation Kriging::leave_folds_out(int folds) const {
    const System& system = *system_;
    const Eigen::Index n = system.data.x.size(), p = system.data.drift.cols();
    if (folds < 2 || folds > n) {
        throw Error(fmt::format("{} of {} {} asked for", counted(folds, "fold"), counted(n, "place"),
                                by_number(folds, "is", "are")),
                    "", "give at least 2 folds and at most as many as there are places");
    }
    CrossValidation found;
    found.predicted.resize(n);
    found.variance.resize(n);
    Eigen::MatrixXd inverse;
    if (!system.local) {
        inverse.setIdentity(n, n);
        kernels::kernel_table().forward_solve(system.factor.data(), static_cast<int>(n), inverse.data(),
                                              static_cast<int>(n));
    }
    for (int fold = 0; fold < folds; ++fold) {
        std::vector<Eigen::Index> inside, rest;
        for (Eigen::Index i = 0; i < n; ++i) (i % folds == fold ? inside : rest).push_back(i);
        const auto too_few = [&] {
            return Error(fmt::format("the {} outside a fold cannot give {}",
                                     counted(static_cast<long long>(rest.size()), "place"), counted(p, "coefficient")),
                         "", "give more folds, more points or fewer drift columns");
        };
        if (static_cast<Eigen::Index>(rest.size()) < std::max<Eigen::Index>(1, p)) throw too_few();
        if (system.local) {
            const KrigingEstimates kriged =
                system.without(rest).at(system.places_of(inside), system.covariates(inside));
            found.predicted(inside) = kriged.estimate;
            found.variance(inside) = kriged.variance;
            continue;
        }
        const Eigen::MatrixXd columns = inverse(Eigen::all, inside);
        Eigen::MatrixXd precision = columns.transpose() * columns;
        if (p > 0) {
            const Eigen::MatrixXd projected = system.orthogonal.transpose() * columns;
            precision.noalias() -= projected.transpose() * projected;
        }
        const Eigen::LLT<Eigen::MatrixXd> factor(precision);
        if (factor.info() != Eigen::Success) throw too_few();
        const Eigen::MatrixXd covariance = factor.solve(Eigen::MatrixXd::Identity(precision.rows(), precision.cols()));
        const Eigen::VectorXd residual = factor.solve(Eigen::VectorXd(system.weights(inside)));
        for (std::size_t k = 0; k < inside.size(); ++k) {
            const auto at = static_cast<Eigen::Index>(k);
            found.predicted[inside[k]] = system.data.values[inside[k]] - residual[at];
            found.variance[inside[k]] = std::max(0.0, covariance(at, at) - system.data.error_variances[inside[k]]);
        }
    }
    found.residual = system.data.values - found.predicted;
    return scored(std::move(found), system.data.error_variances);
}

KrigedGrid krige_to_grid(const SpatialData& data, const VariogramModel& model, const GridM& grid,
                         const Progress& progress, const KrigingSettings& settings) {
    const Kriging kriging(data, model, settings);
    const KrigingEstimates found = kriging.on_grid(grid, {}, progress);
    KrigedGrid out;
    out.grid = grid;
    using ByRows = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;
    out.estimate = Eigen::Map<const ByRows>(found.estimate.data(), grid.rows, grid.columns);
    if (found.variance.size() > 0) {
        out.variance = Eigen::Map<const ByRows>(found.variance.data(), grid.rows, grid.columns);
    }
    out.not_estimated = found.not_estimated;
    return out;
}

LognormalMoments lognormal_moments(double log_estimate, double log_variance, double lagrange) {
    return {std::exp(log_estimate), std::exp(log_estimate + 0.5 * log_variance - lagrange)};
}

}  // namespace models
