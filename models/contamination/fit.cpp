#include <cmath>
#include <memory>

#include <fmt/format.h>

#include "models/contamination/contamination.h"
#include "models/contamination/fields_without_don.h"
#include "models/contamination/find_doubts.h"
#include "models/contamination/groups_error.h"
#include "models/contamination/model_state.h"
#include "models/contamination/parallel.h"
#include "models/contamination/parameter_integral.h"
#include "models/contamination/region_verdict.h"

namespace models {

namespace con = contamination;

namespace {

/// Covariances of all fields that are joined, at all points: whether they may be kept.
bool covariances_fit(const con::Layout& layout, const con::ParameterIntegral& found) {
    constexpr double most_numbers = 4e7;  // a third of a gigabyte
    double numbers = 0.0;
    for (const con::Layout::Block& block : layout.blocks(found.points.front().parameters))
        numbers += std::pow(static_cast<double>(block.locals.size() + block.followers.size()), 2);
    return numbers * static_cast<double>(found.points.size()) <= most_numbers;
}

/// What predictions need, at every point.
void keep_points(ContaminationModel::State& state, const con::ParameterIntegral& found) {
    const con::Layout& layout = state.layout;
    const bool keep_covariances = covariances_fit(layout, found);
    state.points.resize(found.points.size());
    if (!keep_covariances) state.loads_of_point.resize(found.points.size());
    con::for_each_index(static_cast<int>(found.points.size()), layout.settings().threads, [&](int index) {
        const auto i = static_cast<std::size_t>(index);
        con::PointPosterior& point = state.points[i];
        const con::AtParameters& at = found.points[i];
        const con::GaussianLaw law = layout.law(at.parameters, state.linearisation);
        point = con::point_posterior(layout, state.linearisation, at.parameters, law, con::posterior(law, at.sites),
                                     at.sites, layout.joined(at.parameters));
        con::tell_maybe_free(layout, law, at.free, point);
        point.weight = found.points[i].weight;
        point.settled = found.points[i].settled;
        if (keep_covariances) return;
        for (std::size_t l = 0; l < layout.input().loads.size(); ++l)
            con::add_load_law(layout, state.linearisation, point, l, 1.0, state.loads_of_point[i].emplace_back());
        point.forget_covariances();
    });
}

std::string note_of_most_probable(const con::Layout& layout) {
    const std::string why = layout.settings().parameters == ParametersBy::most_probable
                                ? std::string("As asked for")
                                : fmt::format("With {} tested field-seasons (more than {})",
                                              con::tested_field_seasons(layout), con::most_integrated_fields);
    return why +
           " the standard deviations and the range are taken at their most probable values, by restricted likelihood "
           "and prior (empirical Bayes), and not averaged.";
}

constexpr const char* note_of_restricted =
    "As asked for the standard deviations and the range are taken where the restricted likelihood is highest (REML), "
    "without a prior, level and slope without one too; how unsure they are is in no interval.";

std::string_view name_of(con::ParameterWay way) {
    if (way == con::ParameterWay::fixed) return "fixed";
    return name_of(way == con::ParameterWay::most_probable ? ParametersBy::most_probable
                   : way == con::ParameterWay::restricted  ? ParametersBy::restricted_likelihood
                                                           : ParametersBy::integrated);
}

/// Restricted likelihood knows no prior of level and slope either.
ContaminationPriors priors_for(ContaminationPriors priors, ParametersBy way) {
    if (way == ParametersBy::restricted_likelihood && !priors.fixed.active) priors.flat_coefficients = true;
    return priors;
}

}  // namespace

ContaminationModel fit_contamination(const ContaminationInput& input, const ContaminationPriors& priors,
                                     const ContaminationSettings& settings, const Progress& progress) {
    auto state = std::make_shared<ContaminationModel::State>(input, priors_for(priors, settings.parameters), settings);
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
    const con::ParameterIntegral found =
        priors.fixed.active ? con::at_fixed_parameters(layout, layout.fixed_parameters(), state->linearisation)
                            : con::integrate(layout, layout.dimensions(), state->linearisation, progress);
    learnt.parameters_by = name_of(found.way);
    learnt.log_evidence = found.log_evidence;
    learnt.effective_points = found.effective;
    learnt.rounds = found.rounds;
    state->enough_effective = found.enough;
    if (found.way == con::ParameterWay::most_probable) learnt.notes.push_back(note_of_most_probable(layout));
    if (found.way == con::ParameterWay::restricted) learnt.notes.push_back(note_of_restricted);
    learnt.notes.insert(learnt.notes.end(), found.notes.begin(), found.notes.end());
    keep_points(*state, found);
    con::say_what_groups_cost(*state, progress);
    for (const con::PointPosterior& point : state->points) learnt.unsettled += point.settled ? 0 : 1;
    if (layout.regional()) con::judge_region(*state, found, progress);
    con::say_what_was_learnt(*state);
    const con::LeftOut left = con::foretell_each(layout, found);
    learnt.left_out = con::told_of_newest(layout, left);
    learnt.doubts = con::find_doubts(*state, found, left);
    for (std::string& warning : warnings_of(learnt.doubts)) learnt.notes.push_back(std::move(warning));
    return ContaminationModel(state);
}

}  // namespace models
