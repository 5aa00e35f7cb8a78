#include "app/workflow.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "app/stages/limits_stage.h"
#include "geo/check.h"
#include "geo/store/kept_forecasts.h"
#include "geo/store/store.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

models::Progress share_of(const models::Progress& progress, double from, double to) {
    return models::Progress([&progress, from, to](std::string_view what, double share) {
        progress.step(what, from + share * (to - from));
        return true;
    });
}

std::vector<FieldView> fields_of_season(const SeasonView& view) {
    std::vector<FieldView> fields;
    std::vector<const FieldRisk*> risk_by_crop(view.data.crops.size(), nullptr);
    for (const FieldRisk& risk : view.risks) risk_by_crop[risk.crop] = &risk;
    std::vector<int> load_tests(view.contamination.input.field_seasons.size(), 0);
    for (const models::AssayResult& result : view.contamination.input.results) {
        const models::GrainSample& sample = view.contamination.input.samples[result.sample];
        if (sample.from != models::SampledGrain::load) continue;
        for (const models::GrainShare& part : view.contamination.input.loads[sample.index].parts) {
            ++load_tests[part.field_season];
        }
    }
    // Of each grain once: it is found among all limits and crops.
    std::map<models::Crop, std::optional<models::Limit>> limits_of_grain;
    const auto limit_of = [&](models::Crop crop) -> const std::optional<models::Limit>& {
        const auto known = limits_of_grain.find(crop);
        if (known != limits_of_grain.end()) return known->second;
        return limits_of_grain[crop] = limit_of_grain(view.data, view.season, *view.limit, crop);
    };
    for (std::size_t c = 0; c < view.data.crops.size(); ++c) {
        const models::CropRecord& crop = view.data.crops[c];
        if (crop.season != view.season) continue;
        FieldView field;
        field.crop = c;
        field.name = ground_name(crop.field, crop.part);
        field.outline = outline_of(view.data, crop.field, crop.part);
        if (risk_by_crop[c] != nullptr) field.risk = risk_by_crop[c]->risk.value;
        const auto index =
            c < view.contamination.field_season_of.size() ? view.contamination.field_season_of[c] : std::nullopt;
        if (!index) {
            field.note = models::phrase("no wheat this season: {}", models::in_words(crop.crop));
        } else if (view.contamination.ranking_only()) {
            field.note = models::phrase("no DON result in the store: a ranking only");
        } else {
            field.content = view.probed.content(*view.contamination.model, *index);
            field.tests = field.content->tests;
            if (field.content->contradicted) field.note = contradiction_of_field(view.contamination, view.data, *index);
            field.load_tests = load_tests[*index];
            field.bin_probes = view.probed.probes_of(*index);
            const auto chance_over = [&](const models::Limit& limit) {
                return view.probed.exceedance(*view.contamination.model, *index,
                                              models::breaking_point(limit).mg_per_kg);
            };
            if (view.limit) {
                field.exceedance = chance_over(*view.limit);
                if (const auto& other = limit_of(crop.crop)) field.of_its_grain = {*other, chance_over(*other)};
            }
        }
        fields.push_back(std::move(field));
    }
    std::sort(fields.begin(), fields.end(), [](const FieldView& a, const FieldView& b) { return a.name < b.name; });
    return fields;
}

/// Which limit the fields of another grain are judged by, and which speaks of them.
void tell_other_grain(SeasonView& view) {
    std::vector<std::string> names;
    const FieldView* last = nullptr;
    for (const FieldView& field : view.fields) {
        if (!field.of_its_grain) continue;
        names.push_back(field.name);
        last = &field;
    }
    if (last == nullptr) return;
    const models::Limit& other = last->of_its_grain->limit;
    const std::string grain = models::in_words(view.data.crops[last->crop].crop);
    view.other_grain = fmt::format(
        "{}: {}, judged by the limit that was asked for, {} mg/kg, as all fields; the store's limit of {} is {}, {} "
        "mg/kg (--limit {})",
        fmt::join(names, "; "), grain, models::number_in_words(*view.limit), grain, other.limit_id,
        models::number_in_words(other), other.limit_id);
    view.contamination.notes.push_back(view.other_grain);
}

