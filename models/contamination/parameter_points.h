#pragma once

#include <functional>
#include <optional>
#include <vector>

#include <Eigen/Core>

namespace models::contamination {

/// n points of a Sobol sequence in the open unit cube, the first left out; rows are points. At most 10 dimensions.
/// Direction numbers: Joe & Kuo (2008), SIAM J Sci Comput 30, 2635-2654.
Eigen::MatrixXd sobol_points(int n, int dimensions);

/// Points with weights that add up to 1.
struct WeightedPoints {
    Eigen::MatrixXd points;  ///< rows, on the scale where the prior is standard normal
    Eigen::VectorXd weight;
    double log_evidence = 0.0;
    double effective = 0.0;  ///< (sum w)^2 / sum w^2
    int rounds = 0;
};

/// A normal law that the parameters are believed to follow about, found beforehand (parameter_mode.h).
struct RoughLaw {
    Eigen::RowVectorXd centre;
    Eigen::MatrixXd covariance;
};

/// Integrates over parameters whose prior is standard normal. Round one: Sobol points from the prior, weight =
/// evidence. While the effective number is under `enough` (and at most six rounds) new points from a Student law of
/// four degrees of freedom fitted to the last ones, weight = evidence prior / law. Where hardly any point has weight,
/// the fit is made on weights raised to a power under 1 that leaves some effective points, so that the law closes in
/// step by step.
/// @param log_evidence  for a matrix of points, one value a row
/// @param least_rounds  rounds made at any rate
/// @param rough         where given, round one is from the Student law about it instead of from the prior
WeightedPoints integrate_parameters(
    int n, int dimensions, double enough, int least_rounds,
    const std::function<Eigen::VectorXd(const Eigen::MatrixXd&, const WeightedPoints& last)>& log_evidence,
    const std::optional<RoughLaw>& rough = std::nullopt);

}  // namespace models::contamination
