#pragma once

namespace models::student_t {

/// The value that a Student t variable with so many degrees of freedom exceeds with that chance: 1.729 for 0.05 and 19.
/// @param tail     0 < tail < 1
/// @param degrees  > 0; infinity is the normal distribution
/// @throws Error   either lies outside its range
double upper_quantile(double tail, double degrees);

/// Chance that it exceeds t. @throws Error  t is no number; degrees not above 0
double upper_tail(double t, double degrees);

}  // namespace models::student_t
