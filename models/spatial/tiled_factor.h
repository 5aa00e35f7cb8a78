#pragma once

#include "models/progress.h"

namespace models {

/// Cholesky factor L of a large symmetric matrix in place of its lower triangle (by columns; what is above the diagonal
/// is neither read nor kept), tile by tile, so that several threads work at it and it can be stopped.
/// The tiles do not depend on threads, and so neither does any bit of L.
/// @returns -1, or a column about where the matrix is not positive definite
/// Source: Golub & Van Loan (2013), Matrix Computations, 4th ed., 4.2.9 (block Cholesky).
int factor_in_tiles(double* matrix, int n, int threads, const Progress& progress);

}  // namespace models
