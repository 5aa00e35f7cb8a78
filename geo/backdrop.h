#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <vector>

#include "models/geometry.h"
#include "models/progress.h"

namespace geo {

/// A picture of the ground that a user has (an aerial photograph, a map of soils, a scanned plan), as it lies behind
/// the map: brought into the work system of the store, north up, no more of it and no finer than is asked for.
///
/// Any raster that GDAL reads and that says where it lies, by an affine transform or by ground control points, and in
/// which reference system. Its colours:
///     a palette                        the palette's
///     one band of 8 bit                grey
///     three or four bands of 8 bit     red, green, blue (by what the bands say of themselves, else in their order),
///                                      the fourth or a band that calls itself alpha: how opaque
///     any other number                 grey or colours from the 2 % to the 98 % quantile of what is read, all bands by
///                                      one stretch, so that colours keep their hue
/// Where the file has no value (nodata, mask, alpha 0, beyond its edge) the picture is transparent.
struct Backdrop {
    models::BoxM box;  ///< in the work system; row 0 is its north edge
    int width = 0, height = 0;
    std::vector<std::uint32_t> rgba;  ///< 0xAABBGGRR, not premultiplied
    double metres_per_px = 0.0;
    bool is_finest = false;  ///< the file has nothing finer to give here
};

/// What is wanted of it.
struct BackdropWanted {
    std::string system;  ///< PROJ text of the work system
    models::BoxM box;
    double metres_per_px = 0.0;         ///< no finer than this; 0: as fine as the file
    long long most_pixels = 4'000'000;  ///< coarser rather than more
    bool may_be_empty = false;          ///< nothing there is no refusal
};

/// Opens the file without reading a pixel.
/// @throws models::Error  no such file, no raster, it does not say where it lies or in which reference system
void check_backdrop(const std::filesystem::path& file);

/// Reads a part of the file and warps it (GDAL's warper, bilinear). A file much finer than what is wanted is read
/// decimated: from its overviews where it has some, else block by block by averages, so that what is held in memory
/// follows from `most_pixels` and never from the size of the file.
/// @throws models::Error  as check_backdrop; the file does not reach the box; it breaks off or is damaged
Backdrop read_backdrop(const std::filesystem::path& file, const BackdropWanted& wanted,
                       const models::Progress& progress = {});

}  // namespace geo
