#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/geometry.h"

namespace app {

/// An area that somebody drew: a part of a field to be cut apart, a headland, a block, or ground of several fields.
struct DrawnZone {
    std::string name;
    models::OutlineM outline;  ///< in the work system
};

/// The areas of any map file (GeoPackage, shapefile, GeoJSON and more) in the store's work system.
/// @throws models::Error  the store has no outlines; as geo::read_map_shapes does
std::vector<DrawnZone> read_zones(const SeasonData& data, const std::filesystem::path& file);

}  // namespace app
