#include "models/contamination/residual_checks.h"

#include <algorithm>
#include <cmath>

#include "models/contamination/counter_random.h"
#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"

namespace models::contamination {

namespace {

double two_sided(double z) {
    return 2.0 * normal::cdf(-std::abs(z));
}

/// The column as the readings see it: a load has the sum of its parts by their slopes.
Eigen::VectorXd column_of_sites(const Layout& layout, const Linearisation& at, const Eigen::VectorXd& by_field_season) {
    Eigen::VectorXd column = Eigen::VectorXd::Zero(static_cast<Eigen::Index>(layout.sites().size()));
    for (Eigen::Index s = 0; s < column.size(); ++s) {
        const Site& site = layout.sites()[static_cast<std::size_t>(s)];
        const GrainSample& sample = layout.input().samples[static_cast<std::size_t>(site.sample)];
        if (sample.from == SampledGrain::field_season)
            column[s] = by_field_season[static_cast<Eigen::Index>(sample.index)];
        if (sample.from != SampledGrain::load) continue;
        const GrainLoad& load = layout.input().loads[sample.index];
        for (std::size_t k = 0; k < load.parts.size(); ++k)
            column[s] += at.loads[sample.index].slope[k] *
                         by_field_season[static_cast<Eigen::Index>(load.parts[k].field_season)];
    }
    return column;
}

/// The points to try a term at: all, or of very many fields the few that weigh most.
std::vector<const AtParameters*> points_to_try(const Layout& layout, const ParameterIntegral& found) {
    constexpr std::size_t few_sites = 300, points_of_many = 4;
    std::vector<const AtParameters*> points;
    for (const AtParameters& point : found.points) points.push_back(&point);
    if (layout.sites().size() <= few_sites || points.size() <= points_of_many) return points;
    std::stable_sort(points.begin(), points.end(),
                     [](const AtParameters* a, const AtParameters* b) { return a->weight > b->weight; });
    points.resize(points_of_many);
    return points;
}

}  // namespace

double TriedTerm::chance() const {
    return sd > 0.0 ? two_sided(coefficient / sd) : 1.0;
}

TriedTerm try_term(const Layout& layout, const Linearisation& at, const ParameterIntegral& found,
                   const Eigen::VectorXd& by_field_season) {
    const Eigen::VectorXd column = column_of_sites(layout, at, by_field_season);
    const std::vector<const AtParameters*> points = points_to_try(layout, found);
    struct AtPoint {
        double weight = 0.0, mean = 0.0, variance = 0.0, slope = 0.0;
    };
    std::vector<AtPoint> tried(points.size());
    for_each_index(static_cast<int>(points.size()), layout.settings().threads, [&](int k) {
        const AtParameters& point = *points[static_cast<std::size_t>(k)];
        GaussianLaw law = layout.law(point.parameters, at);
        const Eigen::Index last = law.design.cols();
        law.design.conservativeResize(Eigen::NoChange, last + 1);
        law.design.col(last) = column;
        law.column_precision.conservativeResize(last + 1);
        law.column_precision[last] = 0.0;
        const GaussianPosterior left = posterior(law, point.sites);
        if (!left.proper) return;
        Eigen::VectorXd unit = Eigen::VectorXd::Unit(last + 1, last);
        left.beta_factor.triangularView<Eigen::Lower>().solveInPlace(unit);
        const double scale = layout.column_scale(point.parameters)[1];
        const double centre = layout.priors().flat_coefficients ? 0.0 : layout.priors().slope_mean;
        tried[static_cast<std::size_t>(k)] = {point.weight, left.beta[last], unit.squaredNorm(),
                                              centre + scale * left.beta[1]};
    });
    TriedTerm term;
    double sum = 0.0, square = 0.0;
    for (const AtPoint& one : tried) {
        sum += one.weight;
        term.coefficient += one.weight * one.mean;
        term.slope += one.weight * one.slope;
    }
    if (sum <= 0.0) return {};
    term.coefficient /= sum;
    term.slope /= sum;
    for (const AtPoint& one : tried)
        square += one.weight / sum * (one.variance + std::pow(one.mean - term.coefficient, 2));
    term.sd = std::sqrt(square);
    return term;
}

double kurtosis_z(double kurtosis, double n) {
    const double expected = 3.0 * (n - 1.0) / (n + 1.0);
    const double variance = 24.0 * n * (n - 2.0) * (n - 3.0) / ((n + 1.0) * (n + 1.0) * (n + 3.0) * (n + 5.0));
    const double x = (kurtosis - expected) / std::sqrt(variance);
    const double skew = 6.0 * (n * n - 5.0 * n + 2.0) / ((n + 7.0) * (n + 9.0)) *
                        std::sqrt(6.0 * (n + 3.0) * (n + 5.0) / (n * (n - 2.0) * (n - 3.0)));
    const double a = 6.0 + 8.0 / skew * (2.0 / skew + std::sqrt(1.0 + 4.0 / (skew * skew)));
    const double below = 1.0 + x * std::sqrt(2.0 / (a - 4.0));
    return ((1.0 - 2.0 / (9.0 * a)) - std::cbrt((1.0 - 2.0 / a) / below)) / std::sqrt(2.0 / (9.0 * a));
}

std::optional<Kurtosis> kurtosis_test(const Eigen::VectorXd& numbers) {
    if (numbers.size() < 20) return std::nullopt;
    const Eigen::ArrayXd off = numbers.array() - numbers.mean();
    const double m2 = off.square().mean();
    if (!(m2 > 0.0)) return std::nullopt;
    const double z = kurtosis_z(off.pow(4).mean() / (m2 * m2), static_cast<double>(numbers.size()));
    return Kurtosis{z, two_sided(z)};
}

SureShare share_that_is_sure(const std::vector<double>& chances, const std::vector<int>& happened) {
    constexpr double share = 0.1, least_chance = 1e-6;
    constexpr std::uint64_t draws = 9999;
    const double of_none = std::log1p(-share);
    SureShare out;
    std::vector<double> p, of_one;
    double ratio = 0.0, variance = 0.0;
    for (std::size_t i = 0; i < chances.size(); ++i) {
        p.push_back(std::max(chances[i], least_chance));
        of_one.push_back(std::log(1.0 - share + share / p[i]));
        out.happened += happened[i];
        out.foretold += p[i];
        variance += p[i] * (1.0 - p[i]);
        ratio += happened[i] != 0 ? of_one[i] : of_none;
    }
    out.sd = std::sqrt(variance);
    std::uint64_t as_large = 1;  // the one that was seen
    for (std::uint64_t draw = 0; draw < draws; ++draw) {
        double drawn = 0.0;
        for (std::size_t i = 0; i < p.size(); ++i)
            drawn += counter_uniform(2, draw, static_cast<std::uint64_t>(i)) < p[i] ? of_one[i] : of_none;
        as_large += drawn >= ratio - 1e-9 ? 1 : 0;
    }
    out.chance = static_cast<double>(as_large) / static_cast<double>(draws + 1);
    return out;
}

std::vector<std::optional<double>> together(const std::vector<std::optional<double>>& chances) {
    std::vector<std::size_t> made;
    for (std::size_t i = 0; i < chances.size(); ++i)
        if (chances[i]) made.push_back(i);
    std::stable_sort(made.begin(), made.end(), [&](std::size_t a, std::size_t b) { return *chances[a] < *chances[b]; });
    std::vector<std::optional<double>> out(chances.size());
    double least = 0.0;
    for (std::size_t rank = 0; rank < made.size(); ++rank) {
        least = std::max(least, std::min(1.0, static_cast<double>(made.size() - rank) * *chances[made[rank]]));
        out[made[rank]] = least;
    }
    return out;
}

double chance_of_squares(double sum, double n) {
    return normal::cdf(((1.0 - 2.0 / (9.0 * n)) - std::cbrt(sum / n)) / std::sqrt(2.0 / (9.0 * n)));
}

}  // namespace models::contamination