[[noreturn]] void refuse_season(const geo::Store& store, const SeasonData& data, const std::string& asked) {
    std::string known;
    for (const int season : data.seasons) known += (known.empty() ? "" : ", ") + std::to_string(season);
    throw models::Error(models::phrase("the store has no crop records of {}", asked), store.file().filename().string(),
                        known.empty() ? models::phrase("it has none at all") : models::phrase("it has {}", known));
}

bool has_wheat_fields(const SeasonView& view) {
    for (std::size_t c = 0; c < view.data.crops.size(); ++c)
        if (view.data.crops[c].season == view.season && view.contamination.field_season_of[c]) return true;
    return false;
}

RiskSettings risk_settings(const Question& question) {
    RiskSettings how;
    how.model = question.risk_model;
    how.include_unconfirmed = question.include_unconfirmed;
    how.as_of = question.as_of;
    how.weather = question.weather;
    how.all_seasons = question.upto != Upto::risk;
    how.threads = question.threads;
    return how;
}

}  // namespace

SeasonView look_at_season(const geo::Store& store, const Question& question, const models::Progress& progress) {
    SeasonMemory memory;
    return look_at_season(store, question, progress, memory);
}

namespace {

constexpr std::size_t most_tests_kept = 5000;  // ours: some seven megabytes

/// Of the whole job. `beside`: what a fit says of grain is kept in files beside the store.
SeasonView look(const geo::Store& store, const Question& question, const models::Progress& progress,
                SeasonMemory& memory, bool beside) {
    SeasonView view;
    SeasonMemory::Inputs inputs;
    inputs.last_record = geo::end_of_chain(store).sha256;
    if (const auto known = memory.data.latest([&](const std::string& of) { return of == inputs.last_record; })) {
        view.data = *known;
    } else {
        view.data = read_season_data(store);
        // Who asks once needs no second copy; of many tests it is tens of megabytes, and reading them again is short
        // beside their fit.
        if (!beside && view.data.tests.size() <= most_tests_kept)
            memory.data.get(inputs.last_record, [&] { return view.data; });
    }
    view.season = question.season.value_or(newest_season(view.data));
    if (!std::binary_search(view.data.seasons.begin(), view.data.seasons.end(), view.season))
        refuse_season(store, view.data, models::phrase("season {}", view.season));
    if (!question.limit.empty()) view.limit = limit_for_season(view.data, question.limit, view.season);

    if (question.as_of && question.upto != Upto::risk) {
        if (question.hindsight)
            throw models::Error("what came later is known with hindsight, and unknown as of a day", "",
                                "leave one of them away");
        leave_out_later(view.data, *question.as_of);
    }

    // What the weather says of every field, in this season and, to learn from, in the ones before.
    view.how = risk_settings(question);
    inputs.risk_model = view.how.model;
    inputs.include_unconfirmed = view.how.include_unconfirmed;
    inputs.as_of = view.how.as_of;
    inputs.weather = view.how.weather;
    inputs.all_seasons = view.how.all_seasons;
    inputs.season = view.season;
    view.risks = *memory.risks.get(
        inputs, [&] { return risks_of_season(store, view.data, view.season, view.how, share_of(progress, 0.0, 0.2)); });
    view.fields = fields_of_season(view);
    tell_other_grain(view);
    if (question.upto == Upto::risk) return view;

    // Risk and results of all seasons in one model. No limit has a part in it, only the basis that one speaks of.
    ContaminationSettings contamination;
    contamination.season = view.season;
    contamination.hindsight = inputs.hindsight = question.hindsight;
    contamination.own_duplicates = inputs.own_duplicates = question.own_duplicates;
    contamination.parameters = inputs.parameters = question.parameters;
    contamination.threads = question.threads;
    // What is known as of a past day is asked for once and not at the pit.
    const bool keeps = beside && !question.as_of && !question.hindsight;
    const auto keep = [&](const ContaminationView& fitted) {
        if (keeps && contamination.basis == models::Basis::as_is)
            keep_fit(kept_fit_file(store.file()), fit_rests_on(fitted, contamination), fitted, view.season);
    };
    const auto fit_on = [&](models::Basis basis, double from, double to) {
        contamination.basis = inputs.basis = basis;
        const auto fitted = memory.fits.get(inputs, [&] {
            const auto known = memory.fits.latest([&](const SeasonMemory::Inputs& other) {
                SeasonMemory::Inputs like = other;
                like.last_record = inputs.last_record;
                like.spoken = inputs.spoken;
                return like == inputs;
            });
            return contamination_of_season(view.data, view.risks, contamination, share_of(progress, from, to),
                                           known.get());
        });
        keep(*fitted);
        return fitted;
    };
    BinsSettings bins;
    bins.season = view.season;
    bins.next = question.next_load;
    bins.upper_cap = question.upper_cap;
    bins.ahead = question.bins_ahead;
    bins.own_duplicates = question.own_duplicates;
    bins.threads = question.threads;
    if (keeps && question.upto == Upto::bins && !question.bins_ahead && question.bins_zones.empty()) {
        view.contamination = contamination_input(view.data, view.risks, contamination);
        if (!question.all_grain) bins.kept_bins = kept_bins_file(store.file());
        const FitRestsOn rests_on = fit_rests_on(view.contamination, contamination);
        auto kept = KeptFit::open(kept_fit_file(store.file()), rests_on, view.contamination);
        // Later results weigh on what was kept where one truck waits on the scale; plan, queue and lots are told from a
        // fit of all results, as the window tells them.
        if (kept && !question.next_load && !kept->new_results().empty()) kept.reset();
        if (kept) {
            bool damaged = false;
            bins.fit_key = kept->key();
            const auto ask = [&](const FitAsked& asked) {
                auto fit = kept->fit(asked);
                damaged = !fit;
                return damaged ? GrainFit{} : std::move(*fit);
            };
            view.bins = bins_of_season(view.data, view.contamination, bins, ask);
            if (!damaged) return view;
            forget_kept(kept_fit_file(store.file()));
        }
        const auto fitted = fit_on(models::Basis::as_is, 0.2, 0.9);
        bins.fit_key = rests_on.key();
        view.bins = bins_of_season(view.data, *fitted, bins, share_of(progress, 0.9, 1.0));
        return view;
    }
    view.contamination = *fit_on(view.limit ? view.limit->basis : models::Basis::as_is, 0.2, 0.6);
    if (view.how.weather.way != models::WeatherWay::nearest) {
        view.contamination.notes.push_back(
            fmt::format("the weather of each field is that of the stations around it, by {}",
                        models::name_of(view.how.weather.way)));
    }
    view.probed =
        *memory.probed.get(inputs, [&] { return ProbedFields(view.data, view.contamination, contamination); });
    view.contamination.notes.insert(view.contamination.notes.end(), view.probed.notes().begin(),
                                    view.probed.notes().end());
    view.fields = fields_of_season(view);
    tell_other_grain(view);
    if (question.upto == Upto::contamination) return view;

    // Inside a field only where the samples show that there is something to draw.
    const bool everything = question.upto == Upto::everything;
    if (view.limit && (question.upto == Upto::map || everything)) {
        const auto within = memory.within.get(
            inputs, [&] { return maps_within_fields(view.data, contamination, share_of(progress, 0.6, 0.75)); });
        view.within = within->fields;
        for (WithinField& field : view.within) give_exceedance(field, *view.limit);
        view.evidence = within->structure;
        view.structure = structure_of(*within);
    }

    // Where the next test is worth most.
    if (view.limit && (question.upto == Upto::first || everything)) {
        OrderSettings order = question.order;
        order.season = view.season;
        order.threads = question.threads;
        // A mill that buys its grain has no fields to rank, and bins all the same.
        if (!everything || has_wheat_fields(view))
            view.order = order_of_fields(view.data, view.risks, view.contamination, *view.limit, order,
                                         share_of(progress, 0.75, 0.9));
    }

    // What is in the bins, and where each waiting load goes, by the limits that the bins name. Contents of loads are
    // kept as is, whatever the map's basis.
    if (question.upto == Upto::bins || (everything && !view.data.bins.empty())) {
        const auto fit = fit_on(models::Basis::as_is, 0.9, 0.95);
        inputs.upper_cap = question.upper_cap;
        inputs.bins_ahead = question.bins_ahead;
        inputs.next_load = question.next_load.value_or("");
        const auto plan = [&] { return bins_of_season(view.data, *fit, bins, share_of(progress, 0.95, 1.0)); };
        try {
            if (question.bins_zones.empty()) {
                view.bins = *memory.bins.get(inputs, plan);
            } else {  // a file may be another the next time
                bins.zones = read_zones(view.data, question.bins_zones);
                bins.structure =
                    memory.within.get(inputs, [&] { return maps_within_fields(view.data, contamination); })->structure;
                view.bins = plan();
            }
        } catch (const models::Error& error) {
            if (!everything) throw;
            view.no_bins = error.what();
        }
    }
    return view;
}

}  // namespace

