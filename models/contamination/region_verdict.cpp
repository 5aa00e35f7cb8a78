#include "models/contamination/region_verdict.h"

#include <algorithm>
#include <cmath>
#include <numeric>
#include <vector>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spoken.h"

namespace models::contamination {

namespace {

constexpr double enough_evidence = 3.0;
constexpr int fewest_foretold = 5;
constexpr double told_from = 0.8;  ///< of the prior's spread of ln range: what is narrower was told by results

Eigen::VectorXd foretold(const ParameterIntegral& found) {
    Eigen::VectorXd mean = Eigen::VectorXd::Zero(found.points.front().cavity_mean.size());
    for (const AtParameters& point : found.points) mean += point.weight * point.cavity_mean;
    return mean;
}

/// Sites whose readings are values of a placed field that has no other site: leaving them out leaves the field to the
/// others.
std::vector<std::size_t> sites_to_foretell(const Layout& layout) {
    std::vector<int> sites_of_local(layout.locals().size(), 0);
    for (const Site& site : layout.sites())
        for (const auto& [local, slope] : site.locals) ++sites_of_local[static_cast<std::size_t>(local)];
    std::vector<std::size_t> chosen;
    for (std::size_t s = 0; s < layout.sites().size(); ++s) {
        const Site& site = layout.sites()[s];
        if (site.locals.size() != 1) continue;
        const int local = site.locals.front().first;
        if (sites_of_local[static_cast<std::size_t>(local)] != 1 || layout.region_place(local).group < 0) continue;
        if (std::all_of(site.results.begin(), site.results.end(), [&](int r) {
                return layout.input().results[static_cast<std::size_t>(r)].reading == Reading::value;
            }))
            chosen.push_back(s);
    }
    return chosen;
}

void score_leave_one_out(const Layout& layout, const ParameterIntegral& with, const ParameterIntegral& without,
                         Learnt::Region& region) {
    const std::vector<std::size_t> sites = sites_to_foretell(layout);
    region.leave_one_out_fields = static_cast<int>(sites.size());
    if (region.leave_one_out_fields < fewest_foretold) return;
    const Eigen::VectorXd by_region = foretold(with), by_rest = foretold(without);
    double error_with = 0.0, error_without = 0.0;
    for (const std::size_t s : sites) {
        const double read = layout.tables()[s].start_mean();
        error_with += std::pow(read - by_region[static_cast<Eigen::Index>(s)], 2);
        error_without += std::pow(read - by_rest[static_cast<Eigen::Index>(s)], 2);
    }
    region.leave_one_out_skill = 1.0 - error_with / error_without;
}

void say_range(const ContaminationPriors& priors, const ParameterIntegral& with, Learnt::Region& region) {
    std::vector<std::pair<double, double>> ranges;  // log, weight
    for (const AtParameters& point : with.points) ranges.push_back({std::log(point.parameters.range_m), point.weight});
    std::sort(ranges.begin(), ranges.end());
    const auto quantile = [&](double p) {
        double sum = 0.0;
        for (const auto& [log_range, weight] : ranges)
            if ((sum += weight) >= p) return std::exp(log_range);
        return std::exp(ranges.back().first);
    };
    region.range_median_m = quantile(0.5);
    region.range_low90_m = quantile(0.05);
    region.range_high90_m = quantile(0.95);
    double mean = 0.0, square = 0.0;
    for (const auto& [log_range, weight] : ranges) mean += weight * log_range;
    for (const auto& [log_range, weight] : ranges) square += weight * std::pow(log_range - mean, 2);
    region.range_told = priors.fixed.active || std::sqrt(square) < told_from * priors.range_spread;
}

std::string odds_in_words(double ratio) {
    const auto number = [](double x) {
        return x > 999.5 ? phrase("more than 1000") : said(fmt::format("{:.{}f}", x, x < 9.95 ? 1 : 0));
    };
    return ratio >= 1.0 ? phrase("{} to 1 for it", number(ratio)) : phrase("{} to 1 against it", number(1.0 / ratio));
}

}  // namespace

std::string sentence_of(const Learnt::Region& region) {
    std::string foretelling;
    if (region.leave_one_out_skill) {
        const double percent = 100.0 * *region.leave_one_out_skill;
        const double by = std::abs(percent);
        foretelling =
            percent < 0.0
                ? phrase("; results of {} fields foretold by the others with a squared error {:.0f} % larger",
                         region.leave_one_out_fields, by)
                : phrase("; results of {} fields foretold by the others with a squared error {:.0f} % smaller",
                         region.leave_one_out_fields, by);
    } else {
        foretelling = phrase("; {} with a single value: too few to foretell one by the others",
                             counted(region.leave_one_out_fields, phrase("field"), phrase("fields")));
    }
    const std::string odds = odds_in_words(region.evidence_ratio);
    return region.supported ? phrase("supported: evidence {}{}", odds, foretelling)
                            : phrase("not supported: evidence {}{}", odds, foretelling);
}

namespace {

/// Where the parameters lie without a regional effect: about where the same ones lie with it, but less surely, for what
/// the regions do not take falls to the fields.
RoughLaw without_region(const RoughLaw& with) {
    constexpr double wider = 2.0;
    std::vector<Eigen::Index> kept;
    for (Eigen::Index i = 0; i < with.centre.size(); ++i)
        if (i < Parameters::without_region || i >= Parameters::count) kept.push_back(i);
    return {with.centre(kept), wider * with.covariance(kept, kept)};
}

}  // namespace

void judge_region(ContaminationModel::State& state, const ParameterIntegral& with, const Progress& progress) {
    const Layout& layout = state.layout;
    Linearisation at = state.linearisation;
    Parameters none = layout.fixed_parameters();
    none.region_sd = 0.0;
    const ParameterIntegral without =
        layout.priors().fixed.active
            ? at_fixed_parameters(layout, none, at)
            : integrate(layout, layout.dimensions_without_region(), at, progress, without_region(with.law));
    Learnt::Region region;
    region.evidence_ratio = std::exp(
        std::clamp(with.log_evidence - with.penalty - (without.log_evidence - without.penalty), -300.0, 300.0));
    score_leave_one_out(layout, with, without, region);
    say_range(layout.priors(), with, region);
    if (with.range_untold) region.range_told = false;
    region.supported = region.evidence_ratio >= enough_evidence && region.leave_one_out_skill.value_or(0.0) >= 0.0;
    region.sentence = sentence_of(region);
    if (!region.range_told && with.way != ParameterWay::restricted)
        state.learnt.notes.push_back(fmt::format(
            "How far fields of a region are alike cannot be told from these results: the range is {:.0f} km, "
            "{:.1f} to {:.0f} km, and was {:.0f} km, times or divided by {:.1f}, before them.",
            region.range_median_m / 1000.0, region.range_low90_m / 1000.0, region.range_high90_m / 1000.0,
            layout.priors().range_median_m / 1000.0, std::exp(layout.priors().range_spread)));
    state.learnt.region = std::move(region);
}

}  // namespace models::contamination
