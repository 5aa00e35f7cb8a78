#include "app/stages/grain_fit.h"

#include <algorithm>
#include <map>
#include <set>
#include <system_error>

#include <fmt/format.h>

#include "app/stages/kept_columns.h"
#include "models/decision/bin_probe.h"
#include "models/spatial/parallel.h"
#include "models/spoken.h"

namespace app {

namespace {

const char* const load_variance_column = "variance between loads";
const char* const lot_sd_column = "sd between lots";

std::string field_column(const models::FieldSeason& field) {
    return fmt::format("field {}\n{}\n{}", field.season, field.field, field.part);
}
std::string lot_column(const std::string& lot) {
    return "lot " + lot;
}
std::string load_column(const models::GrainLoad& load) {
    return "load " + load.load;
}

/// Field-seasons and tested loads that the loads and fields asked for hang on, ascending.
struct FitColumns {
    std::vector<std::size_t> field_seasons, tested_loads;
};
FitColumns columns_for(const ContaminationView& view, const FitAsked& asked) {
    std::set<std::size_t> fields(asked.field_seasons.begin(), asked.field_seasons.end());
    const std::vector<std::size_t> tested = models::tested_loads(view.input);
    FitColumns columns;
    for (const std::size_t l : asked.loads) {
        if (std::binary_search(tested.begin(), tested.end(), l)) {
            columns.tested_loads.push_back(l);
        } else {
            for (const models::GrainShare& part : view.input.loads[l].parts) fields.insert(part.field_season);
        }
    }
    std::sort(columns.tested_loads.begin(), columns.tested_loads.end());
    columns.tested_loads.erase(std::unique(columns.tested_loads.begin(), columns.tested_loads.end()),
                               columns.tested_loads.end());
    columns.field_seasons.assign(fields.begin(), fields.end());
    return columns;
}

void add_error_model(KeyOf& key, const models::ErrorModel& error) {
    for (const double number : {error.sampling_coefficient, error.preparation_coefficient, error.analysis_coefficient,
                                error.exponent, error.reference_mass_g, error.reference_portion_g, error.assumed_mass_g,
                                error.assumed_portion_g, error.lowest_content_mg_per_kg})
        key.add(number);
    for (const auto& own : {error.own_sampling_cv, error.own_preparation_cv, error.own_analysis_cv,
                            error.own_sampling_mass_g, error.own_portion_g})
        key.add(own);
    key.add(std::int64_t{error.analysis_by_horwitz});
}

template <typename Number>
std::int64_t whole(Number number) {
    return static_cast<std::int64_t>(number);
}

void take_what_it_says(const nlohmann::json& says, const ContaminationView& view, GrainFit& fit) {
    fit.kit_lot_sd = says.at("kit_lot_sd").get<double>();
    fit.reading.composite = says.at("composite").get<double>();
    fit.reading.lot = says.at("lot").get<double>();
    if (says.at("contradictions").empty()) return;
    std::map<std::string, std::size_t> load_named;
    for (std::size_t l = 0; l < view.input.loads.size(); ++l) load_named[view.input.loads[l].load] = l;
    for (const auto& one : says.at("contradictions")) {
        models::Learnt::Contradiction& found = fit.contradictions.emplace_back();
        for (const auto& name : one.at("loads")) {
            const auto load = load_named.find(name.get<std::string>());
            if (load != load_named.end()) found.loads.push_back(load->second);
        }
        found.sentence = one.at("sentence").get<std::string>();
    }
}

}  // namespace

FitAsked everything_of(const ContaminationView& view, int season) {
    FitAsked asked;
    for (std::size_t l = 0; l < view.input.loads.size(); ++l) asked.loads.push_back(l);
    for (std::size_t f = 0; f < view.input.field_seasons.size(); ++f)
        if (view.input.field_seasons[f].season == season) asked.field_seasons.push_back(f);
    return asked;
}

GrainFit fit_of_model(const ContaminationView& view, const FitAsked& asked) {
    GrainFit fit;
    fit.known = !view.ranking_only();
    if (!fit.known) return fit;
    for (const models::Learnt::Parameter& parameter : view.model->learnt().parameters)
        if (parameter.name == "lot_sd") fit.kit_lot_sd = parameter.mean;
    fit.contradictions = view.model->learnt().contradictions;
    fit.reading = view.model->reading_spread({});
    const FitColumns columns = columns_for(view, asked);
    fit.worlds = view.model->worlds(asked.draws, asked.seed, columns.field_seasons, columns.tested_loads);
    return fit;
}

models::SourceDraws draws_of_sources(const SeasonData& data, const ContaminationView& view,
                                     const std::vector<std::size_t>& loads, const models::SourceDraws& openings,
                                     const GrainFit& fit, int threads) {
    // One matrix for loads and opening contents from the start: of thousands of loads a copy costs as much as a draw.
    models::SourceDraws out;
    if (fit.known)
        for (const std::size_t l : loads) out.sources.push_back(data.loads[l].load);
    const std::size_t of_loads = out.sources.size();
    for (const std::string& source : openings.sources) {
        if (data.load_by_name.count(source) != 0)
            throw models::Error("\"" + source + "\" is a load and an opening content", "", "rename the load");
        out.sources.push_back(source);
    }
    out.mg_per_kg.resize(openings.mg_per_kg.rows(), static_cast<Eigen::Index>(out.sources.size()));
    models::parallel_blocks(static_cast<long long>(of_loads), models::threads_to_use(threads), [&](long long k) {
        const std::size_t l = loads[static_cast<std::size_t>(k)];
        out.mg_per_kg.col(k) = fit.as_it_counts(fit.worlds.load(view.input, *view.load_of[l]));
    });
    for (Eigen::Index k = 0; k < openings.mg_per_kg.cols(); ++k)
        out.mg_per_kg.col(static_cast<Eigen::Index>(of_loads) + k) = fit.as_it_counts(openings.mg_per_kg.col(k));
    return out;
}

std::filesystem::path kept_fit_file(const std::filesystem::path& store) {
    return store.string() + ".kept-fit";
}
std::filesystem::path kept_bins_file(const std::filesystem::path& store) {
    return store.string() + ".kept-bins";
}

FitRestsOn fit_rests_on(const ContaminationView& view, const ContaminationSettings& settings) {
    const models::ContaminationInput& input = view.input;
    FitRestsOn rests_on;
    KeyOf fields;
    fields.add(std::string("lodicule " LODICULE_VERSION)).add(whole(FitAsked{}.draws)).add(whole(FitAsked{}.seed));
    fields.add(whole(settings.season)).add(whole(settings.basis)).add(whole(settings.parameters));
    fields.add(whole(input.field_seasons.size()));
    for (const models::FieldSeason& field : input.field_seasons) {
        fields.add(field.field).add(field.part).add(whole(field.season));
        fields.add(field.risk_logit).add(field.risk_logit_sd).add(whole(field.ratios.size()));
        for (const std::size_t ratio : field.ratios) fields.add(whole(ratio));
        fields.add(field.place_m ? std::optional(field.place_m->x_m) : std::nullopt);
        fields.add(field.place_m ? std::optional(field.place_m->y_m) : std::nullopt);
    }
    for (const models::PublishedRatio& ratio : input.ratios) fields.add(ratio.what).add(ratio.log_ratio).add(ratio.sd);
    add_error_model(fields, view.strip_error);
    add_error_model(fields, view.laboratory_error);
    rests_on.fields = fields.sha256();
    for (const models::AssayResult& result : input.results) {
        const models::GrainSample& sample = input.samples[result.sample];
        KeyOf key;
        key.add(result.test).add(result.portion).add(whole(result.reading)).add(result.don_mg_per_kg);
        key.add(whole(result.method)).add(result.kit_lot).add(result.portion_g).add(whole(result.analyses));
        key.add(result.standard_uncertainty_mg_per_kg).add(result.curve_log_variance);
        key.add(sample.sample).add(whole(sample.from)).add(whole(sample.stage)).add(whole(sample.kind));
        key.add(whole(sample.increments.value_or(-1))).add(sample.mass_g).add(whole(sample.chosen_because));
        if (sample.from == models::SampledGrain::field_season) key.add(whole(sample.index));
        if (sample.from == models::SampledGrain::load) {
            const models::GrainLoad& load = input.loads[sample.index];
            key.add(load.load).add(whole(load.parts.size()));
            for (const models::GrainShare& part : load.parts) key.add(whole(part.field_season)).add(part.share);
        }
        rests_on.results.push_back(key.sha256());
    }
    return rests_on;
}

std::string FitRestsOn::key() const {
    KeyOf key;
    key.add(fields);
    for (const std::string& result : results) key.add(result);
    return key.sha256();
}

Eigen::VectorXd GrainFit::as_it_counts(Eigen::VectorXd column) const {
    return chosen.empty() ? column : Eigen::VectorXd(column(chosen));
}

void keep_fit(const std::filesystem::path& file, const FitRestsOn& rests_on, const ContaminationView& view,
              int season) {
    if (view.ranking_only()) return;
    const std::string key = rests_on.key();
    if (const auto kept = KeptColumns::open(file); kept && kept->key() == key) return;
    const GrainFit fit = fit_of_model(view, everything_of(view, season));
    // The file is read by whoever comes next, and its sentences are English.
    if (!fit.contradictions.empty() && models::translation_here() != nullptr) return;
    nlohmann::json says{{"fields", rests_on.fields},
                        {"results", rests_on.results},
                        {"kit_lot_sd", fit.kit_lot_sd},
                        {"composite", fit.reading.composite},
                        {"lot", fit.reading.lot},
                        {"lots", nlohmann::json::array()},
                        {"contradictions", nlohmann::json::array()}};
    for (const models::Learnt::Contradiction& one : fit.contradictions) {
        nlohmann::json loads = nlohmann::json::array();
        for (const std::size_t l : one.loads) loads.push_back(view.input.loads[l].load);
        says["contradictions"].push_back({{"loads", loads}, {"sentence", one.sentence}});
    }
    std::vector<NamedColumn> columns{{load_variance_column, &fit.worlds.load_variance},
                                     {lot_sd_column, &fit.worlds.lot_sd}};
    for (const auto& [f, column] : fit.worlds.fields)
        columns.emplace_back(field_column(view.input.field_seasons[f]), &column);
    for (const auto& [l, column] : fit.worlds.loads) columns.emplace_back(load_column(view.input.loads[l]), &column);
    for (const auto& [lot, column] : fit.worlds.lots) {
        columns.emplace_back(lot_column(lot), &column);
        says["lots"].push_back(lot);
    }
    keep_columns(file, key, says, std::move(columns));
}

void forget_kept(const std::filesystem::path& file) {
    std::error_code ignored;
    std::filesystem::remove(file, ignored);
}

std::optional<KeptFit> KeptFit::open(const std::filesystem::path& file, const FitRestsOn& rests_on,
                                     const ContaminationView& view) {
    const auto kept = KeptColumns::open(file);
    if (!kept) return std::nullopt;
    // Its sentences are English; in another language they are found again.
    if (models::translation_here() != nullptr && kept->says().contains("contradictions") &&
        !kept->says()["contradictions"].empty())
        return std::nullopt;
    KeptFit fit;
    fit.file_ = file;
    fit.view_ = &view;
    fit.key_ = kept->key();
    if (fit.key_ == rests_on.key()) return fit;
    try {
        if (kept->says().at("fields").get<std::string>() != rests_on.fields) return std::nullopt;
        const auto known = kept->says().at("results").get<std::vector<std::string>>();
        std::size_t k = 0;
        for (std::size_t r = 0; r < rests_on.results.size(); ++r) {
            if (k < known.size() && rests_on.results[r] == known[k])
                ++k;
            else
                fit.new_results_.push_back(r);
        }
        if (k < known.size() || fit.new_results_.size() > most_new_results) return std::nullopt;
        if (!fit.weigh(view)) return std::nullopt;
    } catch (const nlohmann::json::exception&) {
        return std::nullopt;
    }
    return fit;
}

/// Whether the new results speak of their loads alone, and leave enough draws.
bool KeptFit::weigh(const ContaminationView& view) {
    const models::ContaminationInput& input = view.input;
    std::map<std::size_t, int> results_of_load;
    for (const models::AssayResult& result : input.results)
        if (input.samples[result.sample].from == models::SampledGrain::load)
            ++results_of_load[input.samples[result.sample].index];
    FitAsked asked;
    for (const std::size_t r : new_results_) {
        const models::AssayResult& result = input.results[r];
        const models::GrainSample& sample = input.samples[result.sample];
        const bool of_its_load = result.reading == models::Reading::value &&
                                 sample.from == models::SampledGrain::load && sample.stage != models::Stage::standing &&
                                 results_of_load[sample.index] == 1;
        if (!of_its_load) return false;
        for (const models::GrainShare& part : input.loads[sample.index].parts)
            asked.field_seasons.push_back(part.field_season);
    }
    auto fit = as_fitted(asked);
    if (!fit) return false;
    const auto kept = KeptColumns::open(file_);
    if (!kept || kept->key() != key_) return false;
    for (const auto& lot : kept->says().at("lots")) {
        auto column = kept->column(lot_column(lot.get<std::string>()));
        if (!column) return false;
        fit->worlds.lots[lot.get<std::string>()] = std::move(*column);
    }
    const models::WorldsWeighed weighed =
        models::weigh_worlds(fit->worlds, input, new_results_, view.strip_error, view.laboratory_error);
    effective_draws_ = weighed.effective;
    if (weighed.effective < least_effective_draws || weighed.surprise < too_surprising) return false;
    new_loads_ = std::move(fit->worlds.loads);
    chosen_ = models::chosen_by(weighed.weight);
    return true;
}

std::optional<GrainFit> KeptFit::fit(const FitAsked& asked) const {
    auto fit = as_fitted(asked);
    if (fit) fit->chosen = chosen_;
    return fit;
}

/// Before the new results weigh on it.
std::optional<GrainFit> KeptFit::as_fitted(const FitAsked& asked) const {
    const auto kept = KeptColumns::open(file_);
    if (!kept || kept->key() != key_ || kept->rows() != asked.draws || asked.seed != FitAsked{}.seed)
        return std::nullopt;
    GrainFit fit;
    fit.known = true;
    fit.worlds.draws = asked.draws;
    fit.worlds.seed = asked.seed;
    bool all_there = true;
    const auto read = [&](const std::string& name, Eigen::VectorXd& into) {
        auto column = kept->column(name);
        all_there = all_there && column.has_value();
        if (column) into = std::move(*column);
    };
    read(load_variance_column, fit.worlds.load_variance);
    read(lot_sd_column, fit.worlds.lot_sd);
    const FitColumns columns = columns_for(*view_, asked);
    for (const std::size_t f : columns.field_seasons)
        read(field_column(view_->input.field_seasons[f]), fit.worlds.fields[f]);
    for (const std::size_t l : columns.tested_loads) {
        if (const auto fresh = new_loads_.find(l); fresh != new_loads_.end())
            fit.worlds.loads[l] = fresh->second;
        else
            read(load_column(view_->input.loads[l]), fit.worlds.loads[l]);
    }
    if (!all_there) return std::nullopt;
    try {
        take_what_it_says(kept->says(), *view_, fit);
    } catch (const nlohmann::json::exception&) {
        return std::nullopt;
    }
    return fit;
}

}  // namespace app