SeasonView look_at_season(const geo::Store& store, const Question& question, const models::Progress& progress,
                          SeasonMemory& memory) {
    return look(store, question, progress, memory, false);
}

SeasonView look_at_season_from_kept(const geo::Store& store, const Question& question,
                                    const models::Progress& progress) {
    SeasonMemory memory;
    return look(store, question, progress, memory, true);
}

RisksByModels look_at_models(const geo::Store& store, const Question& question,
                             const std::vector<const models::DiseaseModel*>& by, const models::Progress& progress) {
    RisksByModels out{read_season_data(store), 0, risk_settings(question), by, {}};
    out.how.all_seasons = false;
    out.season = question.season.value_or(newest_season(out.data));
    if (records_of_seasons(out.data, out.season, out.season).empty())
        refuse_season(store, out.data, fmt::format("season {}", out.season));
    out.risks = risks_by_models(store, out.data, out.season, out.how, by, progress);
    return out;
}

SeasonsSideBySide look_over_seasons(const geo::Store& store, const Question& question, const SeasonRange& seasons,
                                    const std::vector<const models::DiseaseModel*>& by, bool reasons,
                                    const models::Progress& progress) {
    SeasonsSideBySide out{read_season_data(store), seasons, risk_settings(question), {}};
    if (records_of_seasons(out.data, seasons.first, seasons.last).empty()) {
        refuse_season(store, out.data,
                      seasons.first == seasons.last
                          ? fmt::format("season {}", seasons.first)
                          : fmt::format("any season from {} to {}", seasons.first, seasons.last));
    }
    out.over = risks_over_seasons(store, out.data, seasons.first, seasons.last, out.how, by, reasons, progress);
    return out;
}

