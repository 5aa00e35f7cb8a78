#pragma once

#include <array>
#include <vector>

#include "app/drawing/painter.h"

namespace app::window {

/// Cuts the area of rings under the even-odd rule (outlines with ponds, however they wind) into triangles, by sweeping
/// it in horizontal bands between the heights of its corners: each band is a row of trapezia. Any shape is drawn right,
/// also one that crosses itself; the price is at most (corners x crossings) pieces.
std::vector<std::array<drawing::Point, 3>> triangles_of(const std::vector<std::vector<drawing::Point>>& rings);

}  // namespace app::window
