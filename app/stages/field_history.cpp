#include "app/stages/field_history.h"

#include <algorithm>
#include <tuple>

#include <fmt/format.h>

#include "app/stages/review_stage.h"
#include "models/disease/catalogue.h"
#include "models/error.h"
#include "models/nearest_names.h"
#include "models/spoken.h"

namespace app {

namespace {

[[noreturn]] void refuse_field(const SeasonData& data, const std::string& field, int first, int last) {
    if (data.crops_by_field.count(field) != 0) {
        std::string seasons;
        for (const std::size_t c : data.crops_by_field.at(field)) {
            const std::string season = std::to_string(data.crops[c].season);
            if (seasons.find(season) == std::string::npos) seasons += (seasons.empty() ? "" : ", ") + season;
        }
        throw models::Error(models::phrase("field {} has no crop record in {}-{}", field, first, last), "--field",
                            models::phrase("it has records of {}", seasons));
    }
    std::vector<std::string> known;
    for (const auto& [name, crops] : data.crops_by_field) known.push_back(name);
    throw models::Error(models::phrase("no crop record is of a field \"{}\"", field), "--field",
                        models::mend_of_unknown_name(field, known, "lodicule export STORE crops --out -"));
}

/// Results of the loads that hold grain of a crop record.
int results_of_loads(const ContaminationView& contamination, std::size_t field_season) {
    const models::ContaminationInput& input = contamination.input;
    int count = 0;
    for (const models::AssayResult& result : input.results) {
        const models::GrainSample& sample = input.samples[result.sample];
        if (sample.from != models::SampledGrain::load) continue;
        const auto& parts = input.loads[sample.index].parts;
        count += std::any_of(parts.begin(), parts.end(),
                             [&](const models::GrainShare& part) { return part.field_season == field_season; })
                     ? 1
                     : 0;
    }
    return count;
}

}  // namespace

FieldHistory history_of_field(const SeasonView& view, const std::vector<models::Scouting>& scouting,
                              const std::string& field, int first) {
    const SeasonData& data = view.data;
    const models::DiseaseModel& model = view.how.model.empty()
                                            ? models::default_model()
                                            : models::find_model(view.how.model, view.how.include_unconfirmed);
    FieldHistory history;
    history.field = field;
    history.model = model.name;
    history.kind = model.kind;
    history.known_up_to = view.season;
    if (const models::Field* outline = outline_of(data, field, "")) {
        history.name = outline->name;
        history.grower = outline->grower;
        history.area_ha = outline->area_ha;
    }

    RisksOverSeasons over;  // as much of it as severity asks for
    std::vector<std::size_t> crops;
    if (const auto known = data.crops_by_field.find(field); known != data.crops_by_field.end()) crops = known->second;
    std::erase_if(crops,
                  [&](std::size_t c) { return data.crops[c].season < first || data.crops[c].season > view.season; });
    if (crops.empty()) refuse_field(data, field, first, view.season);
    for (const std::size_t c : crops) {
        const FieldRisk* risk = risk_of(view, c);
        over.records.push_back(c);
        over.flowering.push_back(risk != nullptr && risk->flowering.day ? risk->flowering.day
                                                                        : models::flowering_day(data.crops[c]));
        over.seasons.push_back(data.crops[c].season);
    }
    std::sort(over.seasons.begin(), over.seasons.end());
    over.seasons.erase(std::unique(over.seasons.begin(), over.seasons.end()), over.seasons.end());
    std::vector<models::Scouting> visits;
    std::copy_if(scouting.begin(), scouting.end(), std::back_inserter(visits),
                 [&](const models::Scouting& visit) { return visit.field == field; });
    const ScoutingUsed severity = severity_found(data, over, visits);

    for (std::size_t r = 0; r < over.records.size(); ++r) {
        const std::size_t c = over.records[r];
        const models::CropRecord& crop = data.crops[c];
        FieldYear year;
        year.season = crop.season;
        year.part = crop.part;
        year.crop = crop.crop;
        year.cultivar = crop.cultivar;
        year.flowering = over.flowering[r];
        year.flowering_observed =
            models::flowering_day(crop).has_value() && crop.flowering_source != models::FloweringSource::estimated;
        if (const FieldRisk* risk = risk_of(view, c)) {
            year.risk = risk->risk.value;
            year.risk_low = risk->risk.low;
            year.risk_high = risk->risk.high;
        }
        const auto index = view.contamination.field_season_of[c];
        if (index && !view.contamination.ranking_only()) {
            year.content = view.probed.content(*view.contamination.model, *index);
            year.tests = year.content->tests;
            year.load_tests = results_of_loads(view.contamination, *index);
            if (view.limit)
                year.exceedance = view.probed.exceedance(*view.contamination.model, *index,
                                                         models::breaking_point(*view.limit).mg_per_kg);
        }
        for (const SeverityFound& found : severity.found) {
            if (found.record != r) continue;
            year.severity_pct = found.severity_pct;
            year.scouted = found.day;
        }
        history.years.push_back(std::move(year));
    }
    std::sort(history.years.begin(), history.years.end(), [](const FieldYear& a, const FieldYear& b) {
        return std::tie(a.season, a.part) < std::tie(b.season, b.part);
    });
    return history;
}

}  // namespace app
