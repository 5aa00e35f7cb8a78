#include "app/stages/contamination_stage.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "app/stages/kit_lot_stage.h"
#include "app/stages/own_errors.h"
#include "app/stages/test_content.h"
#include "models/counted.h"
#include "models/disease/catalogue.h"
#include "models/disease/modifiers.h"
#include "models/error.h"

namespace app {

namespace {

bool is_wheat(models::Crop crop) {
    return crop == models::Crop::wheat || crop == models::Crop::durum;
}

/// Collects notes that would otherwise come once a row.
class Counted {
 public:
    void add(const std::string& sentence, const std::string& name) {
        auto& [count, first] = seen_[sentence];
        if (count++ == 0) first = name;
    }
    void put_into(std::vector<std::string>& notes) const {
        for (const auto& [sentence, seen] : seen_) {
            notes.push_back(seen.first == 1 ? fmt::format("{}: {}", seen.second, sentence)
                                            : fmt::format("{} and {} more: {}", seen.second, seen.first - 1, sentence));
        }
    }

 private:
    std::map<std::string, std::pair<int, std::string>> seen_;
};

/// The test on the basis of the map, with a note where it cannot be brought there.
TestContent noted_content(const models::Test& test, const models::Sample& sample, models::Basis basis, Counted& notes) {
    const TestContent content = content_on(basis, test, sample);
    if (!content.converted)
        notes.add("the sample's moisture is not recorded, so its result stands on the basis it was reported on",
                  test.test);
    if (content.read_nothing)
        notes.add("a reading of 0 is taken as below its limit of quantification (0.05 mg/kg where none is given)",
                  test.test);
    return content;
}

class ModelInput {
 public:
    ModelInput(const SeasonData& data, const std::vector<FieldRisk>& risks, const ContaminationSettings& settings)
        : data_(data), settings_(settings) {
        view_.field_season_of.resize(data.crops.size());
        view_.load_of.resize(data.loads.size());
        add_field_seasons(risks);
        add_loads();
        add_results();
        notes_.put_into(view_.notes);
    }
    ContaminationView take() { return std::move(view_); }

 private:
    bool is_known(int season) const { return settings_.hindsight || season <= settings_.season; }

    void add_field_seasons(const std::vector<FieldRisk>& risks) {
        std::map<std::size_t, const FieldRisk*> risk_of;
        for (const FieldRisk& risk : risks) risk_of[risk.crop] = &risk;
        for (std::size_t c = 0; c < data_.crops.size(); ++c) {
            const models::CropRecord& crop = data_.crops[c];
            if (!is_known(crop.season) || !is_wheat(crop.crop)) continue;
            models::FieldSeason entry{crop.field, crop.part, crop.season, std::nullopt, 0.0};
            const auto found = risk_of.find(c);
            if (found != risk_of.end()) {
                if (const auto logit = risk_logit(found->second->risk)) {
                    entry.risk_logit = logit->logit;
                    entry.risk_logit_sd = logit->sd;
                }
                tell_what_it_rests_on(*found->second, entry);
            }
            const std::string model = found != risk_of.end() ? found->second->risk.model : "";
            entry.ratios = ratios_of(crop, model.empty() ? models::default_model() : models::find_model(model, true));
            if (const models::Field* outline = outline_of(data_, crop.field, crop.part);
                outline != nullptr && !outline->outline_m.empty())
                entry.place_m = models::centroid(outline->outline_m);
            view_.field_season_of[c] = view_.input.field_seasons.size();
            view_.crop_of.push_back(c);
            view_.input.field_seasons.push_back(std::move(entry));
        }
    }

    /// Where the weather of a risk comes from and whether anybody saw its date: what may be doubted of it.
    static void tell_what_it_rests_on(const FieldRisk& risk, models::FieldSeason& entry) {
        if (!risk.station.empty()) entry.risk_weather_km = risk.station_distance_m / 1000.0;
        const models::DateBasis basis = risk.flowering.basis;
        entry.date_observed = basis == models::DateBasis::observed || basis == models::DateBasis::none;
    }

