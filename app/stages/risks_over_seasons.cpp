#include "app/stages/risks_over_seasons.h"

#include <algorithm>
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
        const std::lock_guard<std::mutex> one_at_a_time(names);
        // A model without weather looked at no date.
        if (told.flowering.day) over.flowering[record] = told.flowering.day;
        if (told.station.empty()) return;
        const std::string* before = model > 0 ? over.risks[model - 1][record].source : nullptr;
        here.source = before != nullptr && *before == told.station ? before : &*over.sources.insert(told.station).first;
        if (told.risk.value) kinds.insert({told.risk.season, told.source});
    };
    tell_risks(store, data, over.records, numbers_only, by, keep, progress);

    std::vector<models::SourceOfSeason> of_seasons;
    for (const auto& [season, kind] : kinds) of_seasons.push_back({season, kind});
    over.changed_source = models::note_of_changed_source(std::move(of_seasons));
    return over;
}

}  // namespace app
