#pragma once

namespace models::normal {

/// Distribution function of the standard normal law, its logarithm (right far into both tails, where the function
/// itself is 0 or 1), its density and its quantile (Wichura 1988, Applied Statistics 37, algorithm AS 241, about 16
/// digits; needs 0 < p < 1).
double cdf(double x);
double log_cdf(double x);
double density(double x);
double quantile(double p);

}  // namespace models::normal
