#include "models/contamination/point_posterior.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <Eigen/Cholesky>

#include "models/contamination/counter_random.h"
#include "models/contamination/fields_without_don.h"
#include "models/contamination/quadrature.h"

namespace models::contamination {

namespace {

struct ItemLaw {
    double fixed = 0.0;         ///< mean at beta = 0, the local's shift included
    Eigen::VectorXd on_beta;    ///< how it moves with beta
    int local = -1;             ///< -1: nothing has been read of it
    double own_variance = 0.0;  ///< where there is no local
};

ItemLaw item_law(const Layout& layout, const Linearisation& at, const PointPosterior& point, const Item& item) {
    ItemLaw law;
    law.on_beta = Eigen::VectorXd::Zero(point.beta.size());
    switch (item.kind) {
        case LocalKind::field:
            law.fixed = layout.field_mean(item.index);
            for (const auto& [column, value] : layout.field_columns(item.index))
                law.on_beta[column] += value * point.column_scale[column];
            law.local = layout.local_of_field(item.index);
            break;
        case LocalKind::load:
            law.fixed = -0.5 * layout.load_variance(point.parameters);
            law.local = layout.local_of_load(item.index);
            break;
        case LocalKind::bought:
            law.fixed = layout.priors().bought_mean;
            law.local = layout.local_of_bought(item.index);
            break;
    }
    if (law.local >= 0) {
        law.fixed += point.shift[law.local];
        law.on_beta += point.gain.row(law.local).transpose();
    } else {
        law.own_variance = layout.local_variance({item.kind, static_cast<int>(item.index)}, point.parameters, at);
    }
    return law;
}

double local_covariance(const PointPosterior& point, const ItemLaw& a, const ItemLaw& b, bool same) {
    if (same && a.local < 0) return a.own_variance;
    if (a.local < 0 || b.local < 0) return 0.0;
    if (same) return point.variance[a.local];
    const auto& [block_a, place_a] = point.place[static_cast<std::size_t>(a.local)];
    const auto& [block_b, place_b] = point.place[static_cast<std::size_t>(b.local)];
    if (block_a != block_b) return 0.0;
    return point.blocks[static_cast<std::size_t>(block_a)].covariance(place_a, place_b);
}

/// The contents that go into a load, with its own deviation last, and the logs of their shares.
std::pair<std::vector<Item>, std::vector<double>> items_of_load(const Layout& layout, std::size_t load) {
    std::vector<Item> items;
    std::vector<double> log_share;
    for (const GrainShare& part : layout.input().loads[load].parts) {
        items.push_back({LocalKind::field, part.field_season});
        log_share.push_back(std::log(part.share));
    }
    if (const double bought = layout.bought_share(load); bought > 0.0) {
        items.push_back({LocalKind::bought, load});
        log_share.push_back(std::log(bought));
    }
    if (log_share.size() == 1) log_share[0] = 0.0;
    items.push_back({LocalKind::load, load});
    return {items, log_share};
}

}  // namespace

void PointPosterior::forget_covariances() {
    for (BlockCovariance& block : blocks) block.covariance.resize(0, 0);
}

PointPosterior point_posterior(const Layout& layout, const Linearisation& at, const Parameters& p,
                               const GaussianLaw& law, const GaussianPosterior& found, const GaussianSites& sites,
                               const Layout::Joined& joined, const std::vector<std::size_t>& only) {
    PointPosterior point;
    point.parameters = p;
    point.column_scale = layout.column_scale(p);
    point.beta = found.beta;
    point.beta_factor = found.beta_factor;
    point.sites = sites;
    const auto locals = static_cast<Eigen::Index>(layout.locals().size());
    point.shift = point.variance = Eigen::VectorXd::Zero(locals);
    point.gain = RowMatrix::Zero(locals, found.beta.size());
    point.place.resize(layout.locals().size(), {-1, -1});
    std::vector<bool> wanted(layout.locals().size(), only.empty());
    for (const std::size_t f : only)
        if (layout.local_of_field(f) >= 0) wanted[static_cast<std::size_t>(layout.local_of_field(f))] = true;
    Eigen::Index first = 0;
    for (std::size_t b = 0; b < law.blocks.size(); ++b) {
        const LatentBlock& block = law.blocks[b];
        const auto size = static_cast<Eigen::Index>(block.bundles.size());
        const auto f = found.f.segment(first, size);
        const auto m_design = found.m_design.middleRows(first, size);
        first += size;
        std::vector<int> members = block.locals;
        const std::vector<int>& followers = joined.blocks[b].followers;
        members.insert(members.end(), followers.begin(), followers.end());
        std::erase_if(members, [&](int local) { return !wanted[static_cast<std::size_t>(local)]; });
        if (members.empty()) continue;
        const auto count = static_cast<Eigen::Index>(members.size());
        PointPosterior::BlockCovariance& kept = point.blocks.emplace_back();
        Eigen::MatrixXd with_read;  // members x locals of the block, which are the first of all its members
        if (!only.empty()) {
            with_read = layout.local_covariance(members, block.locals, p, at, joined);
        } else {
            kept.covariance = layout.local_covariance(members, members, p, at, joined);
            with_read = kept.covariance.leftCols(static_cast<Eigen::Index>(block.locals.size()));
        }
        Eigen::MatrixXd cross = Eigen::MatrixXd::Zero(size, count);  // bundles x members
        for (Eigen::Index i = 0; i < size; ++i)
            for (const auto& [k, slope] : block.bundles[static_cast<std::size_t>(i)].loading)
                cross.row(i) += slope * with_read.col(k).transpose();
        Eigen::VectorXd variance(count);
        if (!only.empty()) {
            for (Eigen::Index k = 0; k < count; ++k) {
                const int local = members[static_cast<std::size_t>(k)];
                variance[k] = layout.local_variance(layout.locals()[static_cast<std::size_t>(local)], p, at);
            }
            if (size > 0) variance -= found.precision[b].form_diagonal(cross);
        } else {
            if (size > 0) kept.covariance -= found.precision[b].form(cross);
            variance = kept.covariance.diagonal();
        }
        const Eigen::VectorXd shift = cross.transpose() * f;
        const RowMatrix gain = -cross.transpose() * m_design;
        for (std::size_t k = 0; k < members.size(); ++k) {
            const auto row = static_cast<Eigen::Index>(k);
            point.place[static_cast<std::size_t>(members[k])] = {static_cast<int>(point.blocks.size()) - 1,
                                                                 static_cast<int>(k)};
            point.shift[members[k]] = shift[row];
            point.gain.row(members[k]) = gain.row(row);
            point.variance[members[k]] = variance[row];
        }
        kept.locals = std::move(members);
    }
    return point;
}

PointPosterior point_posterior(const Layout& layout, const Linearisation& at, const Parameters& p,
                               const GaussianSites& sites) {
    const GaussianLaw law = layout.law(p, at);
    return point_posterior(layout, at, p, law, posterior(law, sites), sites, layout.joined(p));
}

JointLaw joint_law(const Layout& layout, const Linearisation& at, const PointPosterior& point,
                   const std::vector<Item>& items) {
    const auto n = static_cast<Eigen::Index>(items.size());
    std::vector<ItemLaw> laws;
    for (const Item& item : items) laws.push_back(item_law(layout, at, point, item));
    Eigen::MatrixXd on_beta(point.beta.size(), n);
    JointLaw joint{Eigen::VectorXd(n), Eigen::MatrixXd(n, n)};
    for (Eigen::Index i = 0; i < n; ++i) {
        const ItemLaw& law = laws[static_cast<std::size_t>(i)];
        on_beta.col(i) = law.on_beta;
        joint.mean[i] = law.fixed + law.on_beta.dot(point.beta);
    }
    const Eigen::MatrixXd half = point.beta_factor.triangularView<Eigen::Lower>().solve(on_beta);
    joint.covariance.noalias() = half.transpose() * half;
    for (Eigen::Index i = 0; i < n; ++i)
        for (Eigen::Index j = 0; j < n; ++j) {
            const Item &a = items[static_cast<std::size_t>(i)], &b = items[static_cast<std::size_t>(j)];
            joint.covariance(i, j) +=
                local_covariance(point, laws[static_cast<std::size_t>(i)], laws[static_cast<std::size_t>(j)],
                                 a.kind == b.kind && a.index == b.index);
        }
    return joint;
}

LogLaw field_law(const Layout& layout, const Linearisation& at, const PointPosterior& point, std::size_t field_season) {
    const ItemLaw law = item_law(layout, at, point, {LocalKind::field, field_season});
    const Eigen::VectorXd half = point.beta_factor.triangularView<Eigen::Lower>().solve(law.on_beta);
    return {law.fixed + law.on_beta.dot(point.beta),
            std::max(half.squaredNorm() + local_covariance(point, law, law, true), 0.0)};
}

void add_load_law(const Layout& layout, const Linearisation& at, const PointPosterior& point, std::size_t load,
                  double weight, NormalMixture& into) {
    const auto [items, log_share] = items_of_load(layout, load);
    JointLaw joint = joint_law(layout, at, point, items);
    give_don(layout, point, items, joint);
    const Eigen::Index parts = joint.mean.size() - 1;
    // Each part shares the deviation of the load.
    Eigen::MatrixXd add = Eigen::MatrixXd::Zero(parts, parts + 1);
    add.leftCols(parts).setIdentity();
    add.col(parts).setOnes();
    const Eigen::VectorXd mean = add * joint.mean + Eigen::Map<const Eigen::VectorXd>(log_share.data(), parts);
    const Eigen::MatrixXd covariance = add * joint.covariance * add.transpose();
    Eigen::VectorXd some = Eigen::VectorXd::Ones(parts);  // chances that the parts hold any DON
    double none = 1.0;
    for (Eigen::Index k = 0; k < parts; ++k) {
        const Item& part = items[static_cast<std::size_t>(k)];
        if (part.kind == LocalKind::field) some[k] -= chance_without_don(layout, point, part.index);
        none *= 1.0 - some[k];
    }
    into.none += weight * none;
    weight *= 1.0 - none;
    if (parts == 1) {
        if (const ToGivenDon to = load_to_given_don(layout, point, load); to.times != 1.0) {
            // It was tested itself: from the posterior to what it is given DON in one step.
            const JointLaw before = joint_law(layout, at, point, items);
            into.add(weight, to.add + to.times * (before.mean[0] + before.mean[1]),
                     to.times * std::sqrt(std::max(before.covariance.sum(), 0.0)));
            return;
        }
        into.add(weight, mean[0], std::sqrt(std::max(covariance(0, 0), 0.0)));
        return;
    }
    Eigen::Index least_known = 0;
    const double variance = covariance.diagonal().maxCoeff(&least_known);
    const Eigen::VectorXd along = covariance.col(least_known) / std::sqrt(variance);
    const Eigen::MatrixXd left = covariance - along * along.transpose();
    const NormalRule<12>& rule = short_rule();
    for (std::size_t k = 0; k < rule.node.size(); ++k) {
        const Eigen::VectorXd centre = mean + rule.node[k] * along;
        const double top = centre.maxCoeff();  // about the largest part, so that nothing overflows
        const Eigen::VectorXd content = (centre.array() - top + 0.5 * left.diagonal().array()).exp();
        const Eigen::VectorXd expected = some.cwiseProduct(content);
        const double first = expected.sum() / (1.0 - none);
        Eigen::MatrixXd products = expected * expected.transpose();
        products.diagonal() = expected.cwiseProduct(content);
        const double second = products.cwiseProduct(left.array().exp().matrix()).sum() / (1.0 - none);
        const double spread = std::max(std::log(second / (first * first)), 0.0);
        into.add(weight * rule.weight[k], top + std::log(first) - 0.5 * spread, std::sqrt(spread));
    }
}

void linearise(const Layout& layout, const Propagation& found, const PointPosterior& point, Linearisation& at) {
    if (!layout.priors().flat_coefficients) {
        const ContaminationPriors& priors = layout.priors();
        const double slope = priors.slope_mean + priors.slope_sd * point.beta[1];
        Eigen::VectorXd unit = Eigen::VectorXd::Zero(point.beta.size());
        unit[1] = priors.slope_sd;
        point.beta_factor.triangularView<Eigen::Lower>().solveInPlace(unit);
        at.slope_squared = slope * slope + unit.squaredNorm();
    } else {
        at.slope_squared = point.beta[1] * point.beta[1];
    }
    std::fill(at.sample_variance.begin(), at.sample_variance.end(), 0.0);
    for (std::size_t s = 0; s < layout.sites().size(); ++s) {
        double& variance = at.sample_variance[static_cast<std::size_t>(layout.sites()[s].sample)];
        const double content =
            std::clamp(std::exp(found.posterior.marginal_mean[static_cast<Eigen::Index>(s)]), 1e-5, 2e4);
        variance = std::max(variance, outside_log_variance(layout.site_samples()[s], content));
    }
    for (std::size_t l = 0; l < layout.input().loads.size(); ++l) {
        auto grain = items_of_load(layout, l);
        auto& items = grain.first;
        const auto& log_share = grain.second;  // by name: clang 14 does not let a lambda see a structured binding
        items.pop_back();
        if (items.size() < 2 || layout.local_of_load(l) < 0) continue;
        const JointLaw joint = joint_law(layout, at, point, items);
        const Eigen::Index d = joint.mean.size();
        Eigen::MatrixXd covariance = joint.covariance;
        covariance.diagonal().array() += 1e-10;
        const Eigen::LLT<Eigen::MatrixXd> factor(covariance);
        const Eigen::MatrixXd lower = factor.matrixL();
        const double reach = std::sqrt(static_cast<double>(d));
        const auto log_mix = [&](const Eigen::VectorXd& x) {
            double top = -1e300, sum = 0.0;
            for (Eigen::Index i = 0; i < d; ++i) top = std::max(top, x[i] + log_share[static_cast<std::size_t>(i)]);
            for (Eigen::Index i = 0; i < d; ++i) sum += std::exp(x[i] + log_share[static_cast<std::size_t>(i)] - top);
            return top + std::log(sum);
        };
        Eigen::VectorXd difference(d);
        double mean = 0.0, square = 0.0;
        for (Eigen::Index i = 0; i < d; ++i) {
            const double up = log_mix(joint.mean + reach * lower.col(i));
            const double down = log_mix(joint.mean - reach * lower.col(i));
            difference[i] = (up - down) / (2.0 * reach);
            mean += (up + down) / static_cast<double>(2 * d);
            square += (up * up + down * down) / static_cast<double>(2 * d);
        }
        const Eigen::VectorXd slope = factor.matrixU().solve(difference);
        LoadMix& mix = at.loads[l];
        mix.slope.assign(slope.begin(), slope.end());
        mix.offset = mean - slope.dot(joint.mean);
        mix.residual = std::max(square - mean * mean - difference.squaredNorm(), 0.0);
    }
}

std::vector<Eigen::MatrixXd> block_factors(const PointPosterior& point) {
    std::vector<Eigen::MatrixXd> factors;
    for (const PointPosterior::BlockCovariance& block : point.blocks) {
        if (block.locals.empty()) {
            factors.emplace_back();
        } else if (block.locals.size() == 1) {
            factors.push_back(Eigen::MatrixXd::Constant(1, 1, std::sqrt(std::max(block.covariance(0, 0), 0.0))));
        } else {
            // Semi-definite where two loads tell everything of a third: LDLT with what is negative by rounding cut off.
            const Eigen::LDLT<Eigen::MatrixXd> factor(block.covariance);
            Eigen::MatrixXd lower = factor.matrixL();
            lower *= factor.vectorD().cwiseMax(0.0).cwiseSqrt().asDiagonal();
            factors.push_back(factor.transpositionsP().transpose() * lower);
        }
    }
    return factors;
}

Eigen::VectorXd draw_contents(const Layout& layout, const Linearisation& at, const PointPosterior& point,
                              const std::vector<Eigen::MatrixXd>& factors, std::uint64_t seed, std::uint64_t draw,
                              const std::vector<std::size_t>* only_loads, Eigen::VectorXd* coefficients) {
    const auto fields = layout.input().field_seasons.size(), loads = layout.input().loads.size();
    // Streams: one range of counters for each kind of number.
    constexpr std::uint64_t range = std::uint64_t{1} << 32;
    Eigen::VectorXd beta(point.beta.size());
    for (Eigen::Index c = 0; c < beta.size(); ++c)
        beta[c] = counter_normal(seed, draw, range + static_cast<std::uint64_t>(c));
    point.beta_factor.transpose().triangularView<Eigen::Upper>().solveInPlace(beta);
    beta += point.beta;
    if (coefficients != nullptr) *coefficients = point.column_scale.cwiseProduct(beta);
    Eigen::VectorXd local = point.shift + point.gain * beta;
    for (std::size_t b = 0; b < point.blocks.size(); ++b) {
        const std::vector<int>& members = point.blocks[b].locals;
        Eigen::VectorXd z(static_cast<Eigen::Index>(members.size()));
        for (std::size_t k = 0; k < members.size(); ++k)
            z[static_cast<Eigen::Index>(k)] =
                counter_normal(seed, draw, 2 * range + static_cast<std::uint64_t>(members[k]));
        const Eigen::VectorXd step = factors[b] * z;
        for (std::size_t k = 0; k < members.size(); ++k) local[members[k]] += step[static_cast<Eigen::Index>(k)];
    }
    const auto deviation = [&](LocalKind kind, std::size_t index, int place, std::uint64_t stream) {
        if (place >= 0) return local[place];
        const double variance = layout.local_variance({kind, static_cast<int>(index)}, point.parameters, at);
        return std::sqrt(variance) * counter_normal(seed, draw, stream);
    };
    Eigen::VectorXd log_content = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(fields + loads));
    std::vector<double> posterior_of(fields);  // before a field is said to hold DON or none
    for (std::size_t i = 0; i < fields; ++i) {
        double m = layout.field_mean(i) + deviation(LocalKind::field, i, layout.local_of_field(i), 3 * range + i);
        for (const auto& [column, value] : layout.field_columns(i))
            m += value * point.column_scale[column] * beta[column];
        posterior_of[i] = m;
        if (point.parameters.free_share > 0.0) {
            const ToGivenDon to = to_given_don(layout, point, i);
            m = to.add + to.times * m;
            if (counter_uniform(seed, draw, 6 * range + i) < chance_without_don(layout, point, i))
                m = -std::numeric_limits<double>::infinity();
        }
        log_content[static_cast<Eigen::Index>(i)] = m;
    }
    const std::size_t drawn = only_loads != nullptr ? only_loads->size() : loads;
    for (std::size_t k = 0; k < drawn; ++k) {
        const std::size_t l = only_loads != nullptr ? (*only_loads)[k] : k;
        double content = 0.0;
        for (const GrainShare& part : layout.input().loads[l].parts)
            content += part.share * std::exp(log_content[static_cast<Eigen::Index>(part.field_season)]);
        if (const double bought = layout.bought_share(l); bought > 0.0)
            content +=
                bought * std::exp(layout.priors().bought_mean +
                                  deviation(LocalKind::bought, l, layout.local_of_bought(l), stream_of_bought(l)));
        double log_grain = std::log(content);
        const ToGivenDon to = content > 0.0 ? load_to_given_don(layout, point, l) : ToGivenDon{};
        if (to.times != 1.0) log_grain = posterior_of[layout.input().loads[l].parts.front().field_season];
        const double load = log_grain - 0.5 * layout.load_variance(point.parameters) +
                            deviation(LocalKind::load, l, layout.local_of_load(l), stream_of_load(l));
        log_content[static_cast<Eigen::Index>(fields + l)] = to.add + to.times * load;
    }
    return log_content;
}

}  // namespace models::contamination
