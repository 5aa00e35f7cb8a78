#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"

namespace app {

/// The rasters of a season's map, and what is to be said of them.
struct MapRasters {
    struct Raster {
        std::string file;  ///< contamination.tif, or contamination-1.tif and so on
        models::GridM grid;
    };
    std::vector<Raster> rasters;
    std::vector<std::string> notes;  ///< sentences
};

/// Grids on which every field with a number has at least a few cells. One for all where that does not take too many
/// cells; else, where fields lie far apart, one for each group of them. With a cell of the user's it is one grid, and a
/// note names the fields that are smaller than a cell.
/// @throws models::Error  the cells would be more than 50 million; no field at all has a cell, and how to mend that
MapRasters map_rasters(const SeasonView& view, const std::optional<double>& cell_m);

/// Writes them into the folder, each made beside and renamed.
void write_map_rasters(const SeasonView& view, const MapRasters& rasters, const std::filesystem::path& folder);

}  // namespace app
