#pragma once

#include <optional>

#include <Eigen/Core>

#include "models/progress.h"
#include "models/spatial/kriging.h"

namespace models {

/// Values at places on the globe.
struct SphereData {
    Eigen::MatrixX2d places_deg;      ///< n x 2: longitude, latitude
    Eigen::VectorXd values;           ///< n, all in one unit u
    Eigen::VectorXd error_variances;  ///< n or empty, in u^2
};

/// Along the great circle, on a sphere of the Earth's mean radius, 6,371,008.8 m (Moritz 2000, J. Geodesy 74, 128-133);
/// within 0.6 % of the distance on the ellipsoid.
double great_circle_distance_m(double longitude_a_deg, double latitude_a_deg, double longitude_b_deg,
                               double latitude_b_deg);

/// Ordinary kriging (simple with a known mean) with great-circle distances, for points too far apart for one plane.
/// Not every variogram of the plane is one on the sphere. Allowed are, in all directions alike: nugget, error;
/// exponential, and matern up to smoothness 0.5; spherical and pentaspherical with ranges up to half the way round.
/// Gaussian, circular, hole, smoother matern and those without a sill are refused, for their covariances there can have
/// negative eigenvalues, and estimates variances below 0.
/// Source: Gneiting (2013), Strictly and non-strictly positive definite functions on spheres, Bernoulli 19(4),
/// 1327-1349, table 1 and theorem 3.
/// @throws Error  as Kriging does; a place that is not on the globe; a shape that is not valid there; more than 5,000
///                points
KrigingEstimates krige_on_sphere(const SphereData& data, const VariogramModel& model,
                                 const Eigen::MatrixX2d& targets_deg, std::optional<double> known_mean = {},
                                 const Progress& progress = {});

}  // namespace models
