#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>
#include <tuple>

#include "models/contamination/layout.h"
#include "models/contamination/near_groups.h"

namespace models::contamination {

/// Placed fields of a season with a reading, those together that a load or a sample joins. Their order is that of their
/// places and names, whatever that of the input.
std::vector<std::vector<std::size_t>> Layout::tested_units(int season) const {
    std::vector<std::size_t> fields;
    for (std::size_t f = 0; f < places_.size(); ++f)
        if (season_of_[f] == season && places_[f].group >= 0 && local_of_field_[f] >= 0) fields.push_back(f);
    const auto key = [&](std::size_t f) {
        const FieldSeason& field = input_.field_seasons[f];
        return std::tuple(places_[f].at_m.x_m, places_[f].at_m.y_m, std::string_view(field.field),
                          std::string_view(field.part));
    };
    std::sort(fields.begin(), fields.end(), [&](std::size_t a, std::size_t b) { return key(a) < key(b); });
    std::vector<std::size_t> root(places_.size());
    std::iota(root.begin(), root.end(), std::size_t{0});
    const auto find = [&](std::size_t f) {
        while (root[f] != f) f = root[f] = root[root[f]];
        return f;
    };
    for (const Site& site : sites_) {
        const std::size_t none = places_.size();
        std::size_t first = none;
        for (const auto& [local, slope] : site.locals) {
            const Local& of = locals_[static_cast<std::size_t>(local)];
            if (of.kind != LocalKind::field || season_of_[static_cast<std::size_t>(of.index)] != season) continue;
            const auto f = static_cast<std::size_t>(of.index);
            if (first == none) first = f;
            root[find(f)] = find(first);
        }
    }
    std::map<std::size_t, std::size_t> unit_of_root;
    std::vector<std::vector<std::size_t>> units;
    for (const std::size_t f : fields) {
        const auto [place, fresh] = unit_of_root.try_emplace(find(f), units.size());
        if (fresh) units.emplace_back();
        units[place->second].push_back(f);
    }
    return units;
}

/// All placed fields of a season are one group, or where too many of them are tested groups of near ones: a field
/// without a reading is in that of the nearest field that has one.
std::vector<int> Layout::group_fields() {
    std::vector<int> group;
    for (const RegionPlace& place : places_) group.push_back(place.group);
    if (!regional_) return group;
    int next = static_cast<int>(seasons_.size());
    for (int season = 0; season < static_cast<int>(seasons_.size()); ++season) {
        const std::vector<std::vector<std::size_t>> tested = tested_units(season);
        std::vector<PlacedUnit> units;
        int fields = 0;
        for (const std::vector<std::size_t>& members : tested) {
            PlacedUnit& unit = units.emplace_back(PlacedUnit{{0.0, 0.0}, static_cast<int>(members.size())});
            for (const std::size_t f : members) {
                unit.at_m.x_m += places_[f].at_m.x_m / unit.fields;
                unit.at_m.y_m += places_[f].at_m.y_m / unit.fields;
            }
            fields += unit.fields;
        }
        if (fields <= settings_.most_joined_fields) continue;
        const std::vector<int> near = groups_of_near(units, settings_.most_joined_fields);
        const int groups = 1 + *std::max_element(near.begin(), near.end());
        if (groups == 1) continue;
        for (std::size_t u = 0; u < tested.size(); ++u)
            for (const std::size_t f : tested[u]) group[f] = next + near[u];
        for (std::size_t f = 0; f < places_.size(); ++f) {
            if (season_of_[f] != season || places_[f].group < 0 || local_of_field_[f] >= 0) continue;
            double nearest = INFINITY;
            for (const std::vector<std::size_t>& members : tested)
                for (const std::size_t other : members) {
                    const double square = std::pow(places_[f].at_m.x_m - places_[other].at_m.x_m, 2) +
                                          std::pow(places_[f].at_m.y_m - places_[other].at_m.y_m, 2);
                    if (square >= nearest) continue;
                    nearest = square;
                    group[f] = group[other];
                }
        }
        std::vector<int>& numbers = cut_seasons_.emplace_back(static_cast<std::size_t>(groups));
        std::iota(numbers.begin(), numbers.end(), next);
        next += groups;
    }
    return group;
}

}  // namespace models::contamination
