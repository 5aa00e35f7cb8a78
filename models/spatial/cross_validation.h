#pragma once

#include <array>

#include <Eigen/Core>

namespace models {

/// Shares of probability whose central intervals are counted: 50, 80, 90 and 95 %.
inline constexpr std::array<double, 4> validation_levels = {0.5, 0.8, 0.9, 0.95};

/// How good predictions with normal errors were, against what was then observed.
struct ValidationScores {
    long long counted = 0;    ///< predictions that were made
    double mean_error = 0.0;  ///< of observed - predicted; near 0 where there is no bias
    double rmse = 0.0;
    double mean_square_standardised_error = 0.0;  ///< near 1 where the variances are right
    std::array<double, 4> coverage{};  ///< share of observations inside their central interval, one a validation level
    double crps = 0.0;  ///< mean continuous ranked probability score, in the unit of the values; 0 is best
};

/// @param residuals  observed - predicted; NaN where nothing was predicted
/// @param spreads    standard deviations of the residuals, the observations' own errors in them
ValidationScores validation_scores(const Eigen::VectorXd& residuals, const Eigen::VectorXd& spreads);

/// How far a normal forecast is from an observation, integral of (F(y) - 1{y >= observed})^2 dy: with z =
/// residual/spread, spread (z (2 Phi(z) - 1) + 2 phi(z) - 1/sqrt(pi)); |residual| where the spread is 0.
/// Source: Gneiting & Raftery (2007), J. Amer. Statist. Assoc. 102, 359-378, section 4.2 (there with the sign turned).
double normal_crps(double residual, double spread);

}  // namespace models
