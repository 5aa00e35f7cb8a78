#pragma once

#include <string>

#include <Eigen/Core>

#include "models/spatial/variogram_fit.h"

namespace models {

/// Whether a map within a field may be drawn at all, or the field mean is all that the samples can say.
struct StructureVerdict {
    bool supported = false;
    std::string reason;  ///< one sentence: "supported: ..." or "not supported: 9 points cannot show structure"
    VariogramFit fit;    ///< what was fitted to the values; "not run" with too few points
    double leave_one_out_skill = 0.0;  ///< 1 - mean squared error by kriging / by the mean of all others; 0: no better
    double leave_one_out_skill_standard_error = 0.0;
};

/// Structure is said to be supported only where all of these hold:
///  1. at least 25 places (below that no shape of a variogram can be told from chance);
///  2. the variogram that fits best (nugget + spherical or exponential) is not flat;
///  3. leave-one-out by kriging with it beats leave-one-out by the mean: the mean squared error falls by at least 5 %,
///     and by more than 1.645 of its own standard errors (one chance in twenty).
/// The numbers 25, 5 % and 1.645 are ours.
/// @param positions_m      n x 2
/// @param log_values       n, logarithms of the contents
/// @param error_variances  n or empty: variance of each log value's own error
/// @throws Error  sizes differ or a number is not finite
StructureVerdict structure_verdict(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& log_values,
                                   const Eigen::VectorXd& error_variances = {});

}  // namespace models
