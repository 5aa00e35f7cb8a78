#include <algorithm>
#include <cmath>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "models/contamination/model_state.h"

namespace models::contamination {

namespace {

/// Told where it can make the low end of an interval nothing at all.
void say_free_share(ContaminationModel::State& state) {
    constexpr double worth_telling = 0.05;
    std::vector<std::pair<double, double>> shares;  // and their weights
    for (const PointPosterior& point : state.points) shares.push_back({point.parameters.free_share, point.weight});
    std::sort(shares.begin(), shares.end());
    const auto quantile = [&](double p) {
        double sum = 0.0;
        for (const auto& [share, weight] : shares)
            if ((sum += weight) >= p) return share;
        return shares.back().first;
    };
    const double mean = state.learnt.parameters.back().mean;
    if (mean < worth_telling) return;
    std::string spread;  // none of a single point
    if (shares.size() > 1)
        spread = fmt::format(" ({:.0f} to {:.0f} %)", 100.0 * quantile(0.05), 100.0 * quantile(0.95));
    state.learnt.notes.push_back(fmt::format(
        "A share of about {:.0f} % of the fields{} seems to hold no DON at all: fields without a result, and "
        "those whose results are all below the range, may be among them.",
        100.0 * mean, spread));
}

}  // namespace

void say_what_was_learnt(ContaminationModel::State& state) {
    const Layout& layout = state.layout;
    const ContaminationPriors& priors = layout.priors();
    Learnt& learnt = state.learnt;
    const auto of_column = [&](const char* name, int column, double centre) {
        const NormalMixture mixture = column_mixture(state, column);
        learnt.parameters.push_back({name, centre + mixture.expectation(), std::sqrt(mixture.variance())});
    };
    of_column("level", 0, priors.flat_coefficients ? 0.0 : priors.level_mean);
    of_column("slope", 1, priors.flat_coefficients ? 0.0 : priors.slope_mean);
    const auto of_parameter = [&](const char* name, double Parameters::*which) {
        double mean = 0.0, square = 0.0;
        for (const PointPosterior& point : state.points) mean += point.weight * point.parameters.*which;
        for (const PointPosterior& point : state.points)
            square += point.weight * std::pow(point.parameters.*which - mean, 2);
        learnt.parameters.push_back({name, mean, std::sqrt(square)});
    };
    of_parameter("season_sd", &Parameters::season_sd);
    of_parameter("field_sd", &Parameters::field_sd);
    of_parameter("within_sd", &Parameters::within_sd);
    of_parameter("lot_sd", &Parameters::lot_sd);
    if (layout.regional()) {
        of_parameter("region_sd", &Parameters::region_sd);
        of_parameter("range_m", &Parameters::range_m);
    }
    if (layout.learns_free_share()) {
        of_parameter("free_share", &Parameters::free_share);
        say_free_share(state);
    }
    for (std::size_t y = 0; y < layout.seasons().size(); ++y) {
        Learnt::Season season;
        season.season = layout.seasons()[y];
        for (std::size_t i = 0; i < layout.input().field_seasons.size(); ++i)
            if (layout.season_of(i) == static_cast<int>(y)) season.tests += layout.field_tests(i);
        const NormalMixture effect = column_mixture(state, *layout.column_of(ColumnKind::season, static_cast<int>(y)));
        season.factor = std::exp(effect.quantile(0.5));
        season.low90 = std::exp(effect.quantile(0.05));
        season.high90 = std::exp(effect.quantile(0.95));
        learnt.seasons.push_back(season);
    }
    for (std::size_t r = 0; r < layout.input().ratios.size(); ++r) {
        const auto column = layout.column_of(ColumnKind::ratio, static_cast<int>(r));
        if (!column) continue;
        const PublishedRatio& published = layout.input().ratios[r];
        const NormalMixture off = column_mixture(state, *column);  // from the published value
        Learnt::Ratio& ratio = learnt.ratios.emplace_back();
        ratio.what = published.what;
        ratio.factor = std::exp(published.log_ratio + off.quantile(0.5));
        ratio.low90 = std::exp(published.log_ratio + off.quantile(0.05));
        ratio.high90 = std::exp(published.log_ratio + off.quantile(0.95));
        for (const FieldSeason& f : layout.input().field_seasons)
            ratio.fields += static_cast<int>(std::count(f.ratios.begin(), f.ratios.end(), r));
    }
    if (learnt.unsettled > 0)
        learnt.notes.push_back(
            fmt::format("The readings' factors did not settle at {} of {} values of the standard deviations; "
                        "their part of the result is approximate.",
                        learnt.unsettled, state.points.size()));
    if (!priors.fixed.active && learnt.effective_points < state.enough_effective)
        learnt.notes.push_back(fmt::format("The standard deviations are averaged over {:.0f} effective values only.",
                                           learnt.effective_points));
}

}  // namespace models::contamination
