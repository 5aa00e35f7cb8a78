#pragma once

#include <vector>

#include "models/geometry.h"
#include "models/spatial/kernels/kernels.h"
#include "models/spatial/kriging.h"

namespace models {

/// How a grid is cut: side of the tiles in cells, 0 where every cell is better kriged from all data at once.
///
/// Over a small enough tile the covariance with a distant datum is a smooth function of place, and so is all that the
/// distant data contribute to estimate and variance: it is worked out exactly at 14 x 14 Chebyshev nodes and carried to
/// the cells by polynomials, while data nearby (and those whose range ends inside the tile) are taken exactly at every
/// cell. The cost hardly depends on the number of cells. Every tile is checked at three cells against the plain formula
/// and falls back to it where the difference is over 5e-12 of scale.
/// Source: Trefethen (2013), Approximation Theory and Approximation Practice, ch. 8 (rate of convergence).
struct GridPlan {
    int side_cells = 0;
    bool inverse = false;  ///< whether the inverse of the whole factor is worth its work, as SystemArrays::inverse
    int nodes = 14;
    double ellipse = 6.0;
    double estimate_tolerance = 0.0, variance_tolerance = 0.0;
};
GridPlan plan_grid(const kernels::SystemArrays& system, const GridM& grid, const BlockM& block, bool variance,
                   double value_scale);

/// One strip of tiles: rows [first_row, first_row + rows), all columns.
/// @param drift  cells x p by columns, cells row by row
/// @returns how many tiles fell back to the plain formula
long long krige_strip(const kernels::SystemArrays& system, const GridPlan& plan, const GridM& grid, const BlockM& block,
                      int first_row, int rows, const Eigen::MatrixXd& drift, int threads, KrigingEstimates& found,
                      const Progress& progress);

}  // namespace models
