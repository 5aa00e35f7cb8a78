#pragma once

#include <cstdint>
#include <optional>
#include <vector>

#include <Eigen/Core>

#include "models/spatial/kernels/kernels.h"
#include "models/spatial/variogram_model.h"

namespace models {

/// What a fast Fourier transform of n values needs to know beforehand; n has no prime factor over 5.
class FourierPlan {
 public:
    explicit FourierPlan(int n = 1);
    kernels::FourierArrays arrays() const;
    int size() const { return static_cast<int>(cosine_.size()); }

 private:
    std::vector<int> factors_;
    std::vector<double> cosine_, sine_;
};

/// Draws of a stationary Gaussian field with mean 0 on the nodes of a grid, exact in law: the covariance matrix of the
/// nodes is embedded in that of a torus, which a fast Fourier transform makes diagonal. The nugget is left out.
/// Source: Dietrich & Newsam (1997), SIAM J. Sci. Comput. 18, 1088-1107; Wood & Chan (1994), J. Comput. Graph. Stat. 3.
class TorusField {
 public:
    /// Nothing where no torus up to `most_nodes` has a covariance without negative eigenvalues: such a field cannot be
    /// drawn exactly this way, and eigenvalues are never cut off. (Negative ones that are rounding alone, together
    /// below 1e-10 of the sill, are taken as 0 and counted in `neglected`.)
    static std::optional<TorusField> embed(const VariogramModel& model, int columns, int rows, double cell_m,
                                           long long most_nodes = 1LL << 24);

    /// The two fields that one transform gives, independent of one another; node (row, column) at row * columns +
    /// column, rows running south.
    /// @param pair  which two: 0, 1, ...
    void draw(std::uint64_t seed, std::uint32_t pair, Eigen::Ref<Eigen::VectorXd> first,
              Eigen::Ref<Eigen::VectorXd> second) const;

    int torus_columns() const { return torus_columns_; }
    int torus_rows() const { return torus_rows_; }
    double neglected() const { return neglected_; }  ///< variance taken off or put on by rounding, share of the sill

 private:
    TorusField() = default;
    int columns_ = 0, rows_ = 0, torus_columns_ = 0, torus_rows_ = 0;
    double neglected_ = 0.0;
    FourierPlan across_, down_;  ///< of a row and of a column of the torus
    Eigen::VectorXd root_;       ///< square roots of eigenvalue / number of nodes, some rows side by side
};

/// The least even number from `least` on that has no prime factor over 5.
int smooth_size(int least);

}  // namespace models
