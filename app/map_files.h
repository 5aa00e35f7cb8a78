#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"

namespace app {

struct MapFileSettings {
    std::filesystem::path folder;
    std::optional<double> cell_m;  ///< none: small enough to show the fields, not more than some 400,000 cells
    int picture_width = 1600, picture_height = 1000;
};

/// Leaves a season's map in a folder, which is made where it is missing:
///   contamination.tif   five Float64 bands: median, mean, low and high (5 and 95 %) in mg/kg, exceedance; NaN outside
///                       fields. Cells of a field carry the field's mean, or the kriged surface where structure within
///                       the field is supported
///   map.gpkg            layers fields, tests and, where a surface is drawn, contours
///   fields.geojson      the field table with outlines
///   map.png             the sheet with legend, scale bar, limit and caution
/// With no DON result in the store only the ranking is left: fields.geojson, map.gpkg and map.png, no raster.
/// Each file is made beside and renamed. The same season gives the same bytes.
/// @returns the names of the files, in that order
/// @throws models::Error  the folder cannot be made or written; the cells would be more than 50 million
std::vector<std::string> write_map_files(const SeasonView& view, const MapFileSettings& settings);

}  // namespace app