SeasonsReviewed review_seasons(const geo::Store& store, const Question& question, const SeasonRange& seasons,
                               const std::vector<const models::DiseaseModel*>& by, const models::Progress& progress) {
    SeasonsReviewed out;
    out.side = look_over_seasons(store, question, seasons, by, false, share_of(progress, 0.0, 0.9));
    const SeasonData& data = out.side.data;
    const std::vector<int>& of = out.side.over.seasons;
    const std::vector<geo::KeptForecast> forecasts = geo::kept_forecasts(store);
    // Without a day: a limit of past seasons may not be in force any more.
    if (!question.limit.empty()) {
        out.limit = models::limit_from_text(question.limit, data.limits);
    } else {
        out.limit = limit_of_most_forecasts(forecasts, of, data.limits);
        out.limit_of_forecasts = out.limit.has_value();
    }

    // The results of the fields, on the limit's basis.
    std::vector<FieldResults> results;
    for (const int season : of)
        results.push_back(field_results(data, season, out.limit ? out.limit->basis : models::Basis::as_is, out.limit));
    out.risks = review_risks(data, out.side.over, store.scouting(), out.limit, results);
    out.forecasts = review_forecasts(data, of, forecasts, out.limit, results);
    out.strips = strips_over_seasons(data, of, forecasts, out.limit);
    return out;
}