    /// The published ratios that the record calls for and the disease risk does not hold already. What the record
    /// leaves open is part of what fields differ by (the field effect), and no term of its own.
    std::vector<std::size_t> ratios_of(const models::CropRecord& crop, const models::DiseaseModel& model) {
        std::vector<std::size_t> held_by_field;
        for (const models::DonModifier& modifier : models::don_modifiers(crop, model).terms) {
            if (modifier.held || modifier.share == 0.0) continue;
            const auto [known, fresh] = ratio_by_factor_.try_emplace(modifier.factor, view_.input.ratios.size());
            if (fresh) view_.input.ratios.push_back({in_words(modifier.factor), modifier.log_ratio, modifier.ratio_sd});
            held_by_field.push_back(known->second);
        }
        return held_by_field;
    }

    /// The field-seasons that grain of a field came from, with their shares: the crop record of the part, of the field,
    /// or those of all its parts by area.
    std::vector<models::GrainShare> ground_of(const std::string& field, const std::string& part, int season) const {
        std::vector<models::GrainShare> shares;
        const auto crops = data_.crops_by_field.find(field);
        if (crops == data_.crops_by_field.end()) return shares;
        std::optional<std::size_t> whole;
        for (const std::size_t c : crops->second) {
            const models::CropRecord& crop = data_.crops[c];
            if (crop.season != season || !view_.field_season_of[c]) continue;
            if (crop.part == part) return {{*view_.field_season_of[c], 1.0}};
            if (crop.part.empty()) whole = *view_.field_season_of[c];
            const models::Field* outline = outline_of(data_, crop.field, crop.part);
            shares.push_back({*view_.field_season_of[c], outline != nullptr ? outline->area_ha : 1.0});
        }
        if (whole) return {{*whole, 1.0}};
        double total = 0.0;
        for (const models::GrainShare& share : shares) total += share.share;
        for (models::GrainShare& share : shares) share.share /= total;
        return shares;
    }

    void add_loads() {
        for (std::size_t l = 0; l < data_.loads.size(); ++l) {
            const models::Load& load = data_.loads[l];
            const int season = season_of_load(data_, load);
            if (!is_known(season)) continue;
            if (load.commodity && !is_wheat(*load.commodity)) continue;
            models::GrainLoad entry{load.load, {}};
            double total = 0.0;
            for (const models::LoadPart& part : load.parts) total += part.share;
            for (const models::LoadPart& part : load.parts) {
                if (part.field.empty()) continue;
                const auto ground = ground_of(part.field, part.part, season);
                if (ground.empty()) {
                    notes_.add(fmt::format("its field has no wheat in {}; that part counts as bought grain", season),
                               load.load);
                }
                // Shares of more than the whole load are taken in proportion.
                for (const models::GrainShare& share : ground) {
                    entry.parts.push_back({share.field_season, share.share * part.share / std::max(1.0, total)});
                }
            }
            view_.load_of[l] = view_.input.loads.size();
            load_by_name_[load.load] = view_.input.loads.size();
            view_.input.loads.push_back(std::move(entry));
        }
    }

