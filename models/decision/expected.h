#pragma once

#include <Eigen/Core>

#include "models/decision/limit_rule.h"

namespace models {

/// Numbers that a decision takes from draws of contents. A draw is one world that the data allow: a row holds the
/// contents of all fields (loads, bins) in that world, so that what they share stays shared. mg/kg throughout.
struct DrawSummary {
    double mean_mg_per_kg = 0.0;
    double low90_mg_per_kg = 0.0;   ///< 5 % quantile
    double low50_mg_per_kg = 0.0;   ///< 25 %
    double median_mg_per_kg = 0.0;  ///< 50 %
    double high50_mg_per_kg = 0.0;  ///< 75 %
    double high90_mg_per_kg = 0.0;  ///< 95 %
    double exceedance = 0.0;        ///< share of draws that break the limit, its rounding and comparison included
};
/// @throws Error  no draws; a draw is not a number of 0 or more
DrawSummary summary_of_draws(const Eigen::Ref<const Eigen::VectorXd>& draws_mg_per_kg, const Limit& limit);

/// The quantile by linear interpolation between order statistics, at 1 + (n - 1) p: definition 7 of Hyndman & Fan
/// (1996), The American Statistician 50(4), 361-365.
/// @param probability  0 to 1
/// @throws Error  no draws; probability outside 0 to 1
double quantile_of_draws(const Eigen::Ref<const Eigen::VectorXd>& draws, double probability);

/// Share of the draws that break the limit, by its rounding and comparison.
double exceedance_of_draws(const Eigen::Ref<const Eigen::VectorXd>& draws_mg_per_kg, const Limit& limit);

}  // namespace models
