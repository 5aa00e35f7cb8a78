#include "models/contamination/fields_without_don.h"

#include <algorithm>
#include <cmath>

#include <Eigen/LU>

namespace models::contamination {

namespace {

/// Weighted sums of columns and locals: a field, its loads, what its sites hang on.
struct SumsOfLatents {
    Eigen::VectorXd fixed;
    Eigen::MatrixXd on_beta;    ///< columns x sums
    std::vector<Terms> locals;  ///< by sum
};

JointLaw law_of_sums(const SumsOfLatents& sums, const PointPosterior& point) {
    const Eigen::Index n = sums.fixed.size();
    Eigen::MatrixXd on_beta = sums.on_beta;
    JointLaw law{sums.fixed, Eigen::MatrixXd::Zero(n, n)};
    for (Eigen::Index i = 0; i < n; ++i)
        for (const auto& [local, slope] : sums.locals[static_cast<std::size_t>(i)]) {
            law.mean[i] += slope * point.shift[local];
            on_beta.col(i) += slope * point.gain.row(local).transpose();
        }
    law.mean += on_beta.transpose() * point.beta;
    const auto of_locals = [&](int a, int b) {
        if (a == b) return point.variance[a];
        const auto& [block_a, place_a] = point.place[static_cast<std::size_t>(a)];
        const auto& [block_b, place_b] = point.place[static_cast<std::size_t>(b)];
        return block_a == block_b ? point.blocks[static_cast<std::size_t>(block_a)].covariance(place_a, place_b) : 0.0;
    };
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j)
            for (const auto& [a, slope_a] : sums.locals[static_cast<std::size_t>(i)])
                for (const auto& [b, slope_b] : sums.locals[static_cast<std::size_t>(j)])
                    law.covariance(i, j) += slope_a * slope_b * of_locals(a, b);
    const Eigen::MatrixXd half = point.beta_factor.triangularView<Eigen::Lower>().solve(on_beta);
    law.covariance.noalias() += half.transpose() * half;
    return law;
}

/// Factors on the last sums of a law: exp(-precision x^2 / 2 + shift x), times the law.
JointLaw with_factors(const JointLaw& law, const Eigen::VectorXd& precision, const Eigen::VectorXd& shift) {
    const Eigen::Index k = precision.size();
    const Eigen::MatrixXd with_read = law.covariance.rightCols(k);
    const Eigen::MatrixXd read = law.covariance.bottomRightCorner(k, k);
    const Eigen::MatrixXd identity = Eigen::MatrixXd::Identity(k, k);
    const Eigen::PartialPivLU<Eigen::MatrixXd> factor(identity + precision.asDiagonal() * read);
    const Eigen::VectorXd pull = shift - precision.cwiseProduct(law.mean.tail(k));
    return {law.mean + with_read * factor.solve(pull),
            law.covariance - with_read * factor.solve(Eigen::MatrixXd(precision.asDiagonal())) * with_read.transpose()};
}

LogLaw one_of(const JointLaw& law, Eigen::Index i) {
    return {law.mean[i], std::max(law.covariance(i, i), 0.0)};
}

ToGivenDon from_to(const LogLaw& from, const LogLaw& to) {
    const double times = from.variance > 0.0 ? std::sqrt(to.variance / from.variance) : 1.0;
    return {to.mean - times * from.mean, times};
}

}  // namespace

