#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/progress.h"
#include "models/spatial/kriging.h"

namespace models {

/// The pairs of one square of separations.
struct VariogramMapCell {
    double dx_m = 0.0, dy_m = 0.0;  ///< centre of the square: east and north part of the separation
    double gamma = 0.0;             ///< half the mean squared difference, in u^2
    long long pairs = 0;            ///< each pair counts twice, once each way
};

/// A variogram in all directions at once: how unlike values are by the east and north part of their separation, in
/// squares of the given width centred on multiples of it, out to the cutoff and half a square. A separation on an edge
/// belongs to the square east of it and to the one south of it, as in the R package gstat 2.1, whose counts these are.
/// @returns squares that have pairs, north row first, west to east; the two at one place count at the centre
/// @throws Error  as experimental_variogram; more than a million squares
std::vector<VariogramMapCell> variogram_map(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& values,
                                            double cutoff_m, double width_m, const Progress& progress = {});

/// Residuals of the mean and drift fitted by generalised least squares under a variogram: the values whose variogram is
/// wanted where there is a drift and the values are correlated. Of more than 3,000 places each is taken after its
/// nearest 30 (NearestWhitening), as likelihoods do.
/// Source: Cressie (1993), Statistics for Spatial Data, section 3.4.3.
/// @throws Error  as Kriging does
Eigen::VectorXd generalised_residuals(const SpatialData& data, const VariogramModel& model);

}  // namespace models
