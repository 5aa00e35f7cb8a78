#pragma once

#include <optional>
#include <vector>

#include <Eigen/Core>

#include "models/progress.h"

namespace models {

/// The pairs of one class of distance (and direction).
struct VariogramClass {
    double distance_m = 0.0;  ///< mean distance of the pairs
    double gamma = 0.0;       ///< semivariance, in u^2
    long long pairs = 0;
    double direction_deg = 0.0;  ///< azimuth asked for, clockwise from north; 0 where all directions are together
};

struct VariogramSettings {
    std::optional<double> cutoff_m;       ///< none: 0.33333 times the diagonal of the box around the data
    std::optional<double> width_m;        ///< none: cutoff / 15
    std::vector<double> boundaries_m;     ///< not empty: the right edges of the classes, in place of cutoff and width
    std::vector<double> directions_deg;   ///< azimuths clockwise from north; empty: all directions together
    std::optional<double> tolerance_deg;  ///< none: 90 / number of directions
    bool robust = false;                  ///< the estimator of Cressie & Hawkins in place of Matheron's
    int threads = 0;                      ///< 0: as many as there are processors
};

/// How unlike values are, class by class of distance: half the mean squared difference of all pairs (Matheron), or
/// 0.5 (mean |dz|^0.5)^4 / (0.457 + 0.494/N) (Cressie & Hawkins 1980, Math. Geology 12, 115-125).
/// Classes are closed on the right, d/width = 3 exactly belongs to the third; pairs at one place count in the first;
/// d = cutoff is in; empty classes are left out. A pair belongs to a direction if the angle between them is within the
/// tolerance. These are the conventions of the R package gstat 2.1, and pair counts are the same as its.
/// @param positions_m       n x 2: easting, northing in one flat system
/// @param values            n, all in one unit u
/// @param error_variances   n or empty: the mean of both error variances is taken off each pair's half squared
///                          difference (Matheron only), so that what is left is the variation of the ground
/// @returns one entry a class that has pairs, ordered by direction, then distance
/// @throws Error  fewer than two points, sizes differ, a number is not finite, cutoff or width <= 0
std::vector<VariogramClass> experimental_variogram(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& values,
                                                   const VariogramSettings& settings = {},
                                                   const Eigen::VectorXd& error_variances = {},
                                                   const Progress& progress = {});

/// The cutoff that is used where none is given.
double default_cutoff_m(const Eigen::MatrixX2d& positions_m);

/// Residuals of an ordinary least-squares regression on a constant and the drift columns, the values whose variogram
/// is wanted where there is a drift.
/// @param drift  n x p covariates, without the constant
/// @throws Error  a column is constant or follows from the others
Eigen::VectorXd drift_residuals(const Eigen::VectorXd& values, const Eigen::MatrixXd& drift);

}  // namespace models
