#include <algorithm>
#include <cmath>
#include <numbers>
#include <numeric>

#include <Eigen/QR>
#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/spatial/kriging_system.h"
#include "models/spatial/matern_table.h"

namespace models {

namespace {

double slow_correlation(VariogramShape shape, double r, double parameter) {
    VariogramTerm term{.shape = shape, .range_m = 1.0};
    switch (shape) {
        case VariogramShape::matern:
            return matern_correlation_by_table(r, parameter);
        case VariogramShape::power:
            term.exponent = parameter;
            return -term.unit_semivariance(r);
        case VariogramShape::hole:
            term.damping_m = parameter;
            break;
        default:
            break;
    }
    return 1.0 - term.unit_semivariance(r);
}

void check_data(const SpatialData& data, const KrigingSettings& settings) {
    const Eigen::Index n = data.values.size();
    if (n == 0) throw Error("there are no points to krige from");
    if (data.positions_m.rows() != n) {
        throw Error(fmt::format("there are {} places but {} values", data.positions_m.rows(), n));
    }
    if (data.error_variances.size() != 0 && data.error_variances.size() != n) {
        throw Error(fmt::format("there are {} values but {} error variances", n, data.error_variances.size()));
    }
    if (data.drift.cols() != 0 && data.drift.rows() != n) {
        throw Error(fmt::format("there are {} values but {} rows of drift", n, data.drift.rows()));
    }
    for (Eigen::Index i = 0; i < n; ++i) {
        const std::string where = fmt::format("point {}", i + 1);
        if (!std::isfinite(data.values[i]) || !std::isfinite(data.positions_m(i, 0)) ||
            !std::isfinite(data.positions_m(i, 1))) {
            throw Error("value or place is no finite number", where, "leave the point out");
        }
        if (data.error_variances.size() != 0 &&
            (!(data.error_variances[i] >= 0.0) || !std::isfinite(data.error_variances[i]))) {
            throw Error(fmt::format("the error variance is {}; a variance cannot be negative", data.error_variances[i]),
                        where, "give 0 where the value is exact");
        }
        for (Eigen::Index k = 0; k < data.drift.cols(); ++k) {
            if (!std::isfinite(data.drift(i, k))) {
                throw Error(fmt::format("drift column {} is no finite number", k + 1), where, "leave the point out");
            }
        }
    }
    if (settings.known_mean && data.drift.cols() > 0) {
        throw Error("a known mean and a drift exclude one another", "", "leave one of them out");
    }
    if (settings.known_mean && !std::isfinite(*settings.known_mean)) throw Error("the known mean is no finite number");
    if (!(settings.block.width_m >= 0.0) || !(settings.block.height_m >= 0.0) ||
        (settings.block.width_m == 0.0) != (settings.block.height_m == 0.0)) {
        throw Error(fmt::format("the block is {} by {}", settings.block.width_m, settings.block.height_m), "",
                    "give two lengths greater than 0");
    }
}

}  // namespace

PreparedCovariance::PreparedCovariance(const VariogramModel& model) {
    model.check();
    for (const VariogramTerm& term : model.terms) {
        if (term.shape == VariogramShape::error || term.partial_sill == 0.0) continue;
        if (term.shape == VariogramShape::nugget) {
            nugget += term.partial_sill;
            continue;
        }
        const bool without_sill = term.shape == VariogramShape::linear || term.shape == VariogramShape::power;
        const double range = without_sill ? 1.0 : term.range_m;
        const double azimuth = term.ratio == 1.0 ? 0.0 : term.azimuth_deg * std::numbers::pi / 180.0;
        const double sine = std::sin(azimuth), cosine = std::cos(azimuth);
        kernels::CovarianceTerm ready;
        ready.shape = term.shape;
        ready.sill = term.partial_sill;
        // u across the azimuth, v along it; without anisotropy the identity over the range.
        ready.xx = cosine / (range * term.ratio);
        ready.xy = -sine / (range * term.ratio);
        ready.yx = sine / range;
        ready.yy = cosine / range;
        ready.slow = slow_correlation;
        if (term.shape == VariogramShape::matern) ready.parameter = term.smoothness;
        if (term.shape == VariogramShape::power) ready.parameter = term.exponent;
        if (term.shape == VariogramShape::hole) ready.parameter = term.damping_m / range;
        if (!without_sill) structured_at_zero += term.partial_sill;
        terms.push_back(ready);
    }
}

PreparedBlock::PreparedBlock(const BlockM& block) : is_point(block.is_point()) {
    if (is_point) {
        dx = {0.0};
        dy = {0.0};
        weight = {1.0};
        return;
    }
    constexpr double nodes[4] = {-0.4305681558, -0.1699905218, 0.1699905218, 0.4305681558};
    constexpr double weights[4] = {0.1739274226, 0.3260725774, 0.3260725774, 0.1739274226};
    for (int i = 0; i < 4; ++i) {
        for (int j = 0; j < 4; ++j) {
            dx.push_back(block.width_m * nodes[i]);
            dy.push_back(block.height_m * nodes[j]);
            weight.push_back(weights[i] * weights[j]);
        }
    }
}

double own_covariance(const PreparedCovariance& covariance, const PreparedBlock& block) {
    if (block.is_point) return covariance.level + covariance.structured_at_zero + covariance.nugget;
    kernels::CovarianceArrays structured = covariance.arrays();
    structured.nugget = 0.0;
    const int nodes = static_cast<int>(block.dx.size());
    std::vector<double> row(block.dx.size());
    double sum = 0.0;
    for (std::size_t i = 0; i < block.dx.size(); ++i) {
        kernels::kernel_table().covariances(structured, block.dx.data(), block.dy.data(), nodes, block.dx[i],
                                            block.dy[i], row.data());
        for (std::size_t j = 0; j < block.dx.size(); ++j) sum += block.weight[i] * block.weight[j] * row[j];
    }
    return sum;
}

PreparedData::PreparedData(const SpatialData& data, const VariogramModel& model, const KrigingSettings& settings) {
    check_data(data, settings);
    const Eigen::Index given = data.values.size(), covariates = data.drift.cols();
    const double model_error = model.error();
    const auto error_of = [&](Eigen::Index i) {
        return model_error + (data.error_variances.size() == 0 ? 0.0 : data.error_variances[i]);
    };
    // Observations at one place without an error of their own become one, their mean.
    std::vector<Eigen::Index> order(static_cast<std::size_t>(given));
    std::iota(order.begin(), order.end(), Eigen::Index{0});
    std::stable_sort(order.begin(), order.end(), [&](Eigen::Index a, Eigen::Index b) {
        return data.positions_m(a, 0) != data.positions_m(b, 0) ? data.positions_m(a, 0) < data.positions_m(b, 0)
                                                                : data.positions_m(a, 1) < data.positions_m(b, 1);
    });
    std::vector<std::vector<Eigen::Index>> members(static_cast<std::size_t>(given));  // by first index of the place
    Eigen::Index exact_at_place = -1;
    for (std::size_t k = 0; k < order.size(); ++k) {
        const Eigen::Index i = order[k];
        const bool same_place = k > 0 && data.positions_m.row(i) == data.positions_m.row(order[k - 1]);
        if (!same_place) exact_at_place = -1;
        if (error_of(i) > 0.0) {
            members[static_cast<std::size_t>(i)] = {i};
        } else if (exact_at_place < 0) {
            exact_at_place = i;
            members[static_cast<std::size_t>(i)] = {i};
        } else {
            members[static_cast<std::size_t>(exact_at_place)].push_back(i);
        }
    }
    const auto kept = static_cast<Eigen::Index>(
        std::count_if(members.begin(), members.end(), [](const auto& group) { return !group.empty(); }));
    report.points = given;
    report.places = kept;
    report.merged = given - kept;
    x.resize(kept);
    y.resize(kept);
    values.resize(kept);
    error_variances.resize(kept);
    Eigen::MatrixXd covariate(kept, covariates);
    Eigen::Index at = 0;
    for (const auto& group : members) {
        if (group.empty()) continue;
        const auto count = static_cast<double>(group.size());
        x[at] = data.positions_m(group[0], 0);
        y[at] = data.positions_m(group[0], 1);
        error_variances[at] = error_of(group[0]);
        double low = data.values[group[0]], high = low, sum = 0.0;
        Eigen::RowVectorXd drift_sum = Eigen::RowVectorXd::Zero(covariates);
        for (const Eigen::Index i : group) {
            low = std::min(low, data.values[i]);
            high = std::max(high, data.values[i]);
            sum += data.values[i];
            if (covariates > 0) drift_sum += data.drift.row(i);
        }
        values[at] = group.size() == 1 ? data.values[group[0]] : sum / count;
        covariate.row(at) = drift_sum / count;
        report.largest_merged_difference = std::max(report.largest_merged_difference, high - low);
        ++at;
    }
    if (report.merged > 0) {
        report.notes.push_back(
            fmt::format("{} where another does and {} merged to their mean, as they have no error of their own; the "
                        "largest difference at one place is {:.4g}",
                        counted(report.merged, "point lay", "points lay"), by_number(report.merged, "was", "were"),
                        report.largest_merged_difference));
    }
    if (settings.known_mean) {
        drift.resize(kept, 0);
        if (!model.has_sill()) {
            throw Error("a variogram without a sill (linear, power) cannot be used with a known mean",
                        "variogram \"" + model.to_text() + "\"", "leave the mean out");
        }
        return;
    }
    if (kept <= covariates) {
        throw Error(fmt::format("{} cannot give a mean and {}", counted(kept, "place"),
                                counted(covariates, "drift coefficient")),
                    "", "give more points or fewer drift columns");
    }
    drift.resize(kept, covariates + 1);
    drift.col(0).setOnes();
    drift_centre = covariate.colwise().mean();
    drift_scale.resize(covariates);
    for (Eigen::Index k = 0; k < covariates; ++k) {
        const Eigen::VectorXd centred = covariate.col(k).array() - drift_centre[k];
        drift_scale[k] = centred.norm() / std::sqrt(static_cast<double>(kept));
        if (!(drift_scale[k] > 1e-12 * std::abs(drift_centre[k]))) {
            throw Error(fmt::format("drift column {} is the same at all points", k + 1), "",
                        "leave it out: a constant mean is estimated anyway");
        }
        drift.col(k + 1) = centred / drift_scale[k];
    }
    if (covariates > 1) {
        Eigen::ColPivHouseholderQR<Eigen::MatrixXd> qr(drift);
        qr.setThreshold(1e-10);
        if (qr.rank() < drift.cols()) {
            throw Error("the drift columns follow from one another at the points", "", "leave one of them out");
        }
    }
}

Eigen::MatrixXd PreparedData::drift_of_targets(Eigen::Index targets, const Eigen::MatrixXd& target_drift) const {
    if (drift.cols() == 0) return Eigen::MatrixXd(targets, 0);
    const Eigen::Index covariates = drift.cols() - 1;
    if (target_drift.cols() != covariates || (covariates > 0 && target_drift.rows() != targets)) {
        throw Error(fmt::format("the data have {} drift columns, and {} targets have {} rows of {}", covariates,
                                targets, target_drift.rows(), target_drift.cols()),
                    "", "give the same drift columns for the targets");
    }
    Eigen::MatrixXd ready(targets, drift.cols());
    ready.col(0).setOnes();
    for (Eigen::Index k = 0; k < covariates; ++k) {
        ready.col(k + 1) = (target_drift.col(k).array() - drift_centre[k]) / drift_scale[k];
    }
    return ready;
}

}  // namespace models
