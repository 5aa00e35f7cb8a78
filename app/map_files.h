#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"

namespace app {

struct MapFileSettings {
    std::filesystem::path folder;
    std::optional<double> cell_m;  ///< none: small enough to show every field
    int picture_width = 1600, picture_height = 1000;
};

struct MapFilesWritten {
    std::vector<std::string> files;  ///< their names
    std::vector<std::string> notes;  ///< what a reader of the files has to know, in sentences
};

/// Leaves a season's map in a folder, which is made where it is missing:
///   contamination.tif   five Float64 bands: median, mean, low and high (5 and 95 %) in mg/kg, exceedance; NaN outside
///                       fields. Cells of a field carry the field's mean, or the kriged surface where structure within
///                       the field is supported. Where fields lie so far apart that one raster would lose them,
///                       contamination-1.tif and so on, one for each group
///   map.gpkg            layers fields, tests and, where a surface is drawn, contours
///   fields.geojson      the field table with outlines
///   map.png             the sheet with legend, scale bar, limit and caution
/// With no DON result in the store only the ranking is left: fields.geojson, map.gpkg and map.png, no raster.
/// Each file is made beside and renamed. The same season gives the same bytes.
/// @returns the files in that order
/// @throws models::Error  the folder cannot be made or written; the cells would be more than 50 million, or larger than
///                        every field
MapFilesWritten write_map_files(const SeasonView& view, const MapFileSettings& settings);

}  // namespace app