SeasonCount count_of(const SeasonView& view) {
    SeasonCount count;
    for (const FieldView& field : view.fields) (field.content ? count.fields : count.fields_without) += 1;
    const models::ContaminationInput& input = view.contamination.input;
    const auto is_now = [&](std::size_t field_season) {
        return input.field_seasons[field_season].season == view.season;
    };
    for (const models::AssayResult& result : input.results) {
        const models::GrainSample& sample = input.samples[result.sample];
        if (sample.from == models::SampledGrain::field_season) count.field_results += is_now(sample.index) ? 1 : 0;
        if (sample.from != models::SampledGrain::load) continue;
        const auto& parts = input.loads[sample.index].parts;
        count.load_results += std::any_of(parts.begin(), parts.end(),
                                          [&](const models::GrainShare& part) { return is_now(part.field_season); })
                                  ? 1
                                  : 0;
    }
    std::set<std::string> probes;
    for (const FieldView& field : view.fields) probes.insert(field.bin_probes.begin(), field.bin_probes.end());
    for (const models::Test& test : view.data.tests) {
        if (season_of_test(view.data, test) != view.season) continue;
        const auto sample = sample_index(view.data, test.sample);
        const bool of_probe =
            sample && probes.count(view.data.samples[grain_of_sample(view.data, *sample).taken].sample) != 0;
        count.bin_probes += of_probe ? 1 : 0;
        count.results_left_out += of_probe ? 0 : 1;
    }
    count.results_left_out -= count.field_results + count.load_results;
    return count;
}

std::string in_words(const SeasonCount& count) {
    using models::counted, models::phrase, models::spoken, models::word;
    std::string text = phrase("{} with a number", counted(count.fields, spoken(word("field")), spoken(word("fields"))));
    if (count.fields_without > 0) text += phrase(" ({} more without)", count.fields_without);
    text += phrase(
        ", from {} of field samples and {} of loads",
        counted(count.field_results, spoken(word("from so many", "result")), spoken(word("from so many", "results"))),
        count.load_results);
    if (count.bin_probes > 0) text += phrase(", and {} of probes of bins", count.bin_probes);
    if (count.results_left_out > 0) {
        text += phrase("; {} (void, controls, other grain) not in them",
                       counted(count.results_left_out, spoken(word("test")), spoken(word("tests"))));
    }
    return text;
}

std::vector<std::string> control_notes(const SeasonView& view) {
    std::vector<std::string> notes;
    for (const models::FailedControl& control : failed_controls(view.data, view.season)) {
        notes.push_back(models::in_words(control));
    }
    return notes;
}

std::vector<std::string> control_notes_in_short(const SeasonView& view) {
    std::vector<std::string> notes = models::in_short(failed_controls(view.data, view.season));
    if (!notes.empty()) notes.back() += fmt::format("; `lodicule control STORE --season {}` says why", view.season);
    return notes;
}

const FieldRisk* risk_of(const SeasonView& view, std::size_t crop) {
    for (const FieldRisk& risk : view.risks) {
        if (risk.crop == crop) return &risk;
    }
    return nullptr;
}

}  // namespace app
