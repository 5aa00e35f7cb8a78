#pragma once

#include <functional>

#include <Eigen/Core>

#include "models/contamination/parameter_points.h"

namespace models::contamination {

/// The most probable parameters and how sharp that is.
struct ParameterMode {
    RoughLaw law;                       ///< centre: the mode; covariance: of Laplace's approximation
    double log_evidence = 0.0;          ///< of the data at the mode, without the prior
    double laplace_log_evidence = 0.0;  ///< of the data with the parameters integrated, by Laplace's approximation
    int steps = 0;
    bool settled = false;
};

/// The maximum of evidence times prior where the prior is standard normal: Newton's steps on differences of the log
/// over 0.15 in each direction and pair of directions (all evaluated together), with the curvature held at 0.3 at least
/// and steps at 1.5 at most, halved where they lead down; settled where the next step would be under 0.02. With
/// thousands of results this is what restricted maximum likelihood would say, but where the results say nothing it
/// stays with the prior. Source of the approximation: Tierney & Kadane (1986), J Am Stat Assoc 81, 82-86.
/// @param start         where the search begins: 0, the prior's mode, where nothing better is known
/// @param log_evidence  for a matrix of points, one value a row
ParameterMode most_probable_parameters(const Eigen::VectorXd& start,
                                       const std::function<Eigen::VectorXd(const Eigen::MatrixXd&)>& log_evidence);

}  // namespace models::contamination
