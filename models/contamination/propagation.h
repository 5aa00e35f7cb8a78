#pragma once

#include <utility>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/assay_site.h"

namespace models::contamination {

using RowMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, Eigen::RowMajor>;

/// Sites that hang on the same local latents in the same way: the samples of one field, of one load. They differ by
/// deviations of their own alone (composites), so that together they speak of one number.
struct SiteBundle {
    std::vector<int> sites;
    std::vector<std::pair<int, double>> loading;  ///< place in the block's `locals`, and how much of it
};

/// Bundles that share local latents (a field effect, a load, the fields of one region), and the law of what is local.
struct LatentBlock {
    std::vector<SiteBundle> bundles;
    std::vector<int> locals;     ///< which of the model's local latents
    Eigen::MatrixXd covariance;  ///< of the bundles' local parts
};

/// Fields of which some may hold no DON at all. A reading of such a field is below the range for sure.
struct FreeFields {
    double share = 0.0;      ///< of all fields; 0: there are none
    std::vector<int> group;  ///< by site: the field that it is of, where all results of that are below; otherwise -1
    int groups = 0;          ///< fields all of whose results are below the range
    int with_don = 0;        ///< tested fields that hold DON for sure
};

/// Gaussian law of z, one entry a site, for given covariance parameters:
///   z = mean + design beta + local part of its bundle + N(0, own variance),  beta ~ N(0, 1/column_precision), local
///   parts of different blocks independent.
/// Columns are scaled by their standard deviation, so a deviation of nought needs no inverse; precision 0 is flat.
struct GaussianLaw {
    Eigen::VectorXd mean, own_variance;
    RowMatrix design;
    Eigen::VectorXd column_precision;
    std::vector<LatentBlock> blocks;
    FreeFields free;
};

/// Readings as Gaussian factors exp(-tau z^2 / 2 + nu z). A reading that is a surprise widens the law of its content,
/// because its error depends on the content: its tau is then negative.
struct GaussianSites {
    Eigen::VectorXd tau, nu;
};

/// M = (C + T^-1)^-1 of one block, C the covariance of its bundles' local parts and T = diag(tau) what their sites say
/// of them: with R = sqrt(T) where tau is above 0 and 0 elsewhere, and L L' = I + R C R,
///   M = R (L L')^-1 R - Z (Q Q')^-1 Z'
/// the second term for the few bundles N that widen: Z = E_N - M_1 C_N of the first term M_1, and Q Q' = -(1/tau_N +
/// what the first term leaves of C_N). No covariance is inverted.
struct BlockPrecision {
    double single = 0.0;             ///< M of a block of one bundle; the rest is then empty
    Eigen::VectorXd root;            ///< diagonal of R
    Eigen::MatrixXd lower;           ///< L
    Eigen::MatrixXd widening;        ///< Z, bundles x N
    Eigen::MatrixXd widening_lower;  ///< Q

    Eigen::MatrixXd times(const Eigen::MatrixXd& x) const;          ///< M x
    Eigen::MatrixXd form(const Eigen::MatrixXd& x) const;           ///< x' M x
    Eigen::VectorXd form_diagonal(const Eigen::MatrixXd& x) const;  ///< its diagonal
};

/// Posterior of beta and of the local parts, exact for these Gaussian factors. A factor on a + N(0, own) is one on a
/// with tau and nu divided by 1 + tau own, and the factors of a bundle add up: to T, to T x (x being what they say
/// beyond their mean) and to T H (H being the mean of their rows of the design). Then
///   A = precision + H'M H + scatter of the rows within bundles,  beta = A^-1 (H'f + the same scatter),  f = M x,
///   local parts C (f - M H beta)
/// written so that no bundle that says next to nothing, or widens, is divided by its T.
/// Source: Rasmussen & Williams (2006), sections 2.7 (explicit basis) and 3.6 (factors); bundles that widen by the
/// matrix inversion lemma (appendix A.3).
struct GaussianPosterior {
    Eigen::VectorXd beta;
    Eigen::MatrixXd beta_factor;                       ///< lower Cholesky factor of A
    std::vector<BlockPrecision> precision;             ///< M of each block
    Eigen::VectorXd f;                                 ///< by bundle, numbered through all blocks; so is the next
    RowMatrix m_design;                                ///< M H
    Eigen::VectorXd marginal_mean, marginal_variance;  ///< of each site's z
    double log_integral = 0.0;                         ///< of law times factors
    bool proper = true;  ///< false: law times factors is no probability law; the rest is not filled
};

GaussianPosterior posterior(const GaussianLaw& law, const GaussianSites& sites);

/// What the propagation found of fields that may hold no DON; empty where there are none.
struct FreeFound {
    Eigen::VectorXd log_odds;  ///< by group: of holding none against holding some
    GaussianSites given_don;   ///< what their sites are where the field holds some; not set for other sites
};

struct Propagation {
    GaussianSites sites;
    FreeFound free;
    GaussianPosterior posterior;
    double log_evidence = -1e300;
    int sweeps = 0;
    bool settled = false;
    bool finite = false;                           ///< false: the steps ran away before the first was complete
    Eigen::VectorXd cavity_mean, cavity_variance;  ///< of each site's z by all the other sites
};

/// Expectation propagation with one-dimensional sites: Minka (2001); all sites are renewed at once from the same
/// posterior, moments by 24 Gauss-Hermite nodes about it, damped where that overshoots. A site of Gaussian error is
/// exact. Sites of a field that may hold no DON are p + (1 - p) times their likelihood, p being the chance that the
/// other sites of the field leave for that: the field's yes or no is propagated beside z, and of one site it is exact.
/// Where this does not settle it is done again from the readings alone in small steps, and no site may widen.
/// @param start      where the search begins; the outcome is the fixed point
/// @param tolerance  it ends once a sweep moves no mean by this share of its spread and no variance by this share of
///                   itself. The evidence is stationary about the fixed point: its error is of the square of that
Propagation propagate(const GaussianLaw& law, const std::vector<SiteTable>& tables, GaussianSites start,
                      double tolerance, int most_sweeps);

/// Start from the readings alone.
GaussianSites starting_sites(const std::vector<SiteTable>& tables);

}  // namespace models::contamination