void tell_maybe_free(const Layout& layout, const GaussianLaw& law, const FreeFound& found, PointPosterior& point) {
    if (!(point.parameters.free_share > 0.0)) return;
    const std::vector<Layout::MaybeFree>& fields = layout.maybe_free();
    point.given_don = point.sites;
    const double share = point.parameters.free_share;
    const double prior_log_odds = std::log(share) - std::log1p(-share);
    for (std::size_t g = 0; g < fields.size(); ++g) {
        PointPosterior::MaybeFree& told = point.maybe_free.emplace_back();
        const Layout::MaybeFree& field = fields[g];
        const auto sites = static_cast<Eigen::Index>(field.sites.size());
        const auto loads = static_cast<Eigen::Index>(field.loads.size());
        const Eigen::Index n = 1 + loads + sites;
        SumsOfLatents sums{Eigen::VectorXd::Zero(n), Eigen::MatrixXd::Zero(point.beta.size(), n), {}};
        const int local = layout.local_of_field(field.field_season);
        for (Eigen::Index i = 0; i <= loads; ++i) {
            sums.fixed[i] = layout.field_mean(field.field_season);
            for (const auto& [column, value] : layout.field_columns(field.field_season))
                sums.on_beta(column, i) += value * point.column_scale[column];
            Terms& locals = sums.locals.emplace_back(Terms{{local, 1.0}});
            if (i == 0) continue;
            sums.fixed[i] -= 0.5 * layout.load_variance(point.parameters);
            locals.push_back({layout.local_of_load(field.loads[static_cast<std::size_t>(i - 1)]), 1.0});
        }
        // What a site's factor says of its sum of latents, its own deviation integrated.
        const auto factors_of = [&](const GaussianSites& of) {
            GaussianSites on_sums{Eigen::VectorXd(sites), Eigen::VectorXd(sites)};
            for (Eigen::Index k = 0; k < sites; ++k) {
                const int s = field.sites[static_cast<std::size_t>(k)];
                const double narrowing = 1.0 + of.tau[s] * law.own_variance[s];
                on_sums.tau[k] = of.tau[s] / narrowing;
                on_sums.nu[k] = of.nu[s] / narrowing;
            }
            return on_sums;
        };
        for (const int s : field.sites) {
            const auto i = static_cast<Eigen::Index>(sums.locals.size());
            sums.fixed[i] = law.mean[s];
            sums.on_beta.col(i) = law.design.row(s).transpose();
            sums.locals.push_back(layout.sites()[static_cast<std::size_t>(s)].locals);
        }
        const JointLaw all = law_of_sums(sums, point);
        const GaussianSites now = factors_of(point.sites);
        const JointLaw others = with_factors(all, -now.tau, -now.nu);
        told.log_odds = prior_log_odds;
        if (sites == 1 && found.log_odds.size() > 0) {
            const int s = field.sites.front();
            point.given_don.tau[s] = found.given_don.tau[s];
            point.given_don.nu[s] = found.given_don.nu[s];
            told.log_odds = found.log_odds[static_cast<Eigen::Index>(g)];
        } else {
            GaussianLaw alone;
            alone.mean = others.mean.tail(sites);
            alone.design = RowMatrix::Zero(sites, 1);
            alone.column_precision = Eigen::VectorXd::Ones(1);
            alone.own_variance.resize(sites);
            LatentBlock& block = alone.blocks.emplace_back();
            block.covariance = others.covariance.bottomRightCorner(sites, sites);
            std::vector<SiteTable> tables;
            for (Eigen::Index k = 0; k < sites; ++k) {
                const int s = field.sites[static_cast<std::size_t>(k)];
                alone.own_variance[k] = law.own_variance[s];
                tables.push_back(layout.tables()[static_cast<std::size_t>(s)]);
                block.bundles.push_back({{static_cast<int>(k)}, {}});
            }
            const Propagation given = propagate(alone, tables, starting_sites(tables), 1e-4, 40);
            told.log_odds -= given.log_evidence;
            for (Eigen::Index k = 0; k < sites; ++k) {
                const int s = field.sites[static_cast<std::size_t>(k)];
                point.given_don.tau[s] = given.sites.tau[k];
                point.given_don.nu[s] = given.sites.nu[k];
            }
        }
        const GaussianSites then = factors_of(point.given_don);
        const JointLaw given = with_factors(others, then.tau, then.nu);
        told.given_don = from_to(one_of(all, 0), one_of(given, 0));
        for (Eigen::Index i = 1; i <= loads; ++i)
            told.loads_given_don.push_back(from_to(one_of(all, i), one_of(given, i)));
    }
}

double chance_without_don(const Layout& layout, const PointPosterior& point, std::size_t field_season) {
    const double share = point.parameters.free_share;
    const int group = layout.maybe_free_of(field_season);
    if (!(share > 0.0) || group == Layout::holds_don) return 0.0;
    if (group == Layout::untested || point.maybe_free.empty()) return share;
    return 1.0 / (1.0 + std::exp(-point.maybe_free[static_cast<std::size_t>(group)].log_odds));
}

ToGivenDon to_given_don(const Layout& layout, const PointPosterior& point, std::size_t field_season) {
    const int group = layout.maybe_free_of(field_season);
    if (group < 0 || point.maybe_free.empty()) return {};
    return point.maybe_free[static_cast<std::size_t>(group)].given_don;
}

ToGivenDon load_to_given_don(const Layout& layout, const PointPosterior& point, std::size_t load) {
    const std::vector<GrainShare>& parts = layout.input().loads[load].parts;
    if (parts.empty() || point.maybe_free.empty()) return {};
    const int group = layout.maybe_free_of(parts.front().field_season);
    if (group < 0) return {};
    const std::vector<std::size_t>& loads = layout.maybe_free()[static_cast<std::size_t>(group)].loads;
    const auto found = std::find(loads.begin(), loads.end(), load);
    if (found == loads.end()) return {};
    return point.maybe_free[static_cast<std::size_t>(group)]
        .loads_given_don[static_cast<std::size_t>(found - loads.begin())];
}

void give_don(const Layout& layout, const PointPosterior& point, const std::vector<Item>& items, JointLaw& law) {
    for (std::size_t k = 0; k < items.size(); ++k) {
        if (items[k].kind != LocalKind::field) continue;
        const ToGivenDon to = to_given_don(layout, point, items[k].index);
        const auto i = static_cast<Eigen::Index>(k);
        law.mean[i] = to.add + to.times * law.mean[i];
        law.covariance.row(i) *= to.times;
        law.covariance.col(i) *= to.times;
    }
}

}  // namespace models::contamination
