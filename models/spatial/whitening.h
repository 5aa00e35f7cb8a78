#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/spatial/kriging_system.h"

namespace models {

constexpr Eigen::Index most_places_together = 3000;  ///< above, a likelihood takes each place after its nearest ones
constexpr int usual_neighbours = 30;                 ///< so many of them

/// Values and drift columns of places with their correlations taken out: L^-1 z and L^-1 X for a C = L L', of which a
/// likelihood and its best coefficients follow by ordinary least squares.
struct Whitened {
    Eigen::VectorXd values;        ///< n
    Eigen::MatrixXd drift;         ///< n x p
    double log_determinant = 0.0;  ///< log |C|
    bool told_apart = false;       ///< false: C is singular or nearly so, and the rest means nothing
};

/// All places at once, C = covariances and error variances: n^2 doubles, n^3/6 multiplications.
/// @param factor  room for L, which can be used again
Whitened whiten_together(const PreparedData& data, const PreparedCovariance& covariance, Eigen::MatrixXd& factor,
                         int threads = 0, const Progress& progress = {});

/// Some of the data, or all in another order.
PreparedData places_in_order(const PreparedData& data, const std::vector<int>& numbers);

/// Each place after its nearest ones alone, for more places than a full matrix can have. The density of all values is
/// the product of the density of each one given those before it, and of those before it the nearest few say nearly all:
///   log p(z) = sum of log p(z_i | z_N(i)),  N(i) the `neighbours` nearest of the places before i
/// which is the density under another, nearby C whose log |C| is the sum of the logarithms of the conditional variances
/// d_i^2 and whose L^-1 z has the elements (z_i - c_i' C_N^-1 z_N) / d_i; in the same way for the columns of the drift.
/// Places go from coarse to fine (max_min_order); the first neighbours + 1 are whitened together. Near and far are
/// meant in the metric of the first term with a range: turned and stretched by its azimuth and ratio. Order and
/// neighbours are found once, for any sills and ranges; a whitening takes about n neighbours^3/6 multiplications and
/// n neighbours^2/2 covariances, and the same bits come out for any number of threads.
/// Source: Vecchia (1988), J. R. Statist. Soc. B 50, 297-312; Stein, Chi & Welty (2004), J. R. Statist. Soc. B 66,
/// 275-296 (restricted likelihood); Guinness (2018), Technometrics 60, 415-429 (order).
class NearestWhitening {
 public:
    /// @param neighbours  at least 1; as many as places less one is all of them
    NearestWhitening(const PreparedData& data, const VariogramModel& metric, int neighbours, int threads = 0,
                     const Progress& progress = {});

    int neighbours() const { return neighbours_; }
    /// Rows in the order of the class, not of the data.
    /// @param neighbours  no more than the class has: the nearest so many of them
    Whitened whiten(const PreparedCovariance& covariance, int neighbours, const Progress& progress = {}) const;

 private:
    struct Workspace;
    void whiten_lanes(const PreparedCovariance& covariance, int neighbours, Eigen::Index first, Workspace& work,
                      Whitened& out, Eigen::VectorXd& deviation) const;

    PreparedData data_;  ///< in the order from coarse to fine
    int neighbours_, threads_;
    std::vector<int> nearest_;  ///< of place i at [i * neighbours_, ...), the nearest first
};

}  // namespace models
