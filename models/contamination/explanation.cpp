#include <algorithm>
#include <cmath>
#include <numeric>
#include <set>

#include <fmt/format.h>

#include "models/contamination/fields_without_don.h"
#include "models/contamination/model_state.h"
#include "models/contamination/parallel.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace con = contamination;

namespace {

using State = ContaminationModel::State;

std::string words_of(const con::Layout& layout, const con::Site& site) {
    std::string words;
    for (const int i : site.results) {
        const AssayResult& r = layout.input().results[static_cast<std::size_t>(i)];
        if (!words.empty()) words += ", ";
        words += r.reading == Reading::below   ? phrase("test {}: below {:.4g} mg/kg", r.test, r.don_mg_per_kg)
                 : r.reading == Reading::above ? phrase("test {}: above {:.4g} mg/kg", r.test, r.don_mg_per_kg)
                                               : phrase("test {}: {:.4g} mg/kg", r.test, r.don_mg_per_kg);
    }
    return words;
}

/// Readings of fields near this one, and of loads that are all of such fields: sites, fields and how near.
struct NearResults {
    std::vector<std::size_t> sites;
    std::size_t fields = 0;
    double within_m = 0.0;
};

/// Near is within the range that the results leave most likely. None where there is no regional effect, the field has
/// no place, or no result is left for the rest.
NearResults near_results(const State& state, std::size_t field_season) {
    const con::Layout& layout = state.layout;
    NearResults near;
    if (!state.learnt.region || layout.local_of_field(field_season) < 0) return near;
    const con::RegionPlace own = layout.region_place(layout.local_of_field(field_season));
    if (own.group < 0) return near;
    near.within_m = state.learnt.region->range_median_m;
    std::set<int> fields;
    for (std::size_t s = 0; s < layout.sites().size(); ++s) {
        int count = 0;
        const bool all_near =
            std::all_of(layout.sites()[s].locals.begin(), layout.sites()[s].locals.end(), [&](const auto& term) {
                const con::Local& local = layout.locals()[static_cast<std::size_t>(term.first)];
                if (local.kind == con::LocalKind::load) return true;
                const con::RegionPlace place = layout.region_place(term.first);
                ++count;
                return local.kind == con::LocalKind::field && static_cast<std::size_t>(local.index) != field_season &&
                       place.group == own.group && distance_m(place.at_m, own.at_m) <= near.within_m;
            });
        if (!all_near || count == 0) continue;
        near.sites.push_back(s);
        for (const auto& [local, slope] : layout.sites()[s].locals)
            if (layout.locals()[static_cast<std::size_t>(local)].kind == con::LocalKind::field) fields.insert(local);
    }
    near.fields = fields.size();
    return near;
}

}  // namespace

