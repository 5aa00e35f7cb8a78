#include "app/stages/standing_grain.h"

#include <algorithm>
#include <map>

#include "app/stages/test_content.h"
#include "geo/tables/words.h"

namespace app {

namespace {

double delivered_of(const SeasonData& data, const models::CropRecord& crop) {
    double sum = 0.0;
    for (const models::Load& load : data.loads) {
        if (!load.net_t || season_of_load(data, load) != crop.season) continue;
        for (const models::LoadPart& part : load.parts) {
            if (part.field == crop.field && part.part == crop.part) sum += *load.net_t * part.share;
        }
    }
    return sum;
}

std::string tag_of_ground(const SeasonData& data, const models::CropRecord& crop) {
    const models::Load* latest = nullptr;  // loads are in the order of time
    for (const models::Load& load : data.loads) {
        if (load.parts.size() == 1 && load.parts[0].field == crop.field && load.parts[0].part == crop.part &&
            season_of_load(data, load) <= crop.season && load.commodity.value_or(crop.crop) == crop.crop) {
            latest = &load;
        }
    }
    if (latest != nullptr) return latest->keep_apart;
    const std::string word = geo::words::word(crop.crop);
    const bool kept =
        std::any_of(data.bins.begin(), data.bins.end(), [&](const models::Bin& bin) { return bin.keep_apart == word; });
    return kept ? word : "";
}

}  // namespace

std::vector<StandingGrain> standing_grain(const SeasonData& data, const ContaminationView& view, int season,
                                          const Moistures& moistures) {
    std::map<std::pair<std::string, std::string>, std::vector<models::OwnResult>> own;
    for (const models::Test& recorded : data.tests) {
        if (recorded.reading == models::Reading::invalid || season_of_test(data, recorded) != season) continue;
        const auto s = sample_index(data, recorded.sample);
        if (!s) continue;
        const GrainOfSample grain = grain_of_sample(data, *s);
        if (grain.field.empty() || !grain.load.empty() || !grain.bin.empty() ||
            data.samples[grain.taken].kind != models::SampleKind::composite) {
            continue;
        }
        const models::Test test = as_decided_on(recorded, data.strips);
        const auto measured_pct = with_moisture(data, *s).moisture_pct;
        const double moisture = measured_pct ? *measured_pct / 100.0 : moistures.median();
        own[{grain.field, grain.part}].push_back({test.test, test.reading, test.don_mg_per_kg, test.method, test.basis,
                                                  moisture, data.samples[grain.taken].sample});
    }
    std::vector<StandingGrain> all;
    for (std::size_t c = 0; c < data.crops.size(); ++c) {
        const models::CropRecord& crop = data.crops[c];
        if (crop.season != season || c >= view.field_season_of.size() || !view.field_season_of[c]) continue;
        if (crop.status.value_or(models::FieldStatus::standing) != models::FieldStatus::standing) continue;
        const ExpectedTonnes expected = expected_tonnes(data, crop);
        StandingGrain one;
        one.grain.kind = models::GrainKind::field;
        one.grain.name = ground_name(crop.field, crop.part);
        one.delivered_t = delivered_of(data, crop);
        one.grain.mass_t = expected.tonnes - one.delivered_t;
        if (!(one.grain.mass_t > 0.05)) continue;
        one.grain.may_split = true;
        one.grain.commodity = geo::words::word(crop.crop);
        one.grain.keep_apart = tag_of_ground(data, crop);
        const models::Field* outline = outline_of(data, crop.field, crop.part);
        if (outline != nullptr) one.grain.grower = outline->grower;
        one.grain.moisture = moistures.median();
        for (const std::string& part : {crop.part, std::string()}) {
            // A composite of the whole field is of each of its parts too.
            const auto found = own.find({crop.field, part});
            if (found != own.end())
                one.grain.results.insert(one.grain.results.end(), found->second.begin(), found->second.end());
            if (crop.part.empty()) break;
        }
        one.crop = c;
        one.field_season = *view.field_season_of[c];
        one.tonnes_assumed = expected.assumed;
        one.cut = crop.expected_cut_date;
        all.push_back(std::move(one));
    }
    std::stable_sort(all.begin(), all.end(), [](const StandingGrain& a, const StandingGrain& b) {
        if (a.cut.has_value() != b.cut.has_value()) return a.cut.has_value();
        if (a.cut && *a.cut != *b.cut) return *a.cut < *b.cut;
        return a.grain.name < b.grain.name;
    });
    return all;
}

}  // namespace app