    /// What was taken as a sample, and from which grain, as the model knows it; nullopt (with a note) where it knows no
    /// such grain. The mass is that of the split that was ground.
    std::optional<models::GrainSample> sample_of(std::size_t s, const GrainOfSample& of, int season) {
        const models::Sample& taken = data_.samples[of.taken];
        models::GrainSample grain;
        grain.sample = taken.sample;
        grain.stage = taken.stage;
        grain.kind = taken.kind;
        grain.increments = taken.increments;
        grain.mass_g = data_.samples[s].mass_g ? data_.samples[s].mass_g : taken.mass_g;
        grain.chosen_because = taken.chosen_because;
        if (taken.stage == models::Stage::control || data_.samples[s].stage == models::Stage::control) {
            notes_.add("a control speaks of the kit, not of grain, and is not in the contamination model",
                       taken.sample);
            return std::nullopt;
        }
        if (!of.load.empty()) {
            const auto load = load_by_name_.find(of.load);
            if (load == load_by_name_.end()) {
                notes_.add("its load is not wheat of these seasons", taken.sample);
                return std::nullopt;
            }
            grain.from = models::SampledGrain::load;
            grain.index = load->second;
            return grain;
        }
        if (!of.bin.empty() || taken.stage == models::Stage::bin) return std::nullopt;  // probed_fields.h
        if (of.field.empty()) {
            notes_.add("the sample lies in no field and names none", taken.sample);
            return std::nullopt;
        }
        const auto ground = ground_of(of.field, of.part, season);
        if (ground.empty()) {
            notes_.add(fmt::format("its field has no wheat in {}", season), taken.sample);
            return std::nullopt;
        }
        if (ground.size() == 1) {
            grain.index = ground[0].field_season;
            return grain;
        }
        // A composite over a field whose parts are booked apart: a mix of the parts, as a load of them would be.
        grain.from = models::SampledGrain::load;
        grain.index = view_.input.loads.size();
        view_.input.loads.push_back({taken.sample, ground});
        return grain;
    }

    void add_results() {
        std::map<std::size_t, std::size_t> place_of;  // by the sample that was taken, whose error its splits share
        for (const models::Test& test : data_.tests) {
            if (test.reading == models::Reading::invalid) continue;
            const int season = season_of_test(data_, test);
            if (!is_known(season)) continue;
            const auto s = sample_index(data_, test.sample);
            if (!s) continue;
            const GrainOfSample of = grain_of_sample(data_, *s);
            auto known = place_of.find(of.taken);
            if (known == place_of.end()) {
                auto sample = sample_of(*s, of, season);
                if (!sample) continue;
                known = place_of.emplace(of.taken, view_.input.samples.size()).first;
                view_.input.samples.push_back(std::move(*sample));
            }
            const TestContent content = noted_content(test, with_moisture(data_, *s), settings_.basis, notes_);
            models::AssayResult result;
            result.test = test.test;
            result.sample = known->second;
            result.reading = content.reading;
            result.don_mg_per_kg = content.don_mg_per_kg;
            result.method = test.method;
            result.kit_lot = test.kit_lot;
            result.portion_g = content.procedure.portion_g;
            result.standard_uncertainty_mg_per_kg = content.standard_uncertainty_mg_per_kg;
            const auto strip = data_.strips.find(test.test);
            if (strip != data_.strips.end() && strip->second.variance)
                result.curve_log_variance = strip->second.variance->total();
            view_.input.results.push_back(std::move(result));
        }
    }