Explanation ContaminationModel::explain(std::size_t field_season) const {
    if (ranking_only())
        throw Error(phrase("there is no DON result that a content could rest on"), "", phrase("import tests first"));
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
    explanation.steps.push_back({phrase("disease risk alone")});
    const std::vector<std::size_t>& ratios = layout.input().field_seasons[field_season].ratios;
    if (!ratios.empty()) {
        std::string kept;
        for (const std::size_t r : ratios) {
            const std::string& what = layout.input().ratios[r].what;  // in English, as the model was given it
            kept += (kept.empty() ? std::string() : std::string(", ")) + spoken(Word{what.c_str(), nullptr});
        }
        explanation.steps.push_back({kept});
    }
    std::vector<std::size_t> counts_from(sites.size(), explanation.steps.size());
    const NearResults near = near_results(state, field_season);
    explanation.steps.push_back({near.sites.empty()
                                     ? phrase("results of other fields, their loads and past seasons")
                                     : phrase("results of fields further away, their loads and past seasons")});
    for (const std::size_t s : near.sites) counts_from[s] = explanation.steps.size();
    if (!near.sites.empty())
        explanation.steps.push_back({phrase(
            "results of {} within {:.3g} km",
            counted(static_cast<long long>(near.fields), phrase("field"), phrase("fields")), near.within_m / 1000.0)});
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
    if (loads_tested) explanation.steps.push_back({phrase("results of its own loads")});
    for (const std::size_t s : own) {
        counts_from[s] = explanation.steps.size();
        explanation.steps.push_back({words_of(layout, sites[s])});
    }
    // Whether the field holds no DON is told by results of its own grain; where they are below, they stand as they are
    // if it holds some.
    std::vector<std::size_t> of_its_grain = own;
    for (std::size_t s = 0; s < sites.size(); ++s) {
        const GrainSample& sample = layout.input().samples[static_cast<std::size_t>(sites[s].sample)];
        if (sample.from != SampledGrain::load || layout.bought_share(sample.index) > 0.0) continue;
        const std::vector<GrainShare>& parts = layout.input().loads[sample.index].parts;
        if (parts.size() == 1 && parts.front().field_season == field_season) of_its_grain.push_back(s);
    }
    const auto without_don = [&](const con::PointPosterior& point, std::size_t step) {
        const double share = point.parameters.free_share;
        if (!(share > 0.0)) return 0.0;
        const auto known = std::count_if(of_its_grain.begin(), of_its_grain.end(),
                                         [&](std::size_t s) { return counts_from[s] <= step; });
        if (known == 0) return share;
        if (known == std::ssize(of_its_grain)) return con::chance_without_don(layout, point, field_season);
        if (layout.maybe_free_of(field_season) < 0) return 0.0;
        const double part = static_cast<double>(known) / static_cast<double>(of_its_grain.size());
        const double before = std::log(share) - std::log1p(-share);
        const double after = point.maybe_free[static_cast<std::size_t>(layout.maybe_free_of(field_season))].log_odds;
        return 1.0 / (1.0 + std::exp(-before - part * (after - before)));
    };
    // With hundreds of results the steps before the last are told from the heaviest points.
    constexpr std::size_t many_sites = 300, few_points = 16;
    std::vector<std::size_t> points(state.points.size());
    std::iota(points.begin(), points.end(), std::size_t{0});
    if (sites.size() > many_sites && points.size() > few_points) {
        std::stable_sort(points.begin(), points.end(),
                         [&](std::size_t a, std::size_t b) { return state.points[a].weight > state.points[b].weight; });
        points.resize(few_points);
    }
    double weight = 0.0;
    for (const std::size_t k : points) weight += state.points[k].weight;
    std::vector<std::vector<con::LogLaw>> laws(explanation.steps.size(), std::vector<con::LogLaw>(points.size()));
    const std::size_t first = layout.priors().flat_coefficients ? 1 : 0;
    con::for_each_index(static_cast<int>(points.size()), layout.settings().threads, [&](int index) {
        const auto k = static_cast<std::size_t>(index);
        const con::PointPosterior& point = state.points[points[k]];
        const con::GaussianLaw law = layout.law(point.parameters, state.linearisation);
        for (std::size_t step = first; step < laws.size(); ++step) {
            con::GaussianSites known = point.sites;
            if (!point.maybe_free.empty() && layout.maybe_free_of(field_season) >= 0)
                for (const std::size_t s : of_its_grain) {
                    known.tau[static_cast<Eigen::Index>(s)] = point.given_don.tau[static_cast<Eigen::Index>(s)];
                    known.nu[static_cast<Eigen::Index>(s)] = point.given_don.nu[static_cast<Eigen::Index>(s)];
                }
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
                               con::point_posterior(layout, state.linearisation, point.parameters, law, found, known,
                                                    layout.joined(point.parameters), {field_season}),
                               field_season);
        }
        if (first == 0 && !ratios.empty()) {  // before any result they lie apart from all else
            const con::Layout::OfRatios more = layout.of_ratios(field_season);
            laws[0][k].mean -= more.mean;
            laws[0][k].variance -= more.variance;
        }
    });
    for (std::size_t step = first; step < laws.size(); ++step) {
        con::NormalMixture mixture;
        for (std::size_t k = 0; k < points.size(); ++k) {
            const con::PointPosterior& point = state.points[points[k]];
            const double none = without_don(point, step);
            mixture.none += point.weight / weight * none;
            mixture.add(point.weight / weight * (1.0 - none), laws[step][k].mean, std::sqrt(laws[step][k].variance));
        }
        if (points.size() < state.points.size() && step + 1 == laws.size())
            mixture = con::field_mixture(state, field_season);
        Explanation::Step& said = explanation.steps[step];
        said.median = std::exp(mixture.quantile(0.5));
        said.low90 = std::exp(mixture.quantile(0.05));
        said.high90 = std::exp(mixture.quantile(0.95));
        // Of nothing there is no multiple.
        if (const double before = step > first ? explanation.steps[step - 1].median : 0.0; before > 0.0)
            said.factor = said.median / before;
    }
    explanation.steps.erase(explanation.steps.begin(), explanation.steps.begin() + static_cast<std::ptrdiff_t>(first));
    return explanation;
}

}  // namespace models
