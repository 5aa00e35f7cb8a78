#pragma once

#include <vector>

#include "app/drawing/figures/map_figure.h"

namespace app::drawing {

/// The surface at the resolution of the picture: the logarithm of the content (or the exceedance) interpolated
/// linearly between the middles of the cells and cut along the outlines of the fields that carry it.
Image surface_picture(const MapFigure& figure, const MapView& view, const Rect& canvas, const ContentScale& scale,
                      const Theme& theme);

/// A piece of hatching, and whether the colours under it are light.
struct HatchLine {
    std::vector<Point> ends;
    bool on_light = true;
};
/// Hatching where the surface's 90 % interval spans more than the figure's factor.
std::vector<HatchLine> surface_hatch_lines(const MapFigure& figure, const MapView& view, const Rect& canvas,
                                           double spacing, const ContentScale& scale, const Theme& theme);

}  // namespace app::drawing
