#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/spatial/kriging.h"

namespace models {

/// Chances that a value is at or under each of several thresholds, without a word about the shape of its distribution:
/// 1 or 0 at each datum ("at or under?"), kriged for each threshold by itself.
struct IndicatorEstimates {
    Eigen::MatrixXd at_or_under;  ///< targets x thresholds, 0 to 1, never falling from a threshold to a higher one
    long long corrected = 0;      ///< targets whose kriged chances were no distribution and were corrected
    double largest_correction = 0.0;
    std::vector<NotEstimated> not_estimated;
};

/// Estimates of separate krigings made one distribution a row: cut to 0 ... 1, then the mean of the running maximum
/// upwards and the running minimum downwards (Deutsch & Journel 1998, GSLIB, 2nd ed., section IV.1.9, where both
/// passes and their mean are described). Rows with NaN are left as they are.
/// @param at_or_under  targets x thresholds, thresholds ascending
/// @returns how many rows were changed and by how much at most
struct OrderCorrection {
    long long rows = 0;
    double largest = 0.0;
};
OrderCorrection correct_order(Eigen::MatrixXd& at_or_under);

/// @param data        values as measured; error variances play no part (an indicator has no error of that kind)
/// @param thresholds  ascending
/// @param models      variograms of the indicators: one a threshold, or one for all
/// @param targets_m   m x 2
/// Source: Journel (1983), Math. Geology 15, 445-468.
/// @throws Error  no thresholds or not ascending; another number of models; as Kriging does
IndicatorEstimates krige_indicators(const SpatialData& data, const std::vector<double>& thresholds,
                                    const std::vector<VariogramModel>& models, const Eigen::MatrixX2d& targets_m,
                                    const KrigingSettings& settings = {}, const Eigen::MatrixXd& target_drift = {},
                                    const Progress& progress = {});
/// The same over the cells of a grid, row by row.
IndicatorEstimates krige_indicators(const SpatialData& data, const std::vector<double>& thresholds,
                                    const std::vector<VariogramModel>& models, const GridM& grid,
                                    const KrigingSettings& settings = {}, const Eigen::MatrixXd& target_drift = {},
                                    const Progress& progress = {});

/// 1 where the value is at or under the threshold, else 0.
Eigen::VectorXd indicators_of(const Eigen::VectorXd& values, double threshold);

}  // namespace models
