#include "app/stages/field_spread.h"

#include <algorithm>
#include <utility>
#include <vector>

#include <fmt/format.h>

namespace app {

namespace field_spread_parts {

constexpr int pooled_points = 12;

/// What the season's fields with placed results say of a field without: their points in the order of their ranges, as
/// a few of equal weight.
std::vector<models::WithinFieldPoint> pooled(const models::WithinFieldStructure& told) {
    std::vector<std::pair<models::WithinFieldParameters, double>> all;
    double sum = 0.0;
    for (const models::WithinFieldStructure::Field& field : told.by_field) {
        for (const models::WithinFieldPoint& point : field.points) {
            all.emplace_back(point.parameters, point.weight);
            sum += point.weight;
        }
    }
    const auto range_shared = [](const models::WithinFieldParameters& p) {
        return p.structured_share > 0.0 ? p.range_m : 0.0;
    };
    std::stable_sort(all.begin(), all.end(),
                     [&](const auto& a, const auto& b) { return range_shared(a.first) < range_shared(b.first); });
    std::vector<models::WithinFieldPoint> few;
    double before = 0.0;
    int taken = 0;
    for (const auto& [parameters, weight] : all) {
        before += weight;
        int times = 0;
        for (; taken < pooled_points && before >= (taken + 0.5) / pooled_points * sum - 1e-12; ++taken) ++times;
        if (times > 0) few.push_back({static_cast<double>(times) / pooled_points, parameters, {}, {}});
    }
    return few;
}

ContaminationSettings as_looked_at(const SeasonView& view, bool own_duplicates) {
    ContaminationSettings how;
    how.season = view.season;
    how.basis = view.limit ? view.limit->basis : models::Basis::as_is;
    how.own_duplicates = own_duplicates;
    return how;
}

}  // namespace field_spread_parts

FieldSpreads::FieldSpreads(const SeasonView& view, bool own_duplicates)
    : FieldSpreads(view.data, view.evidence, field_spread_parts::as_looked_at(view, own_duplicates)) {}

FieldSpreads::FieldSpreads(const SeasonData& data, const std::optional<models::WithinFieldStructure>& evidence,
                           const ContaminationSettings& how)
    : evidence_(evidence), supported_(evidence && evidence->supported) {
    if (!supported_) return;
    pooled_.points = field_spread_parts::pooled(*evidence);
    placed_ = placed_results(data, how);
}

models::SpreadInField FieldSpreads::of(const models::CropRecord& crop) const {
    if (!supported_ || !crop.part.empty()) return pooled_;
    for (const models::WithinFieldStructure::Field& told : evidence_->by_field) {
        if (told.field >= placed_.fields.size() || placed_.fields[told.field] != crop.field) continue;
        models::SpreadInField own;
        own.points = told.points;
        for (const std::size_t r : told.results) own.places.push_back(placed_.results[r].place);
        return own;
    }
    return pooled_;
}

std::string FieldSpreads::in_words() const {
    if (supported_)
        return fmt::format(
            "inside a field near places are alike as far as this season's placed results say; what a place has for "
            "itself reaches over {:.0f} m2 (ours)",
            pooled_.place_ha * 1e4);
    return fmt::format(
        "inside a field nothing shows where it is better or worse, so it is taken as patches of {} ha that have "
        "nothing in common (ours)",
        pooled_.patch_ha);
}

std::uint64_t seed_of_name(const std::string& name) {
    std::uint64_t hash = 0xcbf29ce484222325ull;  // Fowler, Noll & Vo
    for (const char c : name) hash = (hash ^ static_cast<unsigned char>(c)) * 0x100000001b3ull;
    return hash;
}

SeasonYields::SeasonYields(const SeasonView& view, std::optional<double> given_t_per_ha) : given_(given_t_per_ha) {
    std::map<models::Crop, std::vector<double>> known;
    for (const models::CropRecord& crop : view.data.crops)
        if (crop.season == view.season && (crop.crop == models::Crop::wheat || crop.crop == models::Crop::durum) &&
            crop.yield_t_per_ha && *crop.yield_t_per_ha > 0.0)
            known[crop.crop].push_back(*crop.yield_t_per_ha);
    for (auto& [crop, yields] : known) {
        std::sort(yields.begin(), yields.end());
        usual_[crop] = yields[yields.size() / 2];
    }
}

std::optional<SeasonYields::Yield> SeasonYields::of(const models::CropRecord& crop) const {
    if (crop.yield_t_per_ha && *crop.yield_t_per_ha > 0.0) return Yield{*crop.yield_t_per_ha, false};
    if (given_) return Yield{*given_, true};
    const auto usual = usual_.find(crop.crop);
    if (usual == usual_.end()) return std::nullopt;
    return Yield{usual->second, true};
}

}  // namespace app
