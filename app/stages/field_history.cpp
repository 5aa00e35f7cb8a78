#include "app/stages/field_history.h"

#include <algorithm>
#include <cmath>
#include <tuple>

#include <fmt/format.h>

#include "app/stages/review_stage.h"
#include "models/assay/budget.h"
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

/// Log variance of one reading about the content of the sample that it shares with another.
double own_log_variance(const ContaminationView& contamination, const models::AssayResult& result,
                        double content_mg_per_kg) {
    constexpr double all_of_it_g = 1e12;  // the sample itself errs for both alike
    const bool strip = result.method == models::Method::strip;
    models::MeasuredResult of;
    of.reading = result.reading;
    of.don_mg_per_kg = result.don_mg_per_kg;
    of.procedure = {all_of_it_g, result.portion_g, result.analyses};
    of.error = strip ? contamination.strip_error : contamination.laboratory_error;
    of.error.own_sampling_cv.reset();
    of.curve_log_variance = result.curve_log_variance;
    if (result.standard_uncertainty_mg_per_kg) {
        const double relative = *result.standard_uncertainty_mg_per_kg / result.don_mg_per_kg;
        of.stated_relative_variance = relative * relative;
    }
    return models::log_variance_at(of, content_mg_per_kg);
}

bool is_of_field(const ContaminationView& contamination, const models::AssayResult& result, std::size_t field_season) {
    const models::GrainSample& sample = contamination.input.samples[result.sample];
    return sample.from == models::SampledGrain::field_season && sample.index == field_season;
}

FieldReading reading_of(const ContaminationView& contamination, const models::AssayResult& result) {
    return {result.test, contamination.input.samples[result.sample].sample, result.reading, result.don_mg_per_kg};
}

}  // namespace

std::vector<FieldReading> readings_of_field(const ContaminationView& contamination, std::size_t field_season) {
    std::vector<FieldReading> readings;
    for (const models::AssayResult& result : contamination.input.results)
        if (is_of_field(contamination, result, field_season)) readings.push_back(reading_of(contamination, result));
    return readings;
}

std::optional<ReadingsApart> readings_apart(const ContaminationView& contamination, std::size_t field_season,
                                            double median_mg_per_kg) {
    std::vector<const models::AssayResult*> results;
    for (const models::AssayResult& result : contamination.input.results)
        if (is_of_field(contamination, result, field_season)) results.push_back(&result);
    constexpr double one_in_a_hundred = 2.5758293035489004;
    double furthest = one_in_a_hundred;
    std::optional<ReadingsApart> apart;
    for (std::size_t i = 0; i < results.size(); ++i) {
        for (std::size_t j = i + 1; j < results.size(); ++j) {
            if (results[i]->sample != results[j]->sample) continue;
            const bool in_order = results[i]->don_mg_per_kg <= results[j]->don_mg_per_kg;
            const models::AssayResult &low = *results[in_order ? i : j], &high = *results[in_order ? j : i];
            // A bound that leaves room for the other says nothing against it.
            if (low.reading == models::Reading::above || high.reading == models::Reading::below) continue;
            const double middle = std::sqrt(low.don_mg_per_kg * high.don_mg_per_kg);
            const double sds =
                std::log(high.don_mg_per_kg / low.don_mg_per_kg) /
                std::sqrt(own_log_variance(contamination, low, middle) + own_log_variance(contamination, high, middle));
            if (sds <= furthest) continue;
            furthest = sds;
            apart = ReadingsApart{reading_of(contamination, low), reading_of(contamination, high),
                                  median_mg_per_kg < middle};
        }
    }
    return apart;
}

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
            year.readings = readings_of_field(view.contamination, *index);
            year.apart = readings_apart(view.contamination, *index, year.content->median);
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
