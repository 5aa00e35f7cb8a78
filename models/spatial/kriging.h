#pragma once

#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"
#include "models/progress.h"
#include "models/spatial/cross_validation.h"
#include "models/spatial/variogram_model.h"

namespace models {

/// Values at places, and what is known about each.
struct SpatialData {
    Eigen::MatrixX2d positions_m;     ///< n x 2: easting, northing in one flat system
    Eigen::VectorXd values;           ///< n, all in one unit u
    Eigen::VectorXd error_variances;  ///< n or empty, in u^2: variance of each observation's own error, >= 0
    Eigen::MatrixXd drift;            ///< n x p or empty: covariates that the mean depends on, without the constant
};

/// A rectangle centred on each target, over which the mean is wanted; nil: the value at the place itself.
struct BlockM {
    double width_m = 0.0, height_m = 0.0;
    bool is_point() const { return width_m == 0.0 && height_m == 0.0; }
};

/// Which data speak for a place: all of them, or the nearest `count` within `radius_m`.
struct Neighbourhood {
    int count = 0;          ///< 0: no limit
    double radius_m = 0.0;  ///< 0: no limit; exactly at the radius is in
    int at_least = 0;       ///< fewer: the place is not estimated
    int sectors = 0;        ///< 4 or 8 equal sectors about the place, the first from north clockwise: of each no more
                            ///< than count / sectors, so that a cluster on one side does not speak alone
    bool is_global() const { return count == 0 && radius_m == 0.0; }
};

/// How the cells of a grid are worked out: by tiles where that is faster (equal to 5e-12 of scale), or each cell from
/// all data at once, the slow obvious way.
enum class GridMethod { fastest, dense };

struct KrigingSettings {
    std::optional<double> known_mean;  ///< simple kriging; no drift then
    BlockM block;
    Neighbourhood neighbourhood;
    bool variance = true;  ///< false: estimates alone, much faster
    GridMethod grid_method = GridMethod::fastest;
    int threads = 0;  ///< 0: as many as there are processors; the result is the same for any number
};

/// Places that got no estimate, and why.
struct NotEstimated {
    std::string reason;
    long long places = 0;
};

/// Adds up the places of each reason.
void add_to(std::vector<NotEstimated>& all, const std::vector<NotEstimated>& more);

struct KrigingEstimates {
    Eigen::VectorXd estimate;  ///< NaN where there is none
    Eigen::VectorXd variance;  ///< of the error of the estimate, >= 0; empty if not asked for
    Eigen::VectorXd lagrange;  ///< Lagrange multiplier of the constant, for the mean of a lognormal value; empty
                               ///< without variance or with a known mean
    std::vector<NotEstimated> not_estimated;
};

/// What was done to the data before anything was estimated.
struct KrigingPreparation {
    long long points = 0;  ///< observations given
    long long places = 0;  ///< observations used after merging
    long long merged = 0;  ///< observations without an error of their own that shared a place with another
    double largest_merged_difference = 0.0;  ///< between values that were merged, in u
    std::vector<std::string> notes;          ///< sentences for a person
};

/// Each observation predicted from others: from all but itself, or from all outside its fold.
struct CrossValidation : ValidationScores {
    Eigen::VectorXd predicted;           ///< n, in the order of the observations used
    Eigen::VectorXd residual;            ///< observed - predicted
    Eigen::VectorXd variance;            ///< of predicting the value free of its error
    Eigen::VectorXd standardised_error;  ///< residual / standard deviation of the residual, the error included
};

/// Best linear unbiased prediction of a value at a place, or of its mean over a block, from values nearby.
///
/// With C the covariances between observations (error variances on the diagonal), c those between observations and
/// target, X the constant and drift at the observations and x at the target:
///   b = (X'C^-1 X)^-1 X'C^-1 z,   estimate = x'b + c'C^-1 (z - Xb)
///   variance = C(0) - c'C^-1 c + (x - X'C^-1 c)'(X'C^-1 X)^-1(x - X'C^-1 c)
/// A known mean gives simple kriging, no drift ordinary kriging, drift universal kriging or kriging with external
/// drift. A `nugget` makes the map pass through the data; an `error` term and the observations' own error variances are
/// filtered: the estimate is of the value free of error. Models without a sill (linear, power) need the mean unknown.
/// Blocks are averaged by 4 x 4 Gauss-Legendre nodes and the nugget is left out of them.
/// Observations at one place: with errors of their own they stay apart; without, they are merged to their mean.
///
/// Source: Chiles & Delfiner (2012), Geostatistics, 2nd ed., ch. 3; conventions of the R package gstat 2.1.
class Kriging {
 public:
    /// Factors the covariance matrix; n^2 doubles.
    /// @throws Error  sizes differ; a number is not finite; an error variance is negative; fewer points than
    ///                coefficients; a drift column is constant or follows from the others; a known mean with a drift or
    ///                without a sill; the matrix is singular (the nearest pair of points is named)
    Kriging(const SpatialData& data, const VariogramModel& model, const KrigingSettings& settings = {},
            const Progress& progress = {});
    ~Kriging();
    Kriging(Kriging&&) noexcept;
    Kriging& operator=(Kriging&&) noexcept;

