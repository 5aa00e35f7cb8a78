#include "app/stages/limits_stage.h"

#include <algorithm>
#include <set>
#include <string>

#include "geo/tables/words.h"
#include "models/decision/limit_rule.h"

namespace app {

namespace {

/// The wheats of the season, by the words that limits use.
std::set<std::string> grain_of_season(const SeasonData& data, int season) {
    std::set<std::string> grain;
    for (const models::CropRecord& crop : data.crops) {
        if (crop.season != season) continue;
        if (crop.crop == models::Crop::wheat || crop.crop == models::Crop::durum)
            grain.insert(geo::words::word(crop.crop));
    }
    return grain;
}

/// "wheat" of "soft wheat".
std::string grain_of_limit(const models::Limit& limit) {
    const std::string& of = limit.commodity;
    return of.substr(of.rfind(' ') == std::string::npos ? 0 : of.rfind(' ') + 1);
}

/// The wheat that most crop records of the season are of.
models::Crop main_grain(const SeasonData& data, int season) {
    const auto count = [&](models::Crop crop) {
        return std::count_if(data.crops.begin(), data.crops.end(),
                             [&](const models::CropRecord& one) { return one.season == season && one.crop == crop; });
    };
    return count(models::Crop::durum) > count(models::Crop::wheat) ? models::Crop::durum : models::Crop::wheat;
}

/// 0 the nearest; 3: of something else.
int farness_of(const models::Limit& limit, const std::set<std::string>& grain, const SeasonData& data) {
    const bool of_a_bin = std::any_of(data.bins.begin(), data.bins.end(),
                                      [&](const models::Bin& bin) { return bin.limit_id == limit.limit_id; });
    const std::string& of = limit.commodity;
    const bool fits = grain.count(grain_of_limit(limit)) > 0;
    if (of_a_bin || (fits && limit.kind == models::LimitKind::contract)) return 0;
    if (fits) return 1;
    return of == "cereals" || of.rfind("grain ", 0) == 0 ? 2 : 3;
}

}  // namespace

LimitsToChoose limits_to_choose(const SeasonData& data, int season) {
    LimitsToChoose limits;
    const models::LocalDay day = harvest_day(data, season);
    const std::set<std::string> grain = grain_of_season(data, season);
    const auto farness = [&](const models::Limit& limit) { return farness_of(limit, grain, data); };
    for (const models::Limit& limit : data.limits) {
        const bool for_eating = limit.purpose == models::Purpose::food || limit.purpose == models::Purpose::feed;
        const bool fits = for_eating && models::holds_on(limit, day) && farness(limit) < 3;
        (fits ? limits.fitting : limits.others).push_back(limit);
    }
    std::stable_sort(limits.fitting.begin(), limits.fitting.end(),
                     [&](const models::Limit& a, const models::Limit& b) { return farness(a) < farness(b); });
    return limits;
}

std::optional<models::Limit> limit_of_grain(const SeasonData& data, int season, const models::Limit& asked,
                                            models::Crop crop) {
    const std::string grain = geo::words::word(crop);
    const std::string meant =
        asked.commodity.empty() ? std::string(geo::words::word(main_grain(data, season))) : grain_of_limit(asked);
    // One of cereals speaks of every grain; one of goods that are made of grain of none in a field.
    const auto& crops = geo::words::of<models::Crop>();
    if (meant == grain || std::find(crops.begin(), crops.end(), meant) == crops.end()) return std::nullopt;
    const models::Purpose purpose = asked.commodity.empty() ? models::Purpose::food : asked.purpose;
    for (const models::Limit& limit : limits_to_choose(data, season).fitting) {
        if (limit.purpose != purpose || limit.basis != asked.basis || grain_of_limit(limit) != grain) continue;
        if (limit.limit_mg_per_kg == asked.limit_mg_per_kg) return std::nullopt;
        return limit;
    }
    return std::nullopt;
}

}  // namespace app
