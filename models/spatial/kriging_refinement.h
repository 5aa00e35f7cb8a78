#pragma once

#include <Eigen/Core>

#include "models/spatial/kriging_system.h"

namespace models {

/// A global kriging system as it was factored: C = L L', L^-1 X = W = Q R.
struct FactoredKriging {
    const PreparedData& data;
    const VariogramModel& model;
    double level;  ///< what was added to all covariances of a variogram without a sill
    const Eigen::MatrixXd& factor;
    const Eigen::MatrixXd& drift_factor;
    const Eigen::MatrixXd& orthogonal;
    const Eigen::MatrixXd& triangle;
};

/// Smooth shapes with next to no nugget make systems that magnify the rounding of every covariance: true where the
/// square of the largest pivot of L over the smallest, a lower bound of the condition number, passes 10,000.
bool is_ill_conditioned(const Eigen::MatrixXd& factor);

constexpr int most_points_to_refine = 2000;  ///< a second's work

/// Mends the weights w and coefficients b of C w + X b = z - mean, X'w = 0 by steps with the same factor on residuals
/// worked out in extended precision, covariances included, until the steps shrink no more. What is left is the rounding
/// of the targets' own covariances.
/// Source: Higham (2002), Accuracy and Stability of Numerical Algorithms, 2nd ed., ch. 12.
void refine_weights(const FactoredKriging& system, double known_mean, int threads, Eigen::VectorXd& weights,
                    Eigen::VectorXd& coefficients);

}  // namespace models
