#pragma once

#include <vector>

#include "app/drawing/painter.h"

namespace app::drawing {

/// The rings of an outline in pixels, inside and outside by the even-odd rule.
using Rings = std::vector<std::vector<Point>>;

Rect box_of_rings(const Rings& rings);
bool inside_rings(const Rings& rings, Point p);
double distance_to_rings(const Rings& rings, Point p);
/// Whether the whole box lies inside: its rim at fifteen points, and no corner of a ring in it.
bool box_inside(const Rings& rings, const Rect& box);
/// A ring moved by `distance` towards the ground that it bounds: into an outer ring, away from a hole. Corners are
/// mitred, and blunted where they are sharp.
std::vector<Point> moved_inwards(const std::vector<Point>& ring, double distance, bool is_hole);

}  // namespace app::drawing
