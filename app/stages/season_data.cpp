#include "app/stages/season_data.h"

#include <algorithm>
#include <future>
#include <set>

#include "geo/load_geography.h"
#include "geo/store/control_materials.h"
#include "geo/store/directed_loads.h"
#include "geo/store/store.h"
#include "models/decision/limit_rule.h"
#include "models/disease/disease_risk.h"
#include "models/error.h"
#include "models/season_of_day.h"

namespace app {

SeasonData read_season_data(const geo::Store& store) {
    SeasonData data;
    // The tables without places are read while that loads.
    const std::future<void> geography = geo::load_geography();
    data.crops = store.crops();
    for (models::StripReading& strip : store.strip_readings()) {
        data.tests.push_back(strip.test);
        if (strip.variance || !strip.flags.empty()) data.strips.emplace(strip.test.test, std::move(strip));
    }
    data.loads = store.loads();
    data.directed_bins = geo::directed_loads(store);
    data.bins = store.bins();
    data.moves = store.moves();
    data.limits = store.limits();
    data.contracts = store.contracts();
    data.costs = store.costs();
    data.controls = geo::control_materials(store);
    data.kit_lots = store.kit_lots();
    data.work = store.work_system();
    data.fields = store.fields();
    data.samples = store.samples();
    data.stations = store.stations();
    data.forecasts = store.forecasts();
    for (std::size_t f = 0; f < data.fields.size(); ++f) {
        data.outline_by_ground[{data.fields[f].field, data.fields[f].part}] = f;
    }
    for (std::size_t c = 0; c < data.crops.size(); ++c) data.crops_by_field[data.crops[c].field].push_back(c);
    data.load_by_name.reserve(data.loads.size());
    for (std::size_t l = 0; l < data.loads.size(); ++l) data.load_by_name[data.loads[l].load] = l;
    std::set<int> seasons;
    for (const models::CropRecord& crop : data.crops) seasons.insert(crop.season);
    data.seasons.assign(seasons.begin(), seasons.end());
    if (data.work) data.joined = geo::join_samples(data.fields, data.samples, *data.work);
    // Who only buys grain has no crop records: his seasons are those of his loads.
    if (data.seasons.empty()) {
        for (const models::Load& load : data.loads) data.seasons.push_back(season_of_load(data, load));
        std::sort(data.seasons.begin(), data.seasons.end());
        data.seasons.erase(std::unique(data.seasons.begin(), data.seasons.end()), data.seasons.end());
    }
    return data;
}

void leave_out_later(SeasonData& data, models::LocalDay day) {
    std::erase_if(data.tests, [&](const models::Test& test) { return test.time.local_day() > day; });
    std::erase_if(data.loads, [&](const models::Load& load) { return load.time.local_day() > day; });
    std::erase_if(data.moves, [&](const models::Move& move) { return move.time.local_day() > day; });
    data.load_by_name.clear();
    for (std::size_t l = 0; l < data.loads.size(); ++l) data.load_by_name[data.loads[l].load] = l;
}

std::string ground_name(const std::string& field, const std::string& part) {
    return part.empty() ? field : field + ", " + part;
}

const models::Field* outline_of(const SeasonData& data, const std::string& field, const std::string& part) {
    auto found = data.outline_by_ground.find({field, part});
    if (found == data.outline_by_ground.end()) found = data.outline_by_ground.find({field, ""});
    return found == data.outline_by_ground.end() ? nullptr : &data.fields[found->second];
}

std::optional<std::size_t> crop_of_ground(const SeasonData& data, const std::string& field, const std::string& part,
                                          int season) {
    const auto crops = data.crops_by_field.find(field);
    if (crops == data.crops_by_field.end()) return std::nullopt;
    std::optional<std::size_t> whole;
    for (const std::size_t c : crops->second) {
        const models::CropRecord& crop = data.crops[c];
        if (crop.season != season) continue;
        if (crop.part == part) return c;
        if (crop.part.empty()) whole = c;
    }
    return whole;
}

int season_of(const SeasonData& data, const std::string& field, models::LocalDay day) {
    const auto crops = data.crops_by_field.find(field);
    std::vector<models::SeasonDates> seasons;
    if (crops != data.crops_by_field.end()) {
        for (const std::size_t c : crops->second) {
            const models::CropRecord& crop = data.crops[c];
            seasons.push_back({crop.season, crop.sowing_date, crop.heading_date, models::flowering_day(crop)});
        }
    }
    return models::season_of_day(day, seasons);
}

std::optional<std::size_t> sample_index(const SeasonData& data, const std::string& sample) {
    // Samples come ordered by name.
    const auto found =
        std::lower_bound(data.samples.begin(), data.samples.end(), sample,
                         [](const models::Sample& s, const std::string& name) { return s.sample < name; });
    if (found == data.samples.end() || found->sample != sample) return std::nullopt;
    return static_cast<std::size_t>(found - data.samples.begin());
}

int season_of_test(const SeasonData& data, const models::Test& test) {
    const models::LocalDay day = test.time.local_day();
    const auto index = sample_index(data, test.sample);
    if (!index) return models::year_of(day);
    const GrainOfSample grain = grain_of_sample(data, *index);
    if (!grain.field.empty()) return season_of(data, grain.field, day);
    if (const models::Load* load = load_named(data, grain.load)) {
        for (const models::LoadPart& part : load->parts) {
            if (!part.field.empty()) return season_of(data, part.field, day);
        }
    }
    return models::year_of(day);
}

int season_of_load(const SeasonData& data, const models::Load& load) {
    for (const models::LoadPart& part : load.parts) {
        if (!part.field.empty()) return season_of(data, part.field, load.time.local_day());
    }
    return models::year_of(load.time.local_day());
}

std::size_t taken_sample(const SeasonData& data, std::size_t sample) {
    // A record may have been typed in a circle; nobody splits a sample eight times.
    for (int split = 0; split < 8 && !data.samples[sample].parent.empty(); ++split) {
        const auto parent = sample_index(data, data.samples[sample].parent);
        if (!parent) break;
        sample = *parent;
    }
    return sample;
}

GrainOfSample grain_of_sample(const SeasonData& data, std::size_t sample) {
    GrainOfSample grain;
    grain.taken = taken_sample(data, sample);
    for (const std::size_t speaks : {grain.taken, sample}) {
        const models::Sample& one = data.samples[speaks];
        grain.load = one.load;
        if (!grain.load.empty()) return grain;
        grain.bin = one.bin;
        if (!grain.bin.empty()) return grain;
        const bool lies = speaks < data.joined.samples.size() && !data.joined.samples[speaks].field.empty();
        grain.field = lies ? data.joined.samples[speaks].field : one.field;
        grain.part = lies ? data.joined.samples[speaks].part : one.part;
        if (!grain.field.empty()) return grain;
    }
    return grain;
}

const models::Load* load_named(const SeasonData& data, const std::string& load) {
    const auto found = data.load_by_name.find(load);
    return found == data.load_by_name.end() ? nullptr : &data.loads[found->second];
}

models::Sample with_moisture(const SeasonData& data, std::size_t sample) {
    models::Sample one = data.samples[sample];
    const GrainOfSample grain = grain_of_sample(data, sample);
    if (!one.moisture_pct) one.moisture_pct = data.samples[grain.taken].moisture_pct;
    const models::Load* load = load_named(data, grain.load);
    if (!one.moisture_pct && load != nullptr) one.moisture_pct = load->moisture_pct;
    return one;
}

std::vector<models::FailedControl> failed_controls(const SeasonData& data, int season) {
    std::set<std::string> of_season;
    for (const models::Test& test : data.tests) {
        if (season_of_test(data, test) == season) of_season.insert(test.test);
    }
    std::vector<models::FailedControl> failed = models::failed_controls(data.tests, data.samples, data.controls);
    std::erase_if(failed, [&](const models::FailedControl& one) {
        return of_season.count(one.test.test) == 0 &&
               std::none_of(one.in_doubt.begin(), one.in_doubt.end(),
                            [&](const std::string& test) { return of_season.count(test) != 0; });
    });
    return failed;
}

int newest_season(const SeasonData& data) {
    if (data.seasons.empty()) {
        throw models::Error("the store has no crop records and no loads, so no season can be looked at", "",
                            "import a crops table: lodicule import STORE crops FILE.csv");
    }
    return data.seasons.back();
}

models::LocalDay harvest_day(const SeasonData& data, int season) {
    std::optional<models::LocalDay> last;
    for (const models::Test& test : data.tests) {
        const models::LocalDay day = test.time.local_day();
        if (season_of_test(data, test) == season && models::year_of(day) == season)
            last = last ? std::max(*last, day) : day;
    }
    if (last) return *last;
    // Wheat of the south is cut around the turn of the year, some two months after it flowers.
    std::optional<models::LocalDay> flowering;
    for (const models::CropRecord& crop : data.crops) {
        if (crop.season != season) continue;
        if (const auto day = models::flowering_day(crop)) flowering = flowering ? std::max(*flowering, *day) : *day;
    }
    const bool of_the_south =
        flowering && (*flowering < models::day_of(season, 1, 1) || *flowering >= models::day_of(season, 9, 1));
    return of_the_south ? *flowering + std::chrono::days(60) : models::day_of(season, 9, 1);
}

models::Limit limit_for_season(const SeasonData& data, const std::string& text, int season) {
    return models::limit_from_text(text, data.limits, harvest_day(data, season));
}

ExpectedTonnes expected_tonnes(const SeasonData& data, const models::CropRecord& crop) {
    const models::Field* outline = outline_of(data, crop.field, crop.part);
    const double area_ha = outline != nullptr ? outline->area_ha : 0.0;
    if (crop.yield_t_per_ha) return {area_ha * *crop.yield_t_per_ha, false};
    std::vector<double> known;
    for (const models::CropRecord& other : data.crops) {
        if (other.season == crop.season && other.crop == crop.crop && other.yield_t_per_ha) {
            known.push_back(*other.yield_t_per_ha);
        }
    }
    double yield_t_per_ha = 1.0;
    if (!known.empty()) {
        std::sort(known.begin(), known.end());
        yield_t_per_ha = known[known.size() / 2];
    }
    return {area_ha * yield_t_per_ha, true};
}

}  // namespace app
