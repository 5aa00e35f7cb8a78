#include "app/stages/risks_over_seasons.h"

#include <algorithm>
#include <chrono>
#include <mutex>
#include <set>
#include <utility>

namespace app {

namespace {

/// The same day of the calendar; 28 February where a 29th is none.
models::LocalDay years_earlier(models::LocalDay day, int years) {
    const std::chrono::year_month_day date{day};
    std::chrono::year_month_day earlier{date.year() - std::chrono::years(years), date.month(), date.day()};
    if (!earlier.ok()) earlier = {earlier.year(), earlier.month(), std::chrono::day{28}};
    return models::LocalDay{std::chrono::local_days{earlier}};
}

/// Records of one season without a number by any of the models, once more in sentences.
void ask_why_without(const geo::Store& store, const SeasonData& data, const RiskSettings& settings,
                     const std::vector<std::size_t>& of_season, RisksOverSeasons& over) {
    std::vector<std::size_t> places, records;
    for (const std::size_t r : of_season) {
        if (std::all_of(over.risks.begin(), over.risks.end(),
                        [&](const std::vector<RiskInShort>& of_model) { return of_model[r].value.has_value(); }))
            continue;
        places.push_back(r);
        records.push_back(over.records[r]);
    }
    if (records.empty()) return;
    RiskSettings in_sentences = settings;
    in_sentences.sentences = true;
    std::mutex one_at_a_time;
    tell_risks(store, data, records, in_sentences, over.by,
               [&](std::size_t model, std::size_t record, FieldRisk&& told) {
                   if (told.risk.value) return;
                   std::vector<std::string> why = std::move(told.risk.missing);
                   if (why.empty()) why = std::move(told.risk.notes);
                   const std::lock_guard<std::mutex> mine(one_at_a_time);
                   over.without[{model, places[record]}] = std::move(why);
               });
}

}  // namespace

RisksOverSeasons risks_over_seasons(const geo::Store& store, const SeasonData& data, int first, int last,
                                    const RiskSettings& settings, const std::vector<const models::DiseaseModel*>& by,
                                    bool reasons, const models::Progress& progress) {
    RisksOverSeasons over;
    over.by = by;
    over.records = records_of_seasons(data, first, last);
    for (const std::size_t c : over.records) over.seasons.push_back(data.crops[c].season);
    std::sort(over.seasons.begin(), over.seasons.end());
    over.seasons.erase(std::unique(over.seasons.begin(), over.seasons.end()), over.seasons.end());
    over.flowering.resize(over.records.size());
    over.risks.assign(by.size(), std::vector<RiskInShort>(over.records.size()));

    RiskSettings numbers_only = settings;
    numbers_only.sentences = false;
    std::set<std::pair<int, models::WeatherSource>> kinds;
    std::mutex names;
    const auto keep = [&](std::size_t model, std::size_t record, FieldRisk&& told) {
        RiskInShort& here = over.risks[model][record];
        here.value = told.risk.value;
        here.low = told.risk.low;
        here.high = told.risk.high;
        here.coverage = told.risk.coverage;
        here.extrapolated = told.risk.extrapolated;
        here.unconfirmed = told.risk.unconfirmed;
        here.forecast = told.forecast;
        here.passed_over = !told.passed_over.empty();
        const std::lock_guard<std::mutex> one_at_a_time(names);
        // A model without weather looked at no date.
        if (told.flowering.day) over.flowering[record] = told.flowering.day;
        if (told.station.empty()) return;
        const std::string* before = model > 0 ? over.risks[model - 1][record].source : nullptr;
        here.source = before != nullptr && *before == told.station ? before : &*over.sources.insert(told.station).first;
        if (told.risk.value) kinds.insert({told.risk.season, told.source});
    };
    for (std::size_t s = 0; s < over.seasons.size(); ++s) {
        std::vector<std::size_t> places;
        for (std::size_t r = 0; r < over.records.size(); ++r) {
            if (data.crops[over.records[r]].season == over.seasons[s]) places.push_back(r);
        }
        std::vector<std::size_t> records;
        for (const std::size_t r : places) records.push_back(over.records[r]);
        if (settings.as_of) numbers_only.as_of = years_earlier(*settings.as_of, over.seasons.back() - over.seasons[s]);
        const models::Progress so_far([&](std::string_view what, double share) {
            progress.step(what, (static_cast<double>(s) + share) / static_cast<double>(over.seasons.size()));
            return true;
        });
        const auto keep_in_season = [&](std::size_t model, std::size_t record, FieldRisk&& told) {
            keep(model, places[record], std::move(told));
        };
        tell_risks(store, data, records, numbers_only, by, keep_in_season, so_far);
        if (reasons) ask_why_without(store, data, numbers_only, places, over);
    }

    std::vector<models::SourceOfSeason> of_seasons;
    for (const auto& [season, kind] : kinds) of_seasons.push_back({season, kind});
    over.changed_source = models::note_of_changed_source(std::move(of_seasons));
    return over;
}

}  // namespace app
