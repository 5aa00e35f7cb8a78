#pragma once

namespace models::interval_law {

/// The two laws that intervals from a few results rest on: Student's for a mean whose spread was estimated, chi-square
/// for the spread itself. Distribution functions by the incomplete beta and gamma functions (series and continued
/// fraction, modified Lentz), quantiles by halving their bracket: about 12 digits. Degrees of freedom need not be
/// whole. Source: Abramowitz & Stegun (1964), 6.5, 26.4, 26.5 and 26.7.
/// @param freedom  degrees of freedom, > 0
/// @throws Error   freedom not above zero; a probability not between 0 and 1, both excluded
double student_cdf(double t, double freedom);
double student_quantile(double probability, double freedom);
double chi_square_cdf(double x, double freedom);
double chi_square_quantile(double probability, double freedom);

}  // namespace models::interval_law
