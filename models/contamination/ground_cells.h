#pragma once

#include <utility>
#include <vector>

#include "models/geometry.h"

namespace models {

/// The ground of a field in small cells, nearly square, in the order in which a combine takes them: along its longer
/// side, back and forth.
struct GroundCells {
    struct Cell {
        int column = 0, row = 0;  ///< column along the longer side, row across
        double share = 0.0;       ///< of the field's grain; all add up to 1
        PointM centre;            ///< in the work system; of ground without an outline, metres from its corner
    };
    std::vector<Cell> cells;
    double length_m = 1.0, width_m = 1.0;  ///< of a cell, along and across
    PointM along{1.0, 0.0};                ///< heading of the longer side, of length 1
    double area_ha = 0.0;                  ///< of the field, as given
};

/// Cells whose centres lie in the outline, about `about` of them (at least 9), along the heading in which the smallest
/// rectangle holds the outline (in steps of 3 degrees). Each has the same share; whoever knows yields may change that.
/// @throws Error  an outline without area; under 9 cells
GroundCells ground_cells(const OutlineM& outline, int about);
/// A field of which only the size is known: a rectangle twice as long as wide.
/// @throws Error  no area
GroundCells ground_cells(double area_ha, int about);

/// Ground that grain comes from: cells and how much of each, 0 to 1.
using CutCells = std::vector<std::pair<int, double>>;

/// What is cut from a place in the order of cutting on: `from` and `share` as shares of the field's grain.
/// @throws Error  the field does not hold that much behind that place
CutCells strip_of_ground(const GroundCells& ground, double from, double share);
/// The whole field truck by truck, each with that share of it, the last with the rest.
std::vector<CutCells> trucks_of_ground(const GroundCells& ground, double share);
/// A compact piece with that share of the field: the cells nearest to the middle of this one.
CutCells block_of_ground(const GroundCells& ground, int middle, double share);
/// A drawn part: cells whose centres lie in it. @throws Error  none does
CutCells part_of_ground(const GroundCells& ground, const OutlineM& part);

/// The cut's share of the field's grain.
double share_of(const GroundCells& ground, const CutCells& cut);

}  // namespace models
