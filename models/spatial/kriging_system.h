#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging.h"

namespace models {

/// A covariance model made ready for the kernels: terms with range, azimuth and ratio folded into one 2 x 2 matrix.
struct PreparedCovariance {
    std::vector<kernels::CovarianceTerm> terms;
    double nugget = 0.0;
    double level = 0.0;
    double structured_at_zero = 0.0;  ///< covariance at no distance, without the nugget

    explicit PreparedCovariance(const VariogramModel& model);
    kernels::CovarianceArrays arrays() const { return {terms.data(), static_cast<int>(terms.size()), nugget, level}; }
};

/// Nodes and weights of a block: 4 x 4 Gauss-Legendre with the ten-digit constants that gstat has, so that block
/// estimates agree with it and its exact counterpart to the last digits.
struct PreparedBlock {
    std::vector<double> dx, dy, weight;
    bool is_point = true;

    explicit PreparedBlock(const BlockM& block);
    kernels::BlockArrays arrays() const {
        return {dx.data(), dy.data(), weight.data(), static_cast<int>(dx.size()), is_point};
    }
};

/// What the user handed in, checked, with observations at one place merged where nothing tells them apart.
struct PreparedData {
    Eigen::VectorXd x, y, values, error_variances;  ///< n each; the model's error terms are in error_variances
    Eigen::MatrixXd drift;                          ///< n x (1 + p): the constant, then centred and scaled columns
    Eigen::VectorXd drift_centre, drift_scale;      ///< p each
    KrigingPreparation report;

    PreparedData() = default;
    PreparedData(const SpatialData& data, const VariogramModel& model, const KrigingSettings& settings);
    /// The same columns for targets: m x (1 + p), or m x 0 with a known mean.
    /// @throws Error  not m x p
    Eigen::MatrixXd drift_of_targets(Eigen::Index targets, const Eigen::MatrixXd& target_drift) const;
};

/// The mean covariance of the target with itself: C(0), or over all pairs of block nodes.
double own_covariance(const PreparedCovariance& covariance, const PreparedBlock& block);

}  // namespace models
