#include "models/contamination/propagation.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include <Eigen/Cholesky>

#include "models/contamination/quadrature.h"
#include "models/spatial/kernels/kernels.h"

namespace models::contamination {

namespace {

constexpr double no_precision = 1e-10;  ///< of a site that says nothing yet
/// Settled: the last sweep moved no mean by a thousandth of its spread and no variance by a thousandth of itself (or by
/// what was asked for, where that is more).
constexpr double settled_within = 1e-3;

struct SiteMoments {
    double log_mass = 0.0, mean = 0.0, variance = 0.0;
};

/// Moments of cavity times likelihood, by nodes about a normal law.
SiteMoments moments_about(double mean, double variance, const SiteTable& table, double cavity_precision,
                          double cavity_mean) {
    using Nodes = Eigen::Array<double, 24, 1>;
    const Eigen::Map<const Nodes> x(long_rule().node.data()), log_weight(long_rule().log_weight.data());
    const Nodes z = mean + std::sqrt(variance) * x;
    Nodes log_likelihood;
    for (Eigen::Index i = 0; i < z.size(); ++i) log_likelihood[i] = table(z[i]);
    const Nodes log_term =
        log_weight + log_likelihood + 0.5 * x.square() - 0.5 * cavity_precision * (z - cavity_mean).square();
    const double top = log_term.maxCoeff();
    const Nodes weight = (log_term - top).exp();
    const double mass = weight.sum();
    const double first = (weight * x).sum() / mass, second = (weight * x.square()).sum() / mass;
    return {top + std::log(mass) + 0.5 * std::log(cavity_precision * variance), mean + std::sqrt(variance) * first,
            variance * (second - first * first)};
}

/// The nodes lie about the current marginal, which is right where the propagation has settled; where they miss the mass
/// (a surprising reading in the first sweeps) they are moved to it.
SiteMoments tilted_moments(const SiteTable& table, double mean, double variance, double cavity_precision,
                           double cavity_shift) {
    for (int move = 0;; ++move) {
        const SiteMoments moments =
            moments_about(mean, variance, table, cavity_precision, cavity_shift / cavity_precision);
        const double ratio = moments.variance / variance, off = std::abs(moments.mean - mean) / std::sqrt(variance);
        if ((ratio > 0.3 && ratio < 3.0 && off < 1.0) || move == 8) return moments;
        mean = moments.mean;
        variance = std::max(moments.variance, 0.15 * variance);
    }
}

// The cubes of a fit are here: compiled once a processor level.
template <typename Columns>
void solve_lower(const Eigen::MatrixXd& lower, Columns& columns) {
    kernels::kernel_table().forward_solve(lower.data(), static_cast<int>(lower.rows()), columns.data(),
                                          static_cast<int>(columns.cols()));
}
template <typename Columns>
void solve_lower_transposed(const Eigen::MatrixXd& lower, Columns& columns) {
    kernels::kernel_table().backward_solve(lower.data(), static_cast<int>(lower.rows()), columns.data(),
                                           static_cast<int>(columns.cols()));
}

/// What one block makes of its bundles: M, ln |I + T C| and the variances that are left.
struct SettledBlock {
    BlockPrecision precision;
    double log_determinant = 0.0;
    Eigen::VectorXd variance;
    bool proper = true;
};

SettledBlock settle_block(const Eigen::MatrixXd& c, const Eigen::VectorXd& tau) {
    SettledBlock block;
    BlockPrecision& m = block.precision;
    m.root = tau.cwiseMax(0.0).cwiseSqrt();
    Eigen::MatrixXd spread = m.root.asDiagonal() * c * m.root.asDiagonal();
    spread.diagonal().array() += 1.0;
    if (kernels::kernel_table().factor(spread.data(), static_cast<int>(spread.rows())) != -1) {
        block.proper = false;
        return block;
    }
    block.log_determinant = 2.0 * spread.diagonal().array().log().sum();
    m.lower = std::move(spread);
    Eigen::MatrixXd explained = m.root.asDiagonal() * c;
    solve_lower(m.lower, explained);
    block.variance = c.diagonal() - explained.colwise().squaredNorm().transpose();
    std::vector<Eigen::Index> widening;
    for (Eigen::Index i = 0; i < tau.size(); ++i)
        if (tau[i] < 0.0) widening.push_back(i);
    if (widening.empty()) return block;
    const auto count = static_cast<Eigen::Index>(widening.size());
    Eigen::MatrixXd covariance(c.rows(), count);  // of all sites with these, by the others
    Eigen::MatrixXd z(c.rows(), count);
    Eigen::MatrixXd minus_q(count, count);
    for (Eigen::Index k = 0; k < count; ++k) {
        const Eigen::Index site = widening[static_cast<std::size_t>(k)];
        covariance.col(k) = c.col(site) - explained.transpose() * explained.col(site);
        Eigen::VectorXd back = explained.col(site);
        solve_lower_transposed(m.lower, back);
        z.col(k) = -m.root.cwiseProduct(back);
        z(site, k) += 1.0;
    }
    for (Eigen::Index k = 0; k < count; ++k) {
        const Eigen::Index site = widening[static_cast<std::size_t>(k)];
        minus_q.row(k) = -covariance.row(site);
        minus_q(k, k) -= 1.0 / tau[site];
        block.log_determinant += std::log(-tau[site]);
    }
    const Eigen::LLT<Eigen::MatrixXd> q(0.5 * (minus_q + minus_q.transpose()));
    if (q.info() != Eigen::Success) {
        block.proper = false;
        return block;
    }
    m.widening = std::move(z);
    m.widening_lower = q.matrixL();
    block.log_determinant += 2.0 * m.widening_lower.diagonal().array().log().sum();
    const Eigen::MatrixXd wider =
        m.widening_lower.triangularView<Eigen::Lower>().solve(Eigen::MatrixXd(covariance.transpose()));
    block.variance += wider.colwise().squaredNorm().transpose();
    return block;
}

}  // namespace

Eigen::MatrixXd BlockPrecision::times(const Eigen::MatrixXd& x) const {
    if (root.size() == 0) return single * x;
    Eigen::MatrixXd y = root.asDiagonal() * x;
    solve_lower(lower, y);
    solve_lower_transposed(lower, y);
    y = root.asDiagonal() * y;
    if (widening.cols() > 0) {
        Eigen::MatrixXd step = widening.transpose() * x;
        widening_lower.triangularView<Eigen::Lower>().solveInPlace(step);
        widening_lower.triangularView<Eigen::Lower>().transpose().solveInPlace(step);
        y.noalias() -= widening * step;
    }
    return y;
}

Eigen::MatrixXd BlockPrecision::form(const Eigen::MatrixXd& x) const {
    if (root.size() == 0) return single * x.transpose() * x;
    Eigen::MatrixXd half = root.asDiagonal() * x;
    solve_lower(lower, half);
    Eigen::MatrixXd product = half.transpose() * half;
    if (widening.cols() > 0) {
        Eigen::MatrixXd wider = widening.transpose() * x;
        widening_lower.triangularView<Eigen::Lower>().solveInPlace(wider);
        product.noalias() -= wider.transpose() * wider;
    }
    return product;
}

Eigen::VectorXd BlockPrecision::form_diagonal(const Eigen::MatrixXd& x) const {
    if (root.size() == 0) return single * x.colwise().squaredNorm().transpose();
    Eigen::MatrixXd half = root.asDiagonal() * x;
    solve_lower(lower, half);
    Eigen::VectorXd diagonal = half.colwise().squaredNorm().transpose();
    if (widening.cols() > 0) {
        Eigen::MatrixXd wider = widening.transpose() * x;
        widening_lower.triangularView<Eigen::Lower>().solveInPlace(wider);
        diagonal -= wider.colwise().squaredNorm().transpose();
    }
    return diagonal;
}

namespace {

/// What the sites say together, a row a bundle: T x, then T H. Where that is sharp beside the prior it is kept divided
/// by T, which saves the digits that a difference of large numbers would lose.
struct Said {
    Eigen::VectorXd precision;  ///< T
    RowMatrix total;            ///< T x and T H
    RowMatrix sharp, dull;      ///< x and H of the sharp bundles, T x and T H of the others; 0 elsewhere
};

Said said_by_bundles(const GaussianLaw& law, const Eigen::VectorXd& precision, const Eigen::VectorXd& shift) {
    const Eigen::Index r = law.design.cols();
    Eigen::Index bundles = 0;
    for (const LatentBlock& block : law.blocks) bundles += static_cast<Eigen::Index>(block.bundles.size());
    Said said{Eigen::VectorXd::Zero(bundles), RowMatrix::Zero(bundles, 1 + r), RowMatrix::Zero(bundles, 1 + r),
              RowMatrix::Zero(bundles, 1 + r)};
    Eigen::Index row = 0;
    for (const LatentBlock& block : law.blocks) {
        for (Eigen::Index k = 0; k < static_cast<Eigen::Index>(block.bundles.size()); ++k, ++row) {
            for (const int site : block.bundles[static_cast<std::size_t>(k)].sites) {
                said.precision[row] += precision[site];
                said.total(row, 0) += shift[site];
                said.total.row(row).tail(r) += precision[site] * law.design.row(site);
            }
            if (said.precision[row] * block.covariance(k, k) > 1.0)
                said.sharp.row(row) = said.total.row(row) / said.precision[row];
            else
                said.dull.row(row) = said.total.row(row);
        }
    }
    return said;
}

/// What the local parts do once the sites have spoken, a row a bundle: f and M H, C times these, and the variance that
/// is left.
struct Settled {
    RowMatrix pulled, moved;
    Eigen::VectorXd variance;
    double log_determinant = 0.0;
    bool proper = true;
};

Settled settle_blocks(const GaussianLaw& law, const Said& said, std::vector<BlockPrecision>& precision) {
    Settled all{RowMatrix(said.total.rows(), said.total.cols()), RowMatrix(said.total.rows(), said.total.cols()),
                Eigen::VectorXd(said.total.rows())};
    Eigen::Index first = 0;
    for (std::size_t b = 0; b < law.blocks.size(); ++b) {
        const Eigen::MatrixXd& c = law.blocks[b].covariance;
        const Eigen::Index size = c.rows();
        if (size == 1) {
            const double spread = 1.0 + said.precision[first] * c(0, 0);
            all.proper = spread > 0.0;
            precision[b].single = said.precision[first] / spread;
            all.pulled.row(first) = said.total.row(first) / spread;
            all.moved.row(first) = c(0, 0) * all.pulled.row(first);
            all.variance[first] = c(0, 0) / spread;
            all.log_determinant += std::log(spread);
        } else if (size > 1) {
            SettledBlock settled = settle_block(c, said.precision.segment(first, size));
            all.proper = settled.proper;
            if (settled.proper) {
                precision[b] = std::move(settled.precision);
                const auto dull = said.dull.middleRows(first, size);
                const Eigen::MatrixXd pulled = dull + precision[b].times(said.sharp.middleRows(first, size) - c * dull);
                all.pulled.middleRows(first, size) = pulled;
                all.moved.middleRows(first, size).noalias() = c * pulled;
                all.variance.segment(first, size) = settled.variance;
                all.log_determinant += settled.log_determinant;
            }
        }
        if (!all.proper) return all;
        first += size;
    }
    return all;
}

}  // namespace

GaussianPosterior posterior(const GaussianLaw& law, const GaussianSites& sites) {
    const Eigen::Index n = law.mean.size(), r = law.design.cols();
    GaussianPosterior p;
    p.precision.resize(law.blocks.size());
    // What the sites say of their bundle's part, and about the mean.
    const Eigen::ArrayXd narrowing = 1.0 + sites.tau.array() * law.own_variance.array();
    const Eigen::VectorXd d = sites.nu - sites.tau.cwiseProduct(law.mean);
    const Eigen::VectorXd precision = sites.tau.array() / narrowing, shift = d.array() / narrowing;
    const Said said = said_by_bundles(law, precision, shift);
    const Settled settled = settle_blocks(law, said, p.precision);
    p.proper = settled.proper && (narrowing > 0.0).all();
    if (!p.proper) return p;
    p.f = settled.pulled.col(0);
    p.m_design = settled.pulled.rightCols(r);
    // Normal equations of beta: what moves it, then the matrix.
    RowMatrix equations = said.sharp.rightCols(r).transpose() * settled.pulled;
    equations.noalias() -= said.dull.rightCols(r).transpose() * settled.moved;
    RowMatrix rest(n, r);  // what beta still moves once the local parts have adapted
    Eigen::VectorXd local_mean(n), local_variance(n);
    Eigen::RowVectorXd off(1 + r);
    Eigen::Index row = 0;
    for (const LatentBlock& block : law.blocks) {
        for (const SiteBundle& bundle : block.bundles) {
            const bool alone = bundle.sites.size() == 1 && said.dull.row(row).isZero(0.0);
            for (const int site : bundle.sites) {
                rest.row(site) = law.design.row(site) - settled.moved.row(row).tail(r);
                local_mean[site] = settled.moved(row, 0);
                local_variance[site] = settled.variance[row];
                if (alone) continue;  // it lies at the mean of its bundle
                off[0] = shift[site] - precision[site] * said.sharp(row, 0);
                off.tail(r) = law.design.row(site) - said.sharp.row(row).tail(r);
                equations.col(0) += off[0] * off.tail(r).transpose();
                equations.rightCols(r).noalias() += precision[site] * off.tail(r).transpose() * off.tail(r);
            }
            ++row;
        }
    }
    Eigen::MatrixXd a = equations.rightCols(r);
    a.diagonal() += law.column_precision;
    const Eigen::LLT<Eigen::MatrixXd> a_factor(a);
    if (a_factor.info() != Eigen::Success) {
        p.proper = false;
        return p;
    }
    p.beta_factor = a_factor.matrixL();
    const Eigen::VectorXd pull = equations.col(0);
    p.beta = a_factor.solve(pull);
    // Marginals of the local parts and with them of z.
    const Eigen::MatrixXd half_rest =
        p.beta_factor.triangularView<Eigen::Lower>().solve(Eigen::MatrixXd(rest.transpose()));
    local_mean += law.mean + rest * p.beta;
    local_variance += half_rest.colwise().squaredNorm().transpose();
    p.marginal_mean = (local_mean + sites.nu.cwiseProduct(law.own_variance)).array() / narrowing;
    p.marginal_variance = (local_variance.array() / narrowing + law.own_variance.array()) / narrowing;
    p.proper = p.marginal_variance.allFinite() && p.marginal_mean.allFinite();
    double log_prior = 0.0;
    for (Eigen::Index j = 0; j < r; ++j)
        if (law.column_precision[j] > 0.0) log_prior += std::log(law.column_precision[j]);
    p.log_integral = (sites.nu.array() * law.mean.array() - 0.5 * sites.tau.array() * law.mean.array().square()).sum() +
                     0.5 * (d.array() * shift.array() * law.own_variance.array() - narrowing.log()).sum() +
                     0.5 * said.total.col(0).dot(settled.moved.col(0)) + 0.5 * pull.dot(p.beta) -
                     p.beta_factor.diagonal().array().log().sum() + 0.5 * log_prior - 0.5 * settled.log_determinant;
    return p;
}

GaussianSites starting_sites(const std::vector<SiteTable>& tables) {
    const auto n = static_cast<Eigen::Index>(tables.size());
    GaussianSites sites{Eigen::VectorXd::Constant(n, no_precision), Eigen::VectorXd::Zero(n)};
    for (Eigen::Index i = 0; i < n; ++i) {
        const SiteTable& table = tables[static_cast<std::size_t>(i)];
        if (table.start_variance() <= 0.0) continue;
        sites.tau[i] = 1.0 / table.start_variance();
        sites.nu[i] = table.start_mean() * sites.tau[i];
    }
    return sites;
}

namespace {

/// Whether fields hold no DON, as far as it is known while their sites are renewed.
class FreeState {
 public:
    explicit FreeState(const FreeFields& fields) : fields_(fields) {
        if (!any()) return;
        const auto n = static_cast<Eigen::Index>(fields.group.size());
        found_.log_odds = Eigen::VectorXd::Constant(fields.groups, std::log(fields.share) - std::log1p(-fields.share));
        found_.given_don = {Eigen::VectorXd::Zero(n), Eigen::VectorXd::Zero(n)};
        message_ = renewed_ = Eigen::VectorXd::Zero(n);
        sites_of_.assign(static_cast<std::size_t>(fields.groups), 0);
        for (const int g : fields.group)
            if (g >= 0) ++sites_of_[static_cast<std::size_t>(g)];
    }
    bool any() const { return fields_.share > 0.0; }
    bool concerns(std::size_t site) const { return any() && fields_.group[site] >= 0; }
    /// The moments of cavity times (p + (1 - p) likelihood): those of a mixture of the cavity and of what it is where
    /// there is DON. What the site now says to the others of its field has moved by `off`.
    SiteMoments moments(std::size_t s, const SiteTable& table, double cavity_precision, double cavity_shift,
                        double& off) {
        const auto i = static_cast<Eigen::Index>(s);
        const int g = fields_.group[s];
        const double cavity_mean = cavity_shift / cavity_precision, cavity_variance = 1.0 / cavity_precision;
        // The nodes lie about what was found the last time.
        const double from = cavity_precision + std::max(found_.given_don.tau[i], 0.0);
        const SiteMoments don = tilted_moments(table, (cavity_shift + found_.given_don.nu[i]) / from, 1.0 / from,
                                               cavity_precision, cavity_shift);
        found_.given_don.tau[i] = 1.0 / don.variance - cavity_precision;
        found_.given_don.nu[i] = don.mean / don.variance - cavity_shift;
        const double free = 1.0 / (1.0 + std::exp(message_[i] - found_.log_odds[g]));
        const double total = free + (1.0 - free) * std::exp(don.log_mass);
        const double none = free / total, some = 1.0 - none;
        SiteMoments all{
            std::log(total), none * cavity_mean + some * don.mean,
            none * cavity_variance + some * don.variance + none * some * std::pow(cavity_mean - don.mean, 2)};
        if (sites_of_[static_cast<std::size_t>(g)] > 1) {  // what the site has said stands in the product of all
            all.log_mass -= std::log1p(free * std::expm1(message_[i]));
            // Of the field's chance of holding none, to first order: nothing where that is certain.
            const double chance = 1.0 / (1.0 + std::exp(-found_.log_odds[g]));
            off = chance * (1.0 - chance) * std::abs(don.log_mass + message_[i]);
        }
        renewed_[i] = -don.log_mass;
        return all;
    }
    /// What the chances of the fields come to, beside the terms of the sites.
    double log_evidence() const {
        if (!any()) return 0.0;
        const double prior = std::log(fields_.share) - std::log1p(-fields_.share);
        double sum = fields_.with_don * std::log1p(-fields_.share);
        for (std::size_t g = 0; g < sites_of_.size(); ++g)
            if (sites_of_[g] > 1)
                sum += std::log1p(fields_.share * std::expm1(found_.log_odds[static_cast<Eigen::Index>(g)] - prior));
        return sum;
    }
    /// Takes what the sites now say, once all have been asked.
    void renew() {
        if (!any()) return;
        for (std::size_t s = 0; s < fields_.group.size(); ++s)
            if (concerns(s)) {
                const auto i = static_cast<Eigen::Index>(s);
                // Several sites of a field answer one another: half of the way, or they go round.
                const bool alone = sites_of_[static_cast<std::size_t>(fields_.group[s])] == 1;
                const double step = (alone ? 1.0 : 0.5) * (renewed_[i] - message_[i]);
                found_.log_odds[fields_.group[s]] += step;
                message_[i] += step;
            }
    }
    const FreeFound& found() const { return found_; }

