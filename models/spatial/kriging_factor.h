#pragma once

#include <Eigen/Core>

#include "models/spatial/kriging_system.h"

namespace models {

/// The factored covariance matrix of all observations, C = L L', and their drift, L^-1 X = Q R, for kriging of several
/// sets of values and of targets that are no places of a grid. Refers to the data and the covariance it was made from.
class KrigingFactor {
 public:
    /// @throws Error  the matrix is singular
    KrigingFactor(const PreparedData& data, const PreparedCovariance& covariance, const VariogramModel& model,
                  int threads);

    /// Turns values less a known mean (n x sets) into weights of the data's covariances; returns the coefficients of
    /// the drift, p x sets.
    Eigen::MatrixXd solve(Eigen::MatrixXd& values) const;

    /// Variance of the error, and the Lagrange multiplier of the constant, of one target.
    struct Spread {
        double variance = 0.0, lagrange = 0.0;
    };
    /// @param covariances  of the target with the data, n
    /// @param drift        of the target, p
    /// @param own          covariance of the target with itself
    Spread spread(Eigen::VectorXd covariances, const Eigen::VectorXd& drift, double own) const;

 private:
    Eigen::MatrixXd factor_, drift_factor_, orthogonal_, triangle_;
};

}  // namespace models
