#pragma once

#include <functional>

#include <Eigen/Core>

namespace models {

struct SimplexMinimum {
    Eigen::VectorXd point;
    double value = 0.0;
    bool settled = false;  ///< the simplex shrank to nothing before the evaluations ran out
};

/// A minimum of a function of few variables inside bounds, without derivatives: Nelder & Mead (1965), Computer
/// Journal 7, 308-313, coordinates held inside the bounds, restarted until a restart finds nothing better.
/// @param step      size of the first simplex
/// @param smallest  size of one that has shrunk to nothing, as a share of the coordinates
SimplexMinimum simplex_minimum(const std::function<double(const Eigen::VectorXd&)>& function,
                               const Eigen::VectorXd& start, double step, const Eigen::VectorXd& low,
                               const Eigen::VectorXd& high, int most_evaluations = 4000, double smallest = 1e-10);

}  // namespace models
