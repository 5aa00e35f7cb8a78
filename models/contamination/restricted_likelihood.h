#pragma once

#include <functional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/layout.h"
#include "models/contamination/parameter_points.h"

namespace models::contamination {

/// Where the logs of the parameters may lie, in the order of `Parameters`. A standard deviation may also be 0, whose
/// log is -infinity.
struct RestrictedSpace {
    Eigen::RowVectorXd start, low, high;
};

/// What the restricted likelihood says of one parameter.
enum class ParameterTold {
    inside,  ///< it is highest here
    zero,    ///< it is highest at a standard deviation of 0
    low,     ///< it rises towards the bound, and ends there
    high,
    nothing,  ///< it is the same whatever this one is
};

struct RestrictedMaximum {
    Eigen::RowVectorXd at;  ///< logs; -infinity for 0
    std::vector<ParameterTold> told;
    /// Parameters that only together are told: along their direction the likelihood is (nearly) level.
    std::vector<std::vector<int>> told_together;
    double log_likelihood = 0.0;
    bool settled = false;
    int steps = 0;
};

/// Bounds that no results of fields reach for a reason: standard deviations of logs up to 5, the range from a third of
/// the least distance of two fields of one season to ten times the largest. It starts in the middle of the priors.
RestrictedSpace restricted_space(const Layout& layout, int dimensions);
Parameters parameters_of_logs(const Eigen::RowVectorXd& logs, const ContaminationPriors& priors);

/// The maximum of the restricted likelihood, no prior, in the bounds: from the best of starts over seven ranges and
/// three sizes of the standard deviations, Newton's steps over logs on differences over 0.15, then 0.01 (all evaluated
/// together), with the curvature held at 0.05 at least and steps at 1.5 at most. Each step also tries every standard
/// deviation at 0, and those that are there at values above, and goes wherever it is highest; so it ends on a bound
/// where that is the maximum, and nowhere lower than it began. Settled where the next step would be under 0.002.
/// Source: Patterson & Thompson (1971), Biometrika 58, 545-554 (restricted likelihood).
/// @param log_likelihood  for a matrix of logs, one value a row
/// @throws Error  nothing can be worked out anywhere it starts
RestrictedMaximum restricted_maximum(const RestrictedSpace& space,
                                     const std::function<Eigen::VectorXd(const Eigen::MatrixXd&)>& log_likelihood);

/// What has to be said of it: which parameters lie at a bound, and which the results do not tell.
std::vector<std::string> notes_of(const RestrictedMaximum& maximum);

}  // namespace models::contamination
