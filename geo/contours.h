#pragma once

#include <limits>
#include <vector>

#include "models/geometry.h"

namespace geo {

/// Ground on which a map lies between two of its levels.
struct ContourBand {
    double low = -std::numeric_limits<double>::infinity();  ///< open at the bottom of the lowest band
    double high = std::numeric_limits<double>::infinity();  ///< open at the top of the highest
    models::OutlineM outline_m;
};

/// Where a map crosses one level.
struct ContourLine {
    double level = 0.0;
    std::vector<models::PointM> line_m;  ///< closed lines end where they began
};

/// Bands between the levels: n levels give up to n + 1 bands, lowest first; empty ones are left out. Between cell
/// centres the map is taken as linear (GDALContourGenerateEx); the bands together cover exactly the cells that have a
/// value.
/// @param values  row by row from the north, grid.cells() of them; NaN: no value there
/// @param levels  ascending, at least one
/// @throws models::Error  sizes differ, or the levels do not ascend
std::vector<ContourBand> contour_bands(const models::GridM& grid, const std::vector<double>& values,
                                       const std::vector<double>& levels);
std::vector<ContourLine> contour_lines(const models::GridM& grid, const std::vector<double>& values,
                                       const std::vector<double>& levels);

}  // namespace geo