 private:
    const FreeFields& fields_;
    FreeFound found_;
    Eigen::VectorXd message_, renewed_;  ///< by site: log odds for holding none, as it says to the others
    std::vector<int> sites_of_;
};

struct Steps {
    double damping = 1.0;  ///< share of a step that is taken
    double most_widening =
        0.5;  ///< a site may widen its cavity, to at most 1 / (1 - this) times the variance in one step
    int most_sweeps = 40;
};

Propagation sweep(const GaussianLaw& law, const std::vector<SiteTable>& tables, GaussianSites start, double tolerance,
                  const Steps& steps) {
    Propagation out;
    out.sites = std::move(start);
    double before = 1e300, damping = steps.damping;
    GaussianSites last = out.sites;
    FreeState free(law.free);
    const auto take_posterior = [&] {
        out.posterior = {};  // first: of a large season two of them are tens of megabytes
        out.posterior = posterior(law, out.sites);
    };
    for (out.sweeps = 1;; ++out.sweeps) {
        take_posterior();
        // A step too far: back half of the way to the sites before, which were proper.
        for (int halving = 0; !out.posterior.proper || !(out.posterior.marginal_variance.minCoeff() > 0.0); ++halving) {
            if (halving > 30) return out;
            damping = 0.5 * steps.damping;
            out.sites.tau = halving < 30 ? Eigen::VectorXd(0.5 * (out.sites.tau + last.tau)) : last.tau.cwiseMax(0.0);
            out.sites.nu = 0.5 * (out.sites.nu + last.nu);
            take_posterior();
        }
        double worst = 0.0, site_terms = 0.0;
        bool cavity_lost = false;  // a site that took over from all others: it has run away
        out.cavity_mean.resize(out.posterior.marginal_mean.size());
        out.cavity_variance.resize(out.posterior.marginal_mean.size());
        GaussianSites renewed = out.sites;
        for (std::size_t s = 0; s < tables.size(); ++s) {
            const auto i = static_cast<Eigen::Index>(s);
            const double mean = out.posterior.marginal_mean[i], variance = out.posterior.marginal_variance[i];
            const double tau = out.sites.tau[i], nu = out.sites.nu[i];
            const double cavity_precision = std::max(1.0 / variance - tau, 1e-6 / variance);
            cavity_lost = cavity_lost || 1.0 / variance - tau < 1e-6 / variance;
            const double cavity_shift = mean / variance - nu;
            out.cavity_mean[i] = cavity_shift / cavity_precision;
            out.cavity_variance[i] = 1.0 / cavity_precision;
            double off_free = 0.0;
            const SiteMoments moments = free.concerns(s)
                                            ? free.moments(s, tables[s], cavity_precision, cavity_shift, off_free)
                                            : tilted_moments(tables[s], mean, variance, cavity_precision, cavity_shift);
            const double precision = 1.0 / std::max(moments.variance, 1e-3 * variance) - cavity_precision;
            const double kept = std::max(precision, -steps.most_widening * cavity_precision);
            // Where the precision is held, the mean is still matched.
            renewed.tau[i] = kept;
            renewed.nu[i] = moments.mean * (cavity_precision + kept) - cavity_shift;
            const double off_mean = std::abs(moments.mean - mean) / std::sqrt(variance);
            const double off_variance = kept > precision ? 0.0 : std::abs(moments.variance / variance - 1.0);
            worst = std::max({worst, off_mean, off_variance, off_free});
            const double total = cavity_precision + tau;
            const double shift = cavity_shift + nu;
            site_terms += moments.log_mass - (0.5 * std::log(cavity_precision / total) + 0.5 * shift * shift / total -
                                              0.5 * cavity_shift * cavity_shift / cavity_precision);
        }
        out.log_evidence = out.posterior.log_integral + site_terms + free.log_evidence();
        free.renew();
        if (!std::isfinite(worst) || !std::isfinite(out.log_evidence)) {
            out.log_evidence = -1e300;
            return out;
        }
        out.free = free.found();
        out.settled = worst < std::max(tolerance, settled_within) && !cavity_lost;
        out.finite = !cavity_lost;
        if (worst < tolerance) out.sites = std::move(renewed);  // one step nearer, for nothing
        if (worst < tolerance || out.sweeps >= steps.most_sweeps) return out;
        // Small steps come near slowly without going to and fro.
        const double nearer = steps.damping < 1.0 ? 1.0 : 0.9;
        if (worst > nearer * before) damping = std::max(0.7 * damping, 0.3 * steps.damping);
        before = worst;
        last = out.sites;
        out.sites.tau += damping * (renewed.tau - out.sites.tau);
        out.sites.nu += damping * (renewed.nu - out.sites.nu);
    }
}

}  // namespace

Propagation propagate(const GaussianLaw& law, const std::vector<SiteTable>& tables, GaussianSites start,
                      double tolerance, int most_sweeps) {
    Propagation found = sweep(law, tables, std::move(start), tolerance, {1.0, 0.5, most_sweeps});
    if (found.settled) return found;
    // From the readings alone, in small steps and with sites that never widen: always proper.
    Propagation careful = sweep(law, tables, starting_sites(tables), tolerance, {0.3, 0.0, 12 * most_sweeps});
    return careful.settled || !found.finite ? careful : found;
}

}  // namespace models::contamination