    const SeasonData& data_;
    const ContaminationSettings& settings_;
    ContaminationView view_;
    Counted notes_;
    std::map<std::string, std::size_t> load_by_name_;
    std::map<models::DonFactor, std::size_t> ratio_by_factor_;
};

/// What was published of a way of keeping fields, and what the results say of it.
void tell_ratios(ContaminationView& view) {
    const auto words = [](double factor, double low, double high) {
        return fmt::format("times {:.2f} ({:.2f} to {:.2f})", factor, low, high);
    };
    for (const models::Learnt::Ratio& learnt : view.model->learnt().ratios) {
        for (const models::PublishedRatio& published : view.input.ratios) {
            if (published.what != learnt.what) continue;
            const double reach = 1.6448536269514722 * published.sd;
            view.notes.push_back(fmt::format("{}, {}: DON {} as published, {} with these results", published.what,
                                             models::counted(learnt.fields, "field-season"),
                                             words(std::exp(published.log_ratio), std::exp(published.log_ratio - reach),
                                                   std::exp(published.log_ratio + reach)),
                                             words(learnt.factor, learnt.low90, learnt.high90)));
        }
    }
}

}  // namespace

std::string contradiction_of_field(const ContaminationView& view, const SeasonData& data, std::size_t field_season) {
    if (view.ranking_only()) return "";
    for (const models::Learnt::Contradiction& found : view.model->learnt().contradictions) {
        bool own = false;
        std::vector<std::string> others;
        for (const std::size_t f : found.field_seasons) {
            const models::CropRecord& crop = data.crops[view.crop_of[f]];
            if (f == field_season)
                own = true;
            else
                others.push_back(fmt::format("field {}{}", ground_name(crop.field, crop.part),
                                             crop.season == data.crops[view.crop_of[field_season]].season
                                                 ? ""
                                                 : fmt::format(" of {}", crop.season)));
        }
        if (!own) continue;
        for (const std::size_t l : found.loads) others.push_back("load " + view.input.loads[l].load);
        std::string names;
        for (std::size_t i = 0; i < others.size(); ++i)
            names += (i == 0 ? "" : i + 1 == others.size() ? " and " : ", ") + others[i];
        const auto results =
            std::count_if(view.input.results.begin(), view.input.results.end(), [&](const models::AssayResult& result) {
                const models::GrainSample& sample = view.input.samples[result.sample];
                return sample.from == models::SampledGrain::field_season && sample.index == field_season;
            });
        const char* const own_words = results == 1 ? "its own test" : "its own tests";
        return others.empty()
                   ? "its own tests contradict one another: look for a mix-up and test again"
                   : fmt::format("{} and the tests of {} contradict one another: look for a mix-up and test again",
                                 own_words, names);
    }
    return models::spoken(samples_contradict);
}

ContaminationView contamination_input(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                      const ContaminationSettings& settings) {
    ContaminationView view = ModelInput(data, risks, settings).take();
    if (view.input.field_seasons.empty() && view.input.loads.empty()) return view;
    ErrorsInUse errors = errors_in_use(data, settings.own_duplicates);
    for (std::string& note : errors.notes) view.notes.push_back(std::move(note));
    view.strip_error = errors.strip;
    view.laboratory_error = errors.laboratory;
    return view;
}

ContaminationView contamination_of_season(const SeasonData& data, const std::vector<FieldRisk>& risks,
                                          const ContaminationSettings& settings, const models::Progress& progress,
                                          const ContaminationView* known) {
    ContaminationView view = contamination_input(data, risks, settings);
    if (view.input.field_seasons.empty() && view.input.loads.empty()) return view;
    models::ContaminationSettings how;
    how.threads = settings.threads;
    how.parameters = settings.parameters;
    how.strip_error = view.strip_error;
    how.laboratory_error = view.laboratory_error;
    for (auto& [lot, effect] :
         kit_lot_effects(data, view.strip_error, view.laboratory_error, models::ContaminationPriors{}.lot_sd_scale))
        view.input.lots_compared.push_back(std::move(effect));
    const bool same = known != nullptr && known->model && known->input == view.input &&
                      known->strip_error == view.strip_error && known->laboratory_error == view.laboratory_error;
    view.model = same ? *known->model : models::fit_contamination(view.input, {}, how, progress);
    if (!view.model->ranking_only()) tell_ratios(view);
    if (const auto& region = view.model->learnt().region)
        view.notes.push_back("near fields alike beyond their risk and season: " + region->sentence);
    const auto foreseen = std::count_if(risks.begin(), risks.end(), [&](const FieldRisk& risk) {
        return risk.forecast && risk.risk.season == settings.season && risk.risk.value;
    });
    if (foreseen > 0) {
        view.notes.push_back(
            fmt::format("the disease risk of {} rests on hours that are forecast", models::counted(foreseen, "field")));
    }
    if (std::string changed = models::note_of_changed_source(weather_sources(risks)); !changed.empty())
        view.notes.push_back(std::move(changed));
    return view;
}

}  // namespace app
