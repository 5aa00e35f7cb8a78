#include "app/stages/probed_fields.h"

#include <algorithm>
#include <set>

#include "app/stages/bin_probes.h"
#include "app/stages/grain_in_bins.h"
#include "models/assay/basis.h"
#include "models/counted.h"
#include "models/decision/bin_content.h"
#include "models/decision/source_draws.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app {

namespace {

// An end of a 90 % interval is known to 2 % of a field's spread; of thousands of probed loads to 4 %, with as many
// draws as bins take, for each load is a column of them.
constexpr int most_draws = 20000, least_draws = 4000;
constexpr int most_drawn = 10'000'000;  // 80 MB

/// The loads of the store that lay in a probed bin and that the model knows.
std::vector<std::size_t> loads_probed(const SeasonData& data, const ContaminationView& view,
                                      const std::vector<models::BinProbe>& probes) {
    std::set<std::size_t> loads;
    for (const models::BinProbe& probe : probes) {
        for (const models::GrainPortion& portion : probe.grain) {
            const auto load = data.load_by_name.find(portion.source);
            if (load != data.load_by_name.end() && load->second < view.load_of.size() && view.load_of[load->second])
                loads.insert(load->second);
        }
    }
    return {loads.begin(), loads.end()};
}

}  // namespace

ProbedFields::ProbedFields(const SeasonData& data, const ContaminationView& view,
                           const ContaminationSettings& settings) {
    if (view.ranking_only() || data.bins.empty()) return;
    try {
        weigh(data, view, settings);
    } catch (const models::Error& error) {  // of a bin: the fields are told without it
        fields_.clear();
        notes_ = {std::string("no probe of a bin counts for a field: ") + error.what()};
    }
}

void ProbedFields::weigh(const SeasonData& data, const ContaminationView& view, const ContaminationSettings& settings) {
    std::vector<models::Move> moves;
    std::copy_if(data.moves.begin(), data.moves.end(), std::back_inserter(moves),
                 [&](const models::Move& move) { return models::year_of(move.time.local_day()) <= settings.season; });
    std::vector<models::BinProbe> probes =
        probes_of_bins(data, moves, settings.season, errors_in_use(data, settings.own_duplicates), 1.0);
    const std::vector<std::size_t> loads = loads_probed(data, view, probes);
    if (loads.empty()) return;

    FitAsked asked;
    asked.draws = std::clamp(most_drawn / static_cast<int>(loads.size()), least_draws, most_draws);
    std::map<std::string, std::set<std::size_t>> fields_of_load;
    std::set<std::size_t> fields;
    for (const std::size_t l : loads) {
        asked.loads.push_back(*view.load_of[l]);
        for (const models::GrainShare& part : view.input.loads[*view.load_of[l]].parts) {
            fields.insert(part.field_season);
            fields_of_load[data.loads[l].load].insert(part.field_season);
        }
    }
    asked.field_seasons.assign(fields.begin(), fields.end());
    const GrainFit fit = fit_of_model(view, asked);
    models::SourceDraws draws = draws_of_sources(
        data, view, loads, models::opening_draws(data.bins, asked.draws, asked.seed), fit, settings.threads);
    // Probes are read as is; the draws stand on the basis of the fit.
    if (settings.basis != models::Basis::as_is) {
        const Moistures moistures(data);
        for (std::size_t k = 0; k < loads.size(); ++k)
            draws.mg_per_kg.col(static_cast<Eigen::Index>(k)) *= models::convert_basis(
                1.0, settings.basis, models::Basis::as_is, moistures.of(draws.sources[k]).fraction);
    }
    for (models::BinProbe& probe : probes)
        if (probe.kit_lot_sd > 0.0) probe.kit_lot_sd = fit.kit_lot_sd;  // strips
    const models::ProbedDraws probed = models::draws_after_probes(std::move(draws), probes);
    for (std::size_t i = 0; i < probes.size(); ++i) {
        const auto sample = sample_index(data, probes[i].sample);
        const bool of_season = sample && data.samples[*sample].taken_time &&
                               models::year_of(data.samples[*sample].taken_time->local_day()) == settings.season;
        std::string note = in_words(probed.news[i]);
        if (probed.news[i].what != models::ProbeNews::What::counted) {
            if (of_season) notes_.push_back(std::move(note));
            continue;
        }
        std::set<std::size_t> spoken_of;
        for (const models::GrainPortion& portion : probes[i].grain)
            if (const auto load = fields_of_load.find(portion.source); load != fields_of_load.end())
                spoken_of.insert(load->second.begin(), load->second.end());
        std::string names;
        for (const std::size_t f : spoken_of) {
            fields_[f].probes.push_back(probes[i].sample);
            const models::FieldSeason& field = view.input.field_seasons[f];
            names += (names.empty() ? "" : ", ") + ground_name(field.field, field.part);
        }
        if (!names.empty()) note += "; it counts for " + names;
        if (of_season) notes_.push_back(std::move(note));
    }
    for (auto& [f, field] : fields_) {
        const Eigen::VectorXd& column = fit.worlds.fields.at(f);
        field.sorted_mg_per_kg = probed.chosen.empty() ? column : Eigen::VectorXd(column(probed.chosen));
        std::sort(field.sorted_mg_per_kg.begin(), field.sorted_mg_per_kg.end());
    }
}

const std::vector<std::string>& ProbedFields::probes_of(std::size_t field_season) const {
    static const std::vector<std::string> none;
    const auto found = fields_.find(field_season);
    return found == fields_.end() ? none : found->second.probes;
}

models::Content ProbedFields::content(const models::ContaminationModel& model, std::size_t field_season) const {
    models::Content content = model.field_season(field_season).value();
    const auto found = fields_.find(field_season);
    if (found == fields_.end()) return content;
    const Eigen::VectorXd& sorted = found->second.sorted_mg_per_kg;
    const auto quantile = [&](double p) {
        return sorted(static_cast<Eigen::Index>(p * static_cast<double>(sorted.size() - 1) + 0.5));
    };
    content.median = quantile(0.5);
    content.mean = sorted.mean();
    content.low90 = quantile(0.05);
    content.high90 = quantile(0.95);
    content.low50 = quantile(0.25);
    content.high50 = quantile(0.75);
    return content;
}

models::Explanation ProbedFields::explain(const models::ContaminationModel& model, std::size_t field_season) const {
    models::Explanation explanation = model.explain(field_season);
    const auto found = fields_.find(field_season);
    if (found == fields_.end()) return explanation;
    const models::Content before = model.field_season(field_season).value(), after = content(model, field_season);
    std::string what;
    for (const std::string& probe : found->second.probes) what += (what.empty() ? "" : ", ") + probe;
    what = found->second.probes.size() == 1 ? models::phrase("probe of a bin with its grain: {}", what)
                                            : models::phrase("probes of bins with its grain: {}", what);
    explanation.steps.push_back({what, after.median, after.low90, after.high90, after.median / before.median});
    return explanation;
}

double ProbedFields::exceedance(const models::ContaminationModel& model, std::size_t field_season,
                                double c_mg_per_kg) const {
    const auto found = fields_.find(field_season);
    if (found == fields_.end()) return model.exceedance(field_season, c_mg_per_kg).value();
    const Eigen::VectorXd& sorted = found->second.sorted_mg_per_kg;
    return static_cast<double>(sorted.end() - std::upper_bound(sorted.begin(), sorted.end(), c_mg_per_kg)) /
           static_cast<double>(sorted.size());
}

}  // namespace app
