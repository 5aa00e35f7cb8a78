#pragma once

#include <utility>
#include <vector>

#include <Eigen/Core>

#include "models/contamination/layout.h"
#include "models/contamination/normal_mixture.h"
#include "models/contamination/propagation.h"

namespace models::contamination {

/// From a law of the posterior to the law given that the field holds DON: add + times x has its mean and variance.
struct ToGivenDon {
    double add = 0.0, times = 1.0;
};

/// What the posterior at one value of the covariance parameters says of columns and locals: all that predictions need.
/// Given beta, the locals of a block are N(shift + gain beta, covariance); beta ~ N(beta, (factor factor')^-1).
struct PointPosterior {
    Parameters parameters;
    double weight = 1.0;
    bool settled = true;
    Eigen::VectorXd column_scale, beta;
    Eigen::MatrixXd beta_factor;
    Eigen::VectorXd shift;     ///< by local
    RowMatrix gain;            ///< locals x columns
    Eigen::VectorXd variance;  ///< by local, given beta
    struct BlockCovariance {
        std::vector<int> locals;
        Eigen::MatrixXd covariance;  ///< empty where it is not kept (forget_covariances)
    };
    std::vector<BlockCovariance> blocks;
    std::vector<std::pair<int, int>> place;  ///< by local: block and place in it
    GaussianSites sites;
    /// Of fields that may hold no DON (fields_without_don.h), as Layout::maybe_free() has them; empty where none may.
    struct MaybeFree {
        double log_odds = 0.0;  ///< of holding none against holding some
        ToGivenDon given_don;
        std::vector<ToGivenDon> loads_given_don;  ///< of its tested loads
    };
    std::vector<MaybeFree> maybe_free;
    GaussianSites given_don;  ///< sites as they are where those fields hold some

    /// Leaves the variances: of thousands of fields at many points the whole would not fit into memory.
    void forget_covariances();
};

/// @param joined  which fields were joined for it: layout.joined(p) but where others are tried
/// @param only    these field-seasons alone, where that is all that is asked for; without covariances. Empty: all
PointPosterior point_posterior(const Layout& layout, const Linearisation& at, const Parameters& p,
                               const GaussianLaw& law, const GaussianPosterior& found, const GaussianSites& sites,
                               const Layout::Joined& joined, const std::vector<std::size_t>& only = {});
/// The same from its sites alone.
PointPosterior point_posterior(const Layout& layout, const Linearisation& at, const Parameters& p,
                               const GaussianSites& sites);

/// Something with a normal law at a point: ln content of a field, the deviation of a load, ln content of bought grain.
struct Item {
    LocalKind kind;
    std::size_t index;
};

struct JointLaw {
    Eigen::VectorXd mean;
    Eigen::MatrixXd covariance;
};

JointLaw joint_law(const Layout& layout, const Linearisation& at, const PointPosterior& point,
                   const std::vector<Item>& items);

struct LogLaw {
    double mean = 0.0, variance = 0.0;
};

/// ln content of a field: exact at the point.
LogLaw field_law(const Layout& layout, const Linearisation& at, const PointPosterior& point, std::size_t field_season);
/// ln content of a load, added to `into` with this weight: exact for a load of one field. For a mix the least known
/// part is gone through on 12 nodes, and given it the mix is lognormal with its true mean and variance (Fenton 1960,
/// IRE Trans Commun Syst 8, 57-67); parts that may hold no DON are in both, and that all hold none is kept apart.
void add_load_law(const Layout& layout, const Linearisation& at, const PointPosterior& point, std::size_t load,
                  double weight, NormalMixture& into);

/// What is taken at a point of the posterior, about this one: mixes by statistical linear regression on the 2 d points
/// of a spherical cubature (Garcia-Fernandez et al. 2015), shared errors at the content found, E[b1^2].
void linearise(const Layout& layout, const Propagation& found, const PointPosterior& point, Linearisation& at);

/// One draw of everything: ln content of each field-season, then of each load; minus infinity where there is no DON.
/// Counters: draw and the item, so that a content is the same whatever else is drawn.
/// @param only_loads    null: all; the others stay 0
/// @param coefficients  takes the columns' coefficients of this draw, on the log scale; null: not asked for
Eigen::VectorXd draw_contents(const Layout& layout, const Linearisation& at, const PointPosterior& point,
                              const std::vector<Eigen::MatrixXd>& block_factors, std::uint64_t seed, std::uint64_t draw,
                              const std::vector<std::size_t>* only_loads = nullptr,
                              Eigen::VectorXd* coefficients = nullptr);
/// The counter of the deviation of a load that nobody tested.
constexpr std::uint64_t stream_of_load(std::size_t load) {
    return 5 * (std::uint64_t{1} << 32) + load;
}
/// The same of its share of bought grain.
constexpr std::uint64_t stream_of_bought(std::size_t load) {
    return 4 * (std::uint64_t{1} << 32) + load;
}
std::vector<Eigen::MatrixXd> block_factors(const PointPosterior& point);

}  // namespace models::contamination
