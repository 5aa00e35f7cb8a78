#pragma once

#include <utility>
#include <vector>

#include <Eigen/Core>

#include "models/spatial/kriging_system.h"

namespace models {

/// Kriging from the nearest data of each place. Distances are compared in double precision and ties are broken by the
/// order of the data, so the neighbours never depend on threads.
///
/// Targets close to one another are worked out together: one list of data that can matter to any of them, with the
/// covariances between those; targets with the same neighbours share one factor; and as many systems as the
/// processor's vectors have lanes are solved side by side.
class LocalKriging {
 public:
    LocalKriging(const PreparedData& data, const PreparedCovariance& covariance, const PreparedBlock& block,
                 const KrigingSettings& settings, double own_covariance);

    /// Fills estimate, variance and lagrange of `found`, and counts what could not be estimated.
    /// @param drift  m x (1 + p) as PreparedData::drift_of_targets makes it
    void estimate(const Eigen::MatrixX2d& targets_m, const Eigen::MatrixXd& drift, KrigingEstimates& found,
                  const Progress& progress) const;
    CrossValidation leave_one_out(const Progress& progress) const;

 private:
    enum Failure { estimated, no_place, no_drift, too_few, singular, failures };
    struct Found {
        double estimate, variance, lagrange;
        Failure failure;
    };
    std::string reason_of(Failure failure) const;
    struct Targets {
        const Eigen::MatrixX2d& places_m;
        const Eigen::MatrixXd& drift;
        KrigingEstimates& found;
    };
    class Group;
    using Numbers = std::vector<Eigen::Index>;
    /// Targets in groups of neighbouring ones.
    std::vector<Numbers> groups(const Numbers& usable, const Eigen::MatrixX2d& places_m) const;
    /// Data that may be among the neighbours of any place within `around_m` of a centre, in their own order.
    Numbers candidates(double x, double y, double around_m, std::size_t& neighbours) const;
    Eigen::Index least_count() const;
    /// The neighbours of a place with their squared distances, nearest first.
    void nearest(double x, double y, Eigen::Index but_not, std::vector<std::pair<double, Eigen::Index>>& out) const;
    Found one(double x, double y, const Eigen::RowVectorXd& drift, Eigen::Index but_not) const;

    const PreparedData& data_;
    const PreparedCovariance& covariance_;
    const PreparedBlock& block_;
    KrigingSettings settings_;
    double own_;
    // Uniform bins: data sorted by bin, begin of each bin.
    double bin_m_ = 1.0, x_min_ = 0.0, y_min_ = 0.0;
    Eigen::Index columns_ = 1, rows_ = 1;
    std::vector<Eigen::Index> begin_, sorted_;
};

}  // namespace models
