#pragma once

namespace models {

/// Correlation of a Matern term of any smoothness at r = distance / range, 2^(1-v)/Gamma(v) r^v K_v(r): as exact as the
/// formula and many times as fast, for the tens of millions of covariances of one likelihood or map. Beyond its
/// singularity at no distance the function is analytic, so four panels to each doubling of r hold it to the last digits
/// in 13 Chebyshev coefficients; the first use of a smoothness makes its panels. Any thread may call it.
/// Source: Trefethen (2013), Approximation Theory and Approximation Practice, ch. 8.
double matern_correlation_by_table(double r, double smoothness);

}  // namespace models
