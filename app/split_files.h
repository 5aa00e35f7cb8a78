#pragma once

#include <filesystem>
#include <string>
#include <vector>

#include "app/stages/split_stage.h"
#include "app/workflow.h"
#include "geo/vector_file.h"

namespace app {

/// The map formats of zones.
enum class ZoneFormat { geopackage, geojson, shapefile };
/// "gpkg", "geojson" or "shp". @throws models::Error  another word; the three are named
ZoneFormat zone_format_named(const std::string& word);

/// The zones of all split fields as one layer `zones`: their outlines cut exactly from that of the field, with what
/// they hold; units stand in the names of the columns. `name` is what `map --zones` calls them.
geo::VectorLayer zones_layer(const SeasonView& view, const SplitsOfSeason& splits);

/// Leaves zones in a folder, which is made where it is missing: zones.gpkg (or .geojson, or .shp with its parts) and
/// zones.png, a map of them. No file where no field is split. The same season gives the same bytes.
/// @returns their names
/// @throws models::Error  the folder cannot be made or written
std::vector<std::string> write_zone_files(const SeasonView& view, const SplitsOfSeason& splits, ZoneFormat format,
                                          const std::filesystem::path& folder);

}  // namespace app
