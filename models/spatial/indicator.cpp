#include "models/spatial/indicator.h"

#include <algorithm>
#include <cmath>
#include <functional>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace {

IndicatorEstimates krige_each_threshold(
    const SpatialData& data, const std::vector<double>& thresholds, const std::vector<VariogramModel>& models,
    const KrigingSettings& settings, const Progress& progress,
    const std::function<KrigingEstimates(const Kriging&, const Progress&)>& estimate) {
    if (thresholds.empty()) throw Error("no threshold is given for the indicators", "", "give at least one");
    for (std::size_t k = 0; k < thresholds.size(); ++k) {
        if (!std::isfinite(thresholds[k]) || (k > 0 && !(thresholds[k] > thresholds[k - 1]))) {
            throw Error(fmt::format("the threshold {} is not greater than the one before it", thresholds[k]), "",
                        "give finite thresholds in ascending order");
        }
    }
    if (models.size() != 1 && models.size() != thresholds.size()) {
        throw Error(
            fmt::format("{} for {}",
                        counted(static_cast<long long>(models.size()), "variogram is given", "variograms are given"),
                        counted(static_cast<long long>(thresholds.size()), "threshold")),
            "", "give one for all, or one for each");
    }
    KrigingSettings estimate_only = settings;
    estimate_only.variance = false;
    IndicatorEstimates found;
    for (std::size_t k = 0; k < thresholds.size(); ++k) {
        const double begin = static_cast<double>(k) / static_cast<double>(thresholds.size());
        const Progress part([&](std::string_view what, double within) {
            progress.step(what, begin + within / static_cast<double>(thresholds.size()));
            return true;
        });
        const SpatialData indicators{data.positions_m, indicators_of(data.values, thresholds[k]), {}, data.drift};
        const KrigingEstimates one =
            estimate(Kriging(indicators, models[models.size() == 1 ? 0 : k], estimate_only), part);
        if (k == 0) {
            found.at_or_under.resize(one.estimate.size(), static_cast<Eigen::Index>(thresholds.size()));
            found.not_estimated = one.not_estimated;
        }
        found.at_or_under.col(static_cast<Eigen::Index>(k)) = one.estimate;
    }
    const OrderCorrection correction = correct_order(found.at_or_under);
    found.corrected = correction.rows;
    found.largest_correction = correction.largest;
    return found;
}

}  // namespace

Eigen::VectorXd indicators_of(const Eigen::VectorXd& values, double threshold) {
    for (Eigen::Index i = 0; i < values.size(); ++i) {
        if (!std::isfinite(values[i])) {
            throw Error("value is no finite number", fmt::format("point {}", i + 1), "leave the point out");
        }
    }
    return (values.array() <= threshold).cast<double>();
}

OrderCorrection correct_order(Eigen::MatrixXd& at_or_under) {
    OrderCorrection correction;
    const Eigen::Index thresholds = at_or_under.cols();
    Eigen::RowVectorXd up(thresholds), down(thresholds);
    for (Eigen::Index i = 0; i < at_or_under.rows(); ++i) {
        if (!at_or_under.row(i).allFinite()) continue;
        up = down = at_or_under.row(i).cwiseMax(0.0).cwiseMin(1.0);
        for (Eigen::Index k = 1; k < thresholds; ++k) up[k] = std::max(up[k], up[k - 1]);
        for (Eigen::Index k = thresholds - 1; k-- > 0;) down[k] = std::min(down[k], down[k + 1]);
        const Eigen::RowVectorXd corrected = 0.5 * (up + down);
        const double change = (corrected - at_or_under.row(i)).cwiseAbs().maxCoeff();
        if (change == 0.0) continue;
        ++correction.rows;
        correction.largest = std::max(correction.largest, change);
        at_or_under.row(i) = corrected;
    }
    return correction;
}

IndicatorEstimates krige_indicators(const SpatialData& data, const std::vector<double>& thresholds,
                                    const std::vector<VariogramModel>& models, const Eigen::MatrixX2d& targets_m,
                                    const KrigingSettings& settings, const Eigen::MatrixXd& target_drift,
                                    const Progress& progress) {
    return krige_each_threshold(
        data, thresholds, models, settings, progress,
        [&](const Kriging& kriging, const Progress& part) { return kriging.at(targets_m, target_drift, part); });
}

IndicatorEstimates krige_indicators(const SpatialData& data, const std::vector<double>& thresholds,
                                    const std::vector<VariogramModel>& models, const GridM& grid,
                                    const KrigingSettings& settings, const Eigen::MatrixXd& target_drift,
                                    const Progress& progress) {
    return krige_each_threshold(
        data, thresholds, models, settings, progress,
        [&](const Kriging& kriging, const Progress& part) { return kriging.on_grid(grid, target_drift, part); });
}

}  // namespace models
