#include "app/stages/risks_over_seasons.h"

#include <algorithm>
#include <map>
#include <mutex>
#include <set>
#include <utility>

namespace app {

RisksOverSeasons risks_over_seasons(const geo::Store& store, const SeasonData& data, int first, int last,
                                    const RiskSettings& settings, const std::vector<const models::DiseaseModel*>& by,
                                    const models::Progress& progress) {
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
    std::map<std::string, std::uint32_t> number_of = {{"", 0}};
    std::set<std::pair<int, models::WeatherSource>> kinds;
    std::mutex names;
    const auto keep = [&](std::size_t model, std::size_t record, const FieldRisk& told) {
        RiskInShort& here = over.risks[model][record];
        here = {told.risk.value,        told.risk.low,        told.risk.high, told.risk.coverage, 0,
                told.risk.extrapolated, told.risk.unconfirmed};
        const std::lock_guard<std::mutex> one_at_a_time(names);
        // A model without weather looked at no date.
        if (told.flowering.day) over.flowering[record] = told.flowering.day;
        here.source = number_of.try_emplace(told.station, static_cast<std::uint32_t>(number_of.size())).first->second;
        if (told.risk.value && !told.station.empty()) kinds.insert({told.risk.season, told.source});
    };
    tell_risks(store, data, over.records, numbers_only, by, keep, progress);

    over.sources.resize(number_of.size());
    for (const auto& [name, number] : number_of) over.sources[number] = name;
    std::vector<models::SourceOfSeason> of_seasons;
    for (const auto& [season, kind] : kinds) of_seasons.push_back({season, kind});
    over.changed_source = models::note_of_changed_source(std::move(of_seasons));
    return over;
}

}  // namespace app
