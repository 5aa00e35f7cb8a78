#pragma once

#include <optional>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/leave_one_out.h"

namespace models::contamination {

/// A term that the model has not, tried in it: its coefficient with no prior, the readings' factors as they are.
struct TriedTerm {
    double coefficient = 0.0, sd = 0.0;
    double slope = 0.0;     ///< of the disease risk, beside it
    double chance() const;  ///< two-sided, of one so far from 0 where there is none
};

/// Adds the column to the law of the readings at each value of the covariance parameters and averages what comes out.
/// With the factors held this is the score test of that column (its efficient score over the root of its information,
/// nuisance coefficients and local parts projected out), averaged over the parameters.
/// Source: Cox & Hinkley (1974), Theoretical Statistics, section 9.3; Rasmussen & Williams (2006), section 2.7.
/// @param by_field_season  value of the term for each; a load has that of its parts by their shares
TriedTerm try_term(const Layout& layout, const Linearisation& at, const ParameterIntegral& found,
                   const Eigen::VectorXd& by_field_season);

/// Two-sided chance of a kurtosis so far from that of a normal law, in n >= 20 numbers, and which way it is off.
/// Source: Anscombe & Glynn (1983), Biometrika 70, 227-234.
struct Kurtosis {
    double z = 0.0, chance = 1.0;
};
std::optional<Kurtosis> kurtosis_test(const Eigen::VectorXd& numbers);
/// Of a kurtosis, the fourth moment about the mean over the square of the second: its place on the normal scale.
double kurtosis_z(double kurtosis, double n);

/// Whether more of independent events with these chances p happened than these chances allow, in the way of a share s =
/// 0.1 of them being sure: the likelihood ratio sum ln(1 - s + s / p) over those that happened, ln(1 - s) over those
/// that did not, beside 9,999 draws of the events (the same ones each time). An event that happened against a small
/// chance counts for more than one more of the likely ones. One-sided. Source: Cox & Hinkley (1974), section 4.3
/// (likelihood ratio against one alternative); Davison & Hinkley (1997), Bootstrap Methods and their Application,
/// section 4.2 (its chance by draws).
struct SureShare {
    int happened = 0;
    double foretold = 0.0, sd = 0.0;  ///< their number
    double chance = 1.0;
};
SureShare share_that_is_sure(const std::vector<double>& chances, const std::vector<int>& happened);

/// Chances of several checks, each times their number and more, so that all together are too small by accident no more
/// often than any one: Holm (1979), Scand J Stat 6, 65-70. Checks that were not made are left out.
std::vector<std::optional<double>> together(const std::vector<std::optional<double>>& chances);

/// A sum of squares of n independent standard normal numbers so large: its chance, by Wilson & Hilferty (1931).
double chance_of_squares(double sum, double n);

}  // namespace models::contamination
