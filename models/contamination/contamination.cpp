#include "models/contamination/contamination.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/mixture_content.h"
#include "models/contamination/model_state.h"
#include "models/contamination/normal.h"
#include "models/contamination/parallel.h"
#include "models/contamination/quadrature.h"
#include "models/error.h"

namespace models {

namespace con = contamination;

namespace {

/// Composite, kit lot, stage and assay of a test that is not made yet.
struct FutureReading {
    double shift = 0.0, spread = 0.0;  ///< ln of what the strip sees about ln of the field mean: N(shift, spread^2)
    double low = 0.0, per_step = 0.0;
    std::vector<double> assay_variance;  ///< log variance by ln content

    double variance_at(double log_content) const {
        const double last = static_cast<double>(assay_variance.size() - 1);
        const double at = std::clamp((log_content - low) * per_step, 0.0, last - 1e-9);
        const auto i = static_cast<std::size_t>(at);
        return assay_variance[i] + (at - static_cast<double>(i)) * (assay_variance[i + 1] - assay_variance[i]);
    }
    template <typename AtContent>
    double average(double true_mg_per_kg, const AtContent& at_content) const {
        const con::NormalRule<12>& rule = con::short_rule();
        double sum = 0.0;
        for (std::size_t i = 0; i < rule.node.size(); ++i) {
            const double log_content = std::log(true_mg_per_kg) + shift + spread * rule.node[i];
            const double q = variance_at(log_content);
            sum += rule.weight[i] * at_content(log_content - 0.5 * q, std::sqrt(q));
        }
        return sum;
    }
    double probability(const PossibleReading& reading, double true_mg_per_kg) const {
        if (!(true_mg_per_kg > 0.0))  // no DON reads below whatever end the range has
            return reading.reading == Reading::below || !(reading.don_mg_per_kg > 0.0) ? 1.0 : 0.0;
        if (!(reading.don_mg_per_kg > 0.0)) return 0.0;
        const double log_y = std::log(reading.don_mg_per_kg);
        return average(true_mg_per_kg, [&](double mean, double sd) {
            const double z = (log_y - mean) / sd;
            if (reading.reading == Reading::below) return normal::cdf(z);
            if (reading.reading == Reading::above) return normal::cdf(-z);
            return normal::density(z) / (sd * reading.don_mg_per_kg);
        });
    }
    double draw(double true_mg_per_kg, double u, double v) const {
        const double log_content = std::log(true_mg_per_kg) + shift + spread * normal::quantile(u);
        const double q = variance_at(log_content);
        return std::exp(log_content - 0.5 * q + std::sqrt(q) * normal::quantile(v));
    }
};

}  // namespace

bool ContaminationModel::ranking_only() const {
    return state_->points.empty();
}

std::vector<std::size_t> ContaminationModel::ranking(int season) const {
    const con::Layout& layout = state_->layout;
    std::vector<std::size_t> order;
    std::vector<double> suspect(layout.input().field_seasons.size());
    for (std::size_t i = 0; i < suspect.size(); ++i) {
        if (layout.input().field_seasons[i].season != season) continue;
        order.push_back(i);
        if (ranking_only()) {
            suspect[i] = layout.risk(i);
            continue;
        }
        // By the log of the content if there is DON, and of the chance that there is.
        const con::NormalMixture content = con::field_mixture(*state_, i);
        suspect[i] = content.expectation() + std::log1p(-content.none);
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return suspect[a] > suspect[b]; });
    return order;
}

std::optional<Content> ContaminationModel::field_season(std::size_t index) const {
    if (ranking_only()) return std::nullopt;
    Content content = con::content_of(con::field_mixture(*state_, index));
    content.tests = state_->layout.field_tests(index);
    content.risk_unknown = state_->layout.risk_unknown(index);
    content.chosen_outside = state_->layout.chosen_outside(index);
    content.contradicted = state_->layout.contradicted(SampledGrain::field_season, index);
    return content;
}

std::optional<Content> ContaminationModel::load(std::size_t index) const {
    if (ranking_only()) return std::nullopt;
    Content content = con::content_of(con::load_mixture(*state_, index));
    content.tests = state_->layout.load_tests(index);
    for (const GrainShare& part : state_->layout.input().loads[index].parts) {
        content.tests += state_->layout.field_tests(part.field_season);
        content.risk_unknown = content.risk_unknown || state_->layout.risk_unknown(part.field_season);
        content.chosen_outside = content.chosen_outside || state_->layout.chosen_outside(part.field_season);
    }
    content.contradicted = state_->layout.contradicted(SampledGrain::load, index);
    return content;
}

std::optional<double> ContaminationModel::exceedance(std::size_t field_season, double limit_mg_per_kg) const {
    if (ranking_only()) return std::nullopt;
    return con::share_over(con::field_mixture(*state_, field_season), limit_mg_per_kg);
}

