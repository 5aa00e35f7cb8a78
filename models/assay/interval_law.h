#pragma once

namespace models::interval_law {

/// The two laws that intervals from a few results rest on: Student's for a mean whose spread was estimated, chi-square
/// for the spread itself. By Boost.Math, in double precision throughout, so that every processor gives the same digits.
/// Degrees of freedom need not be whole; of Student's law infinity is the normal one.
/// @param freedom  degrees of freedom, > 0
/// @throws Error   freedom not above zero; a probability not between 0 and 1, both excluded; t that is no number
double student_cdf(double t, double freedom);
double student_quantile(double probability, double freedom);
/// Chance that it exceeds t.
double student_upper_tail(double t, double freedom);
/// The value that it exceeds with that chance: 1.729 for 0.05 and 19.
double student_upper_quantile(double tail, double freedom);
double chi_square_cdf(double x, double freedom);
double chi_square_quantile(double probability, double freedom);

}  // namespace models::interval_law
