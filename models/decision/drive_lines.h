#pragma once

#include <vector>

#include "models/contamination/ground_cells.h"
#include "models/geometry.h"

namespace models {

/// How a combine goes up and down a field: swaths side by side, each as wide as its header, all with one heading. A
/// line between two swaths can be driven, so that what lies on its two sides can be cut apart.
/// The first swath lies along the side of the outline that is on the left of someone who looks along the heading; the
/// last is what is left of the width. Pieces of an outline of several are cut by the same lines.
struct DriveLines {
    double heading_deg = 0.0;  ///< of the driving, from north by east, 0 to 180 without 180: there and back are one
    PointM along, across;      ///< the heading and what lies on its right, of length 1
    double header_m = 0.0;
    /// Headers in a swath of this list: 1, more where the field would have over 120 swaths.
    int headers = 1;
    double first_m = 0.0;         ///< where the first swath begins, along `across` from the work system's centre
    std::vector<double> width_m;  ///< of each swath, across
    std::vector<double> area_m2;  ///< of the outline in each; 0 where a swath meets none of its pieces
    int swaths() const { return static_cast<int>(width_m.size()); }
    double all_m() const;            ///< width of the field across the heading
    double line_m(int swath) const;  ///< where that swath begins (of the number of swaths: where the last ends)
    double total_m2() const;
};

/// Heading of the longer side of the smallest rectangle that holds the outline, in degrees from north by east, 0 to
/// 180. One of its sides lies along an edge of the convex hull: Freeman & Shapira (1975), Communications of the ACM 18,
/// 409-413. Of equally small ones the first by their heading.
/// @throws Error  an outline without area
double long_side_heading_deg(const OutlineM& outline);

/// Areas are exact: rings cut by both edges of a swath (Sutherland & Hodgman 1974, Communications of the ACM 17,
/// 32-42).
/// @throws Error  an outline without area; a heading that is no number; a header not between 0.5 and 60 m
DriveLines drive_lines(const OutlineM& outline, double heading_deg, double header_m);

/// The field in cells whose rows are the swaths, for contents of each of them: about `about` of them, as long as that
/// makes them, never shorter than wide. A cell's share is what of its swath's area lies in it (25 places tried); the
/// shares of a swath's cells add up to its share of the field.
/// @throws Error  under 9 cells asked for
GroundCells ground_in_swaths(const OutlineM& outline, const DriveLines& lines, int about);

/// The cells of each swath, whole; empty for a swath without ground.
std::vector<CutCells> cells_of_swaths(const GroundCells& ground, const DriveLines& lines);

/// "north", "south-east": where the heading points, in eighths of the compass.
const char* compass_word(double heading_deg);

}  // namespace models
