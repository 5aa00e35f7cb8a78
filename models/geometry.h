#pragma once

#include <vector>

namespace models {

/// A place in the work system of the store: metres east and north of its centre.
struct PointM {
    double x_m = 0.0;
    double y_m = 0.0;
    friend bool operator==(const PointM&, const PointM&) = default;
};

using RingM = std::vector<PointM>;  ///< closed by itself: the last point is not the first again

/// One piece of ground: an outer ring and the ponds and copses in it.
struct PolygonM {
    RingM outer;
    std::vector<RingM> holes;
};

/// A field's outline; more than one piece where a road cuts it.
using OutlineM = std::vector<PolygonM>;

struct BoxM {
    double x_min_m = 0.0, y_min_m = 0.0, x_max_m = 0.0, y_max_m = 0.0;
    double width_m() const { return x_max_m - x_min_m; }
    double height_m() const { return y_max_m - y_min_m; }
};

enum class Side { inside, boundary, outside };

double distance_m(const PointM& a, const PointM& b);
double area_m2(const RingM& ring);         ///< never negative, by the shoelace formula
double area_m2(const OutlineM& outline);   ///< holes taken off
PointM centroid(const OutlineM& outline);  ///< of the area; of the first point where the area is nil
BoxM bounding_box(const OutlineM& outline);
BoxM bounding_box(const std::vector<PointM>& points);

/// Which side of the outline a place lies on; within `tolerance_m` of an edge is `boundary`. Crossing number.
Side side_of(const OutlineM& outline, const PointM& place, double tolerance_m = 0.0);
/// To the nearest edge, whichever side the place is on.
double distance_to_edge_m(const OutlineM& outline, const PointM& place);

/// A regular grid of cells over a box; row 0 is the northernmost, as a raster has it.
struct GridM {
    double x_min_m = 0.0;  ///< west edge of the first column
    double y_max_m = 0.0;  ///< north edge of the first row
    double cell_m = 1.0;
    int columns = 0;
    int rows = 0;
    PointM centre(int row, int column) const {
        return {x_min_m + (column + 0.5) * cell_m, y_max_m - (row + 0.5) * cell_m};
    }
    long long cells() const { return static_cast<long long>(rows) * columns; }
};

/// The smallest grid of that cell size that covers the box, its edges on whole multiples of the cell.
GridM grid_over(const BoxM& box, double cell_m);

}  // namespace models
