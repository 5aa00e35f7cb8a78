#include "models/contamination/contamination.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "models/contamination/counter_random.h"
#include "models/contamination/layout.h"
#include "models/contamination/normal_mixture.h"
#include "models/contamination/parallel.h"
#include "models/contamination/parameter_points.h"
#include "models/contamination/point_posterior.h"
#include "models/contamination/quadrature.h"
#include "models/error.h"

namespace models {

namespace con = contamination;

struct ContaminationModel::State {
    State(const ContaminationInput& input, const ContaminationPriors& priors, const ContaminationSettings& settings)
        : layout(input, priors, settings) {}
    con::Layout layout;
    con::Linearisation linearisation;
    std::vector<con::PointPosterior> points;  ///< those with weight; weights add up to 1
    Learnt learnt;
};

namespace {

constexpr double fit_tolerance = 1e-5;
constexpr int fit_sweeps = 40;

using State = ContaminationModel::State;

/// One law at every point, mixed by the points' weights.
template <typename LawAtPoint>
con::NormalMixture mixture_of(const State& state, const LawAtPoint& law_at) {
    con::NormalMixture mixture;
    for (const con::PointPosterior& point : state.points) {
        const con::LogLaw law = law_at(point);
        mixture.add(point.weight, law.mean, std::sqrt(law.variance));
    }
    return mixture;
}

con::NormalMixture field_mixture(const State& state, std::size_t field_season) {
    return mixture_of(state, [&](const con::PointPosterior& point) {
        return con::field_law(state.layout, state.linearisation, point, field_season);
    });
}

con::NormalMixture load_mixture(const State& state, std::size_t load) {
    con::NormalMixture mixture;
    for (const con::PointPosterior& point : state.points)
        con::add_load_law(state.layout, state.linearisation, point, load, point.weight, mixture);
    return mixture;
}

/// A column's coefficient, on the log scale.
con::NormalMixture column_mixture(const State& state, int column) {
    return mixture_of(state, [&](const con::PointPosterior& point) {
        Eigen::VectorXd unit = Eigen::VectorXd::Zero(point.beta.size());
        unit[column] = point.column_scale[column];
        point.beta_factor.triangularView<Eigen::Lower>().solveInPlace(unit);
        return con::LogLaw{point.column_scale[column] * point.beta[column], unit.squaredNorm()};
    });
}

Content content_of(const con::NormalMixture& mixture) {
    Content c;
    c.median = std::exp(mixture.quantile(0.5));
    c.mean = mixture.expectation_of_exp();
    c.low90 = std::exp(mixture.quantile(0.05));
    c.high90 = std::exp(mixture.quantile(0.95));
    c.low50 = std::exp(mixture.quantile(0.25));
    c.high50 = std::exp(mixture.quantile(0.75));
    return c;
}

double share_over(const con::NormalMixture& mixture, double limit_mg_per_kg) {
    if (!(limit_mg_per_kg > 0.0)) return 1.0;
    con::NormalMixture mirrored = mixture;
    for (double& m : mirrored.mean) m = -m;
    return mirrored.cdf(-std::log(limit_mg_per_kg));  // so that a small exceedance keeps its digits
}

/// Rounds of propagation at one value of the parameters until what is taken at a point of the posterior has come to
/// rest.
con::GaussianSites settle_linearisation(const con::Layout& layout, const con::Parameters& p, con::Linearisation& at,
                                        con::GaussianSites start) {
    const int rounds = layout.needs_linearising() ? 8 : 1;
    for (int round = 0; round < rounds; ++round) {
        const con::GaussianLaw law = layout.law(p, at);
        const con::Propagation found =
            con::propagate(law, layout.tables(), std::move(start), fit_tolerance, fit_sweeps);
        start = found.sites;
        if (layout.needs_linearising())
            con::linearise(layout, found, con::point_posterior(layout, p, law, found.posterior, found.sites), at);
    }
    return start;
}

void say_what_was_learnt(State& state) {
    const con::Layout& layout = state.layout;
    const ContaminationPriors& priors = layout.priors();
    Learnt& learnt = state.learnt;
    const auto of_column = [&](const char* name, int column, double centre) {
        const con::NormalMixture mixture = column_mixture(state, column);
        learnt.parameters.push_back({name, centre + mixture.expectation(), std::sqrt(mixture.variance())});
    };
    of_column("level", 0, priors.flat_coefficients ? 0.0 : priors.level_mean);
    of_column("slope", 1, priors.flat_coefficients ? 0.0 : priors.slope_mean);
    const auto of_parameter = [&](const char* name, double con::Parameters::*which) {
        double mean = 0.0, square = 0.0;
        for (const con::PointPosterior& point : state.points) mean += point.weight * point.parameters.*which;
        for (const con::PointPosterior& point : state.points)
            square += point.weight * std::pow(point.parameters.*which - mean, 2);
        learnt.parameters.push_back({name, mean, std::sqrt(square)});
    };
    of_parameter("season_sd", &con::Parameters::season_sd);
    of_parameter("field_sd", &con::Parameters::field_sd);
    of_parameter("within_sd", &con::Parameters::within_sd);
    of_parameter("lot_sd", &con::Parameters::lot_sd);
    for (std::size_t y = 0; y < layout.seasons().size(); ++y) {
        Learnt::Season season;
        season.season = layout.seasons()[y];
        for (std::size_t i = 0; i < layout.input().field_seasons.size(); ++i)
            if (layout.season_of(i) == static_cast<int>(y)) season.tests += layout.field_tests(i);
        const con::NormalMixture effect =
            column_mixture(state, *layout.column_of(con::ColumnKind::season, static_cast<int>(y)));
        season.factor = std::exp(effect.quantile(0.5));
        season.low90 = std::exp(effect.quantile(0.05));
        season.high90 = std::exp(effect.quantile(0.95));
        learnt.seasons.push_back(season);
    }
    for (std::size_t r = 0; r < layout.input().ratios.size(); ++r) {
        const auto column = layout.column_of(con::ColumnKind::ratio, static_cast<int>(r));
        if (!column) continue;
        const PublishedRatio& published = layout.input().ratios[r];
        const con::NormalMixture off = column_mixture(state, *column);  // from the published value
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
    if (!priors.fixed.active && learnt.effective_points < layout.settings().enough_effective)
        learnt.notes.push_back(fmt::format("The standard deviations are averaged over {:.0f} effective values only.",
                                           learnt.effective_points));
}

std::string words_of(const con::Layout& layout, const con::Site& site) {
    std::string words;
    for (const int i : site.results) {
        const AssayResult& r = layout.input().results[static_cast<std::size_t>(i)];
        const char* side = r.reading == Reading::below ? "below " : r.reading == Reading::above ? "above " : "";
        words += fmt::format("{}test {}: {}{:.4g} mg/kg", words.empty() ? "" : ", ", r.test, side, r.don_mg_per_kg);
    }
    return words;
}

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

ContaminationModel fit_contamination(const ContaminationInput& input, const ContaminationPriors& priors,
                                     const ContaminationSettings& settings, const Progress& progress) {
    auto state = std::make_shared<State>(input, priors, settings);
    const con::Layout& layout = state->layout;
    Learnt& learnt = state->learnt;
    learnt.notes = layout.notes();
    learnt.contradictions = layout.contradictions();
    state->linearisation = layout.first_linearisation();
    if (layout.sites().empty()) {
        learnt.notes.push_back(
            "There is no DON result in any season: fields are ranked by their disease risk, and no content "
            "or exceedance is given.");
        return ContaminationModel(state);
    }
    con::GaussianSites start = con::starting_sites(layout.tables());
    std::vector<double> evidence;
    const auto evaluate = [&](const std::vector<con::Parameters>& parameters) {
        state->points.assign(parameters.size(), {});
        evidence.assign(parameters.size(), 0.0);
        con::for_each_index(
            static_cast<int>(parameters.size()), settings.threads,
            [&](int index) {
                const auto i = static_cast<std::size_t>(index);
                const con::GaussianLaw law = layout.law(parameters[i], state->linearisation);
                const con::Propagation found = con::propagate(law, layout.tables(), start, fit_tolerance, fit_sweeps);
                evidence[i] = found.log_evidence;
                state->points[i] = con::point_posterior(layout, parameters[i], law, found.posterior, found.sites);
                state->points[i].settled = found.settled;
            },
            progress, "contamination model");
    };
    if (priors.fixed.active) {
        const con::Parameters fixed = con::Parameters::fixed(priors);
        start = settle_linearisation(layout, fixed, state->linearisation, std::move(start));
        evaluate({fixed});
        learnt.log_evidence = evidence[0];
        learnt.effective_points = 1.0;
    } else {
        const auto of_points = [&](const Eigen::MatrixXd& points, const con::WeightedPoints& last) {
            const Eigen::RowVectorXd centre = last.rounds == 0
                                                  ? Eigen::RowVectorXd(Eigen::RowVectorXd::Zero(con::Parameters::count))
                                                  : Eigen::RowVectorXd(last.weight.transpose() * last.points);
            if (last.rounds == 0 || layout.needs_linearising())
                start = settle_linearisation(layout, con::Parameters::at(centre, priors), state->linearisation,
                                             std::move(start));
            std::vector<con::Parameters> parameters;
            for (Eigen::Index i = 0; i < points.rows(); ++i)
                parameters.push_back(con::Parameters::at(points.row(i), priors));
            evaluate(parameters);
            return Eigen::VectorXd(
                Eigen::Map<Eigen::VectorXd>(evidence.data(), static_cast<Eigen::Index>(evidence.size())));
        };
        const con::WeightedPoints found =
            con::integrate_parameters(settings.points, con::Parameters::count, settings.enough_effective,
                                      layout.needs_linearising() ? 2 : 1, of_points);
        learnt.log_evidence = found.log_evidence;
        learnt.effective_points = found.effective;
        learnt.rounds = found.rounds;
        for (std::size_t i = 0; i < state->points.size(); ++i)
            state->points[i].weight = found.weight[static_cast<Eigen::Index>(i)];
        // What weighs under a millionth together with its like changes no printed digit.
        const double least = 1e-8 * found.weight.maxCoeff();
        std::erase_if(state->points, [&](const con::PointPosterior& point) { return point.weight < least; });
        double total = 0.0;
        for (const con::PointPosterior& point : state->points) total += point.weight;
        for (con::PointPosterior& point : state->points) point.weight /= total;
    }
    for (const con::PointPosterior& point : state->points) learnt.unsettled += point.settled ? 0 : 1;
    say_what_was_learnt(*state);
    return ContaminationModel(state);
}

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
        suspect[i] = ranking_only() ? layout.risk(i) : field_mixture(*state_, i).expectation();
    }
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) { return suspect[a] > suspect[b]; });
    return order;
}