    /// @param targets_m      m x 2
    /// @param target_drift   m x p, as the data have; a place where one is missing (NaN) is not estimated
    KrigingEstimates at(const Eigen::MatrixX2d& targets_m, const Eigen::MatrixXd& target_drift = {},
                        const Progress& progress = {}) const;
    /// All cells of a grid, a strip of rows at a time from the northernmost, so that memory does not grow with the
    /// grid.
    /// @param strip_drift  called with a strip's first row and number of rows; empty without drift
    /// @param take         called with each strip in order: estimates row by row
    using StripDrift = std::function<Eigen::MatrixXd(int first_row, int rows)>;
    using TakeStrip = std::function<void(int first_row, int rows, const KrigingEstimates& strip)>;
    void over_grid(const GridM& grid, const TakeStrip& take, const StripDrift& strip_drift = {},
                   const Progress& progress = {}) const;
    /// The same, all in memory, row by row.
    KrigingEstimates on_grid(const GridM& grid, const Eigen::MatrixXd& target_drift = {},
                             const Progress& progress = {}) const;

    /// In closed form from the one factor: residual_i = (Pz)_i / P_ii (Dubrule 1983, Math. Geology 15, 687-699).
    CrossValidation leave_one_out(const Progress& progress = {}) const;
    /// The observations dealt out in turn into so many folds, observation i to fold i mod `folds`, and each fold
    /// predicted from the rest: with P as above, residuals_F = (P_FF)^-1 (Pz)_F with covariances (P_FF)^-1, the block
    /// form of the same identity. With a neighbourhood each fold is kriged from the rest.
    /// @throws Error  fewer than two folds or more than observations; the rest of a fold cannot be kriged from
    CrossValidation leave_folds_out(int folds) const;

    const KrigingPreparation& preparation() const;
    /// Coefficients of the constant and of the drift columns as given.
    Eigen::VectorXd coefficients() const;

 private:
    struct System;
    std::unique_ptr<System> system_;
};

/// A grid of estimates and variances, row 0 the northernmost.
struct KrigedGrid {
    GridM grid;
    Eigen::MatrixXd estimate;  ///< rows x columns
    Eigen::MatrixXd variance;  ///< rows x columns
    std::vector<NotEstimated> not_estimated;
};
KrigedGrid krige_to_grid(const SpatialData& data, const VariogramModel& model, const GridM& grid,
                         const Progress& progress = {}, const KrigingSettings& settings = {});

/// Median and mean of a value whose logarithm was kriged: exp(estimate), and exp(estimate + variance/2 - lagrange),
/// which is unbiased (Journel 1980, Math. Geology 12, 285-303). Without a Lagrange multiplier (known mean) it is 0.
struct LognormalMoments {
    double median = 0.0, mean = 0.0;
};
LognormalMoments lognormal_moments(double log_estimate, double log_variance, double lagrange = 0.0);

}  // namespace models