std::optional<double> ContaminationModel::load_exceedance(std::size_t load, double limit_mg_per_kg) const {
    if (ranking_only()) return std::nullopt;
    return con::share_over(con::load_mixture(*state_, load), limit_mg_per_kg);
}

Eigen::MatrixXd ContaminationModel::draws(int n, std::uint64_t seed) const {
    if (ranking_only())
        throw Error("there is no DON result to draw contents from", "",
                    "import tests, or use the ranking by disease risk");
    const State& state = *state_;
    const auto columns =
        static_cast<Eigen::Index>(state.layout.input().field_seasons.size() + state.layout.input().loads.size());
    const std::vector<std::vector<int>> of_point = con::draws_of_points(state, n, seed);
    Eigen::MatrixXd contents(n, columns);
    con::for_each_index(static_cast<int>(state.points.size()), state.layout.settings().threads, [&](int k) {
        const con::PointPosterior& point = state.points[static_cast<std::size_t>(k)];
        if (of_point[static_cast<std::size_t>(k)].empty()) return;
        const std::vector<Eigen::MatrixXd> factors =
            con::block_factors(state.loads_of_point.empty() ? point
                                                            : con::point_posterior(state.layout, state.linearisation,
                                                                                   point.parameters, point.sites));
        for (const int i : of_point[static_cast<std::size_t>(k)])
            contents.row(i) = con::draw_contents(state.layout, state.linearisation, point, factors, seed,
                                                 static_cast<std::uint64_t>(i) + 1)
                                  .array()
                                  .exp()
                                  .transpose();
    });
    return contents;
}

const Learnt& ContaminationModel::learnt() const {
    return state_->learnt;
}

ReadingSpread ContaminationModel::reading_spread(const TestDesign& design) const {
    const State& state = *state_;
    const con::Layout& layout = state.layout;
    ReadingSpread spread;
    for (const con::PointPosterior& point : state.points) {
        spread.composite += point.weight * con::variance_of_mean_of(design.increments, point.parameters.within_sd);
        spread.lot += point.weight * point.parameters.lot_sd * point.parameters.lot_sd;
    }
    if (state.points.empty())
        spread.composite = con::variance_of_mean_of(design.increments, layout.priors().within_sd_median);
    if (design.stage != Stage::standing) return spread;
    spread.stage_variance = layout.priors().standing_offset_sd * layout.priors().standing_offset_sd;
    if (const auto column = layout.column_of(con::ColumnKind::standing); column && !state.points.empty()) {
        const con::NormalMixture offset = con::column_mixture(state, *column);
        spread.stage_mean = offset.expectation();
        spread.stage_variance = offset.variance();
    }
    return spread;
}

ReadingLaw ContaminationModel::reading_law(const TestDesign& design) const {
    const ContaminationSettings& settings = state_->layout.settings();
    return models::reading_law(design, reading_spread(design), settings.strip_error, settings.laboratory_error);
}

ReadingLaw reading_law(const TestDesign& design, const ReadingSpread& spread, const ErrorModel& strip_error,
                       const ErrorModel& laboratory_error) {
    auto future = std::make_shared<FutureReading>();
    future->shift = spread.stage_mean - 0.5 * spread.composite;
    future->spread = std::sqrt(spread.composite + spread.lot + spread.stage_variance);
    const ErrorModel& error = design.method == Method::strip ? strip_error : laboratory_error;
    future->low = std::log(1e-5);
    future->per_step = 100.0;
    const auto count = static_cast<std::size_t>(std::log(2e9) * future->per_step) + 2;
    for (std::size_t i = 0; i < count; ++i) {
        const double content = std::exp(future->low + static_cast<double>(i) / future->per_step);
        RelativeVariance v = relative_variance(content, {design.mass_g, design.portion_g, 1}, error);
        v.sampling = relative_variance(content, {design.mass_g, std::nullopt, 1}, strip_error).sampling;
        future->assay_variance.push_back(log_variance(v).total());
    }
    ReadingLaw law;
    law.log_density = [future](const PossibleReading& reading, const Eigen::ArrayXd& true_mg_per_kg) {
        Eigen::ArrayXd log_density(true_mg_per_kg.size());
        for (Eigen::Index i = 0; i < log_density.size(); ++i)
            log_density[i] = std::log(std::max(future->probability(reading, true_mg_per_kg[i]), 1e-300));
        return log_density;
    };
    law.sample = [future, design](double true_mg_per_kg, double u, double v) {
        const double y = future->draw(true_mg_per_kg, u, v);
        if (design.low_mg_per_kg > 0.0 && y < design.low_mg_per_kg)
            return PossibleReading{Reading::below, design.low_mg_per_kg};
        if (design.high_mg_per_kg > 0.0 && y > design.high_mg_per_kg)
            return PossibleReading{Reading::above, design.high_mg_per_kg};
        return PossibleReading{Reading::value, y};
    };
    return law;
}

}  // namespace models