std::optional<Content> ContaminationModel::field_season(std::size_t index) const {
    if (ranking_only()) return std::nullopt;
    Content content = content_of(field_mixture(*state_, index));
    content.tests = state_->layout.field_tests(index);
    content.risk_unknown = state_->layout.risk_unknown(index);
    content.chosen_outside = state_->layout.chosen_outside(index);
    content.contradicted = state_->layout.contradicted(SampledGrain::field_season, index);
    return content;
}

std::optional<Content> ContaminationModel::load(std::size_t index) const {
    if (ranking_only()) return std::nullopt;
    Content content = content_of(load_mixture(*state_, index));
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
    return share_over(field_mixture(*state_, field_season), limit_mg_per_kg);
}

std::optional<double> ContaminationModel::load_exceedance(std::size_t load, double limit_mg_per_kg) const {
    if (ranking_only()) return std::nullopt;
    return share_over(load_mixture(*state_, load), limit_mg_per_kg);
}

Eigen::MatrixXd ContaminationModel::draws(int n, std::uint64_t seed) const {
    if (ranking_only())
        throw Error("there is no DON result to draw contents from", "",
                    "import tests, or use the ranking by disease risk");
    const State& state = *state_;
    const auto columns =
        static_cast<Eigen::Index>(state.layout.input().field_seasons.size() + state.layout.input().loads.size());
    // Points are picked by a shifted radical inverse: any first part of the draws covers them evenly.
    std::vector<double> up_to(state.points.size());
    double sum = 0.0;
    for (std::size_t k = 0; k < state.points.size(); ++k) up_to[k] = sum += state.points[k].weight;
    std::vector<std::vector<int>> of_point(state.points.size());
    const double shift = con::counter_uniform(seed, 0, 0);
    for (int i = 0; i < n; ++i) {
        std::uint32_t reversed = 0;
        for (std::uint32_t bit = 0, rest = static_cast<std::uint32_t>(i); bit < 32; ++bit, rest >>= 1)
            reversed = (reversed << 1) | (rest & 1u);
        const double u = std::fmod(static_cast<double>(reversed) * 0x1p-32 + shift, 1.0) * sum;
        const auto k = std::upper_bound(up_to.begin(), up_to.end() - 1, u) - up_to.begin();
        of_point[static_cast<std::size_t>(k)].push_back(i);
    }
    Eigen::MatrixXd contents(n, columns);
    con::for_each_index(static_cast<int>(state.points.size()), state.layout.settings().threads, [&](int k) {
        const con::PointPosterior& point = state.points[static_cast<std::size_t>(k)];
        if (of_point[static_cast<std::size_t>(k)].empty()) return;
        const std::vector<Eigen::MatrixXd> factors = con::block_factors(point);
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

Explanation ContaminationModel::explain(std::size_t field_season) const {
    if (ranking_only()) throw Error("there is no DON result that a content could rest on", "", "import tests first");
    const State& state = *state_;
    const con::Layout& layout = state.layout;
    const std::vector<con::Site>& sites = layout.sites();
    // Which sites are its own, in the order of the results.
    std::vector<std::size_t> own;
    for (std::size_t s = 0; s < sites.size(); ++s) {
        const GrainSample& sample = layout.input().samples[static_cast<std::size_t>(sites[s].sample)];
        if (sample.from == SampledGrain::field_season && sample.index == field_season) own.push_back(s);
    }
    std::stable_sort(own.begin(), own.end(),
                     [&](std::size_t a, std::size_t b) { return sites[a].results.front() < sites[b].results.front(); });
    // Own results count from the step that names them on; the others from the second step, or the third where something
    // is known of how the field was kept.
    Explanation explanation;
    explanation.steps.push_back({"disease risk alone"});
    const std::vector<std::size_t>& ratios = layout.input().field_seasons[field_season].ratios;
    if (!ratios.empty()) {
        std::string kept;
        for (const std::size_t r : ratios) kept += (kept.empty() ? "" : ", ") + layout.input().ratios[r].what;
        explanation.steps.push_back({kept});
    }
    std::vector<std::size_t> counts_from(sites.size(), explanation.steps.size());
    explanation.steps.push_back({"results of other fields, their loads and past seasons"});
    // Its own loads in one step: they are why a field without a sample of its own may be well known.
    bool loads_tested = false;
    for (std::size_t s = 0; s < sites.size(); ++s) {
        const GrainSample& sample = layout.input().samples[static_cast<std::size_t>(sites[s].sample)];
        if (sample.from != SampledGrain::load) continue;
        const std::vector<GrainShare>& parts = layout.input().loads[sample.index].parts;
        if (std::none_of(parts.begin(), parts.end(),
                         [&](const GrainShare& part) { return part.field_season == field_season; })) {
            continue;
        }
        counts_from[s] = explanation.steps.size();
        loads_tested = true;
    }
    if (loads_tested) explanation.steps.push_back({"results of its own loads"});
    for (const std::size_t s : own) {
        counts_from[s] = explanation.steps.size();
        explanation.steps.push_back({words_of(layout, sites[s])});
    }
    std::vector<std::vector<con::LogLaw>> laws(explanation.steps.size(), std::vector<con::LogLaw>(state.points.size()));
    const std::size_t first = layout.priors().flat_coefficients ? 1 : 0;
    con::for_each_index(static_cast<int>(state.points.size()), layout.settings().threads, [&](int index) {
        const auto k = static_cast<std::size_t>(index);
        const con::PointPosterior& point = state.points[k];
        const con::GaussianLaw law = layout.law(point.parameters, state.linearisation);
        for (std::size_t step = first; step < laws.size(); ++step) {
            con::GaussianSites known = point.sites;
            for (std::size_t s = 0; s < sites.size(); ++s)
                if (counts_from[s] > step)
                    known.tau[static_cast<Eigen::Index>(s)] = known.nu[static_cast<Eigen::Index>(s)] = 0.0;
            con::GaussianPosterior found = con::posterior(law, known);
            if (!found.proper) {
                // Left alone, a reading that widens another leaves no law: it then says nothing yet.
                known.nu = (known.tau.array() < 0.0).select(0.0, known.nu);
                known.tau = known.tau.cwiseMax(0.0);
                found = con::posterior(law, known);
            }
            laws[step][k] =
                con::field_law(layout, state.linearisation,
                               con::point_posterior(layout, point.parameters, law, found, known), field_season);
        }
        if (first == 0 && !ratios.empty()) {  // before any result they lie apart from all else
            const con::Layout::OfRatios more = layout.of_ratios(field_season);
            laws[0][k].mean -= more.mean;
            laws[0][k].variance -= more.variance;
        }
    });
    for (std::size_t step = first; step < laws.size(); ++step) {
        con::NormalMixture mixture;
        for (std::size_t k = 0; k < state.points.size(); ++k)
            mixture.add(state.points[k].weight, laws[step][k].mean, std::sqrt(laws[step][k].variance));
        Explanation::Step& said = explanation.steps[step];
        said.median = std::exp(mixture.quantile(0.5));
        said.low90 = std::exp(mixture.quantile(0.05));
        said.high90 = std::exp(mixture.quantile(0.95));
        said.factor = step > first ? said.median / explanation.steps[step - 1].median : 1.0;
    }
    explanation.steps.erase(explanation.steps.begin(), explanation.steps.begin() + static_cast<std::ptrdiff_t>(first));
    return explanation;
}

ReadingLaw ContaminationModel::reading_law(const TestDesign& design) const {
    const State& state = *state_;
    const con::Layout& layout = state.layout;
    auto future = std::make_shared<FutureReading>();
    double composite = 0.0, lot = 0.0;
    for (const con::PointPosterior& point : state.points) {
        composite += point.weight * con::variance_of_mean_of(design.increments, point.parameters.within_sd);
        lot += point.weight * point.parameters.lot_sd * point.parameters.lot_sd;
    }
    if (state.points.empty()) composite = con::variance_of_mean_of(design.increments, layout.priors().within_sd_median);
    double stage_mean = 0.0, stage_variance = 0.0;
    if (design.stage == Stage::standing) {
        stage_variance = layout.priors().standing_offset_sd * layout.priors().standing_offset_sd;
        if (const auto column = layout.column_of(con::ColumnKind::standing); column && !state.points.empty()) {
            const con::NormalMixture offset = column_mixture(state, *column);
            stage_mean = offset.expectation();
            stage_variance = offset.variance();
        }
    }
    future->shift = stage_mean - 0.5 * composite;
    future->spread = std::sqrt(composite + lot + stage_variance);
    const ContaminationSettings& settings = layout.settings();
    const ErrorModel& error = design.method == Method::strip ? settings.strip_error : settings.laboratory_error;
    future->low = std::log(1e-5);
    future->per_step = 100.0;
    const auto count = static_cast<std::size_t>(std::log(2e9) * future->per_step) + 2;
    for (std::size_t i = 0; i < count; ++i) {
        const double content = std::exp(future->low + static_cast<double>(i) / future->per_step);
        RelativeVariance v = relative_variance(content, {design.mass_g, design.portion_g, 1}, error);
        v.sampling = relative_variance(content, {design.mass_g, std::nullopt, 1}, settings.strip_error).sampling;
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
