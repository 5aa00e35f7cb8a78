#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/contamination/assay_site.h"

namespace models::contamination {

using RowMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Sites that share a local latent (a field effect, a load), and the law of these latents.
struct LatentBlock {
    std::vector<int> sites;
    std::vector<int> locals;  ///< which of the model's local latents
    Eigen::MatrixXd loading;  ///< sites x locals
    Eigen::MatrixXd local;    ///< covariance of the locals
    Eigen::MatrixXd own;      ///< covariance that the sites have beside the locals (composites, samples)
    Eigen::MatrixXd covariance() const { return loading * local * loading.transpose() + own; }
};

/// Gaussian law of z, one entry a site, for given covariance parameters:
///   z = mean + design beta + local part,  beta ~ N(0, 1/column_precision), local parts of different blocks
///   independent.
/// Columns are scaled by their standard deviation, so a deviation of nought needs no inverse; precision 0 is flat.
struct GaussianLaw {
    Eigen::VectorXd mean;
    RowMatrix design;
    Eigen::VectorXd column_precision;
    std::vector<LatentBlock> blocks;
};

/// Readings as Gaussian factors exp(-tau z^2 / 2 + nu z). A reading that is a surprise widens the law of its content,
/// because its error depends on the content: its tau is then negative.
struct GaussianSites {
    Eigen::VectorXd tau, nu;
};

/// Posterior of beta and of the local parts, exact for these Gaussian factors. With T = diag(tau), C the covariance of
/// the local parts, H the design:
///   M = (C + T^-1)^-1 (as T^1/2 (I + T^1/2 C T^1/2)^-1 T^1/2, or T (I + C T)^-1 where a tau is negative),  A =
///   precision + H'M H beta = A^-1 H'f,  f = (I - M C) (nu - T mean),  local parts C (f - M H beta)
/// Source: Rasmussen & Williams (2006), sections 2.7 (explicit basis) and 3.6 (factors).
struct GaussianPosterior {
    Eigen::VectorXd beta;
    Eigen::MatrixXd beta_factor;     ///< lower Cholesky factor of A
    std::vector<Eigen::MatrixXd> m;  ///< M of each block
    RowMatrix m_design;              ///< M H
    Eigen::VectorXd f;
    Eigen::VectorXd marginal_mean, marginal_variance;  ///< of each site's z
    double log_integral = 0.0;                         ///< of law times factors
    bool proper = true;  ///< false: law times factors is no probability law; the rest is not filled
};

GaussianPosterior posterior(const GaussianLaw& law, const GaussianSites& sites);

struct Propagation {
    GaussianSites sites;
    GaussianPosterior posterior;
    double log_evidence = -1e300;
    int sweeps = 0;
    bool settled = false;
    bool finite = false;  ///< false: the steps ran away before the first was complete
};

/// Expectation propagation with one-dimensional sites: Minka (2001); all sites are renewed at once from the same
/// posterior, moments by 24 Gauss-Hermite nodes about it, damped where that overshoots. A site of Gaussian error is
/// exact. Where this does not settle it is done again from the readings alone in small steps, and no site may widen.
/// @param start  where the search begins; the outcome is the fixed point
Propagation propagate(const GaussianLaw& law, const std::vector<SiteTable>& tables, GaussianSites start,
                      double tolerance, int most_sweeps);

/// Start from the readings alone.
GaussianSites starting_sites(const std::vector<SiteTable>& tables);

}  // namespace models::contamination
