#pragma once

#include <cstdint>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"
#include "models/progress.h"
#include "models/spatial/kriging.h"

namespace models {

/// On a grid: by a torus where data lie on nodes or the matrix would be large, else by the factor of the full matrix.
enum class SimulationMethod { fastest, torus, factor };

struct SimulationSettings {
    int realisations = 100;
    std::uint64_t seed = 1;
    std::optional<double> known_mean;  ///< simple kriging; no drift then
    SimulationMethod method = SimulationMethod::fastest;
    int threads = 0;  ///< 0: as many as there are processors; the result is the same for any number
};

/// How the realisations were made, and how far from exact their law is.
struct SimulationReport {
    std::string method = "not run";  ///< "circulant embedding on a torus of 800 x 512 nodes"
    double neglected = 0.0;          ///< largest covariance that is off, as a share of the sill
    KrigingPreparation preparation;
    std::vector<NotEstimated> not_estimated;
    std::vector<std::string> notes;  ///< sentences for a person
};

/// One realisation: as many values as there are targets, NaN where there is none.
using TakeRealisation = std::function<void(int number, const Eigen::Ref<const Eigen::VectorXd>& values)>;

/// Maps as the ground could be, given the data: each realisation varies from place to place as the ground does, and
/// all together have the kriging estimate as their mean and the kriging error covariances as their covariances (an
/// estimated mean or drift is uncertain, and that is in them). Values are free of error: `error` terms and error
/// variances are filtered as in Kriging; a `nugget` is part of the map.
///
///     realisation = Y(x) + kriging of (z - Y - e) at x      (Matheron's substitution of residuals)
///
/// Y is a field with the variogram, drawn together at the data and the targets, e an error drawn for each datum.
/// Up to 2,500 places Y comes from the Cholesky factor of the covariance matrix of data and targets. On larger grids it
/// comes from a torus by Fourier transform, exact at the nodes and for data at cell centres; other data are drawn from
/// the 256 nodes around them, and what that neglects is measured and reported (a few millionths of the sill; up to 0.2
/// % where a variogram ends with a kink a few cells away). Where no torus has the covariance, the Cholesky factor
/// serves up to 6,000 places; beyond that the simulation is refused rather than made wrong. The same seed gives the
/// same realisations whatever the number of threads.
///
/// Source: Chiles & Delfiner (2012), Geostatistics, 2nd ed., section 7.3.1; Dietrich & Newsam (1996), Water Resources
/// Research 32, 689-701.
/// @param target_drift  as for Kriging
/// @param take          called with each realisation in order, 0 first
/// @throws Error  as Kriging does; a variogram without a sill; too many places for a Cholesky factor; no realisations
SimulationReport simulate_on_grid(const SpatialData& data, const VariogramModel& model, const GridM& grid,
                                  const SimulationSettings& settings, const TakeRealisation& take,
                                  const Eigen::MatrixXd& target_drift = {}, const Progress& progress = {});
SimulationReport simulate_at(const SpatialData& data, const VariogramModel& model, const Eigen::MatrixX2d& targets_m,
                             const SimulationSettings& settings, const TakeRealisation& take,
                             const Eigen::MatrixXd& target_drift = {}, const Progress& progress = {});

}  // namespace models
