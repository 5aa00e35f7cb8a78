#pragma once

#include <optional>
#include <vector>

#include "app/drawing/painter.h"
#include "models/geometry.h"

namespace app::drawing {

/// Which part of the world a rectangle of a picture shows; north is up. The window keeps one and moves it, a printed
/// map fits it once.
///     x = left + width / 2 + (world x - centre x) / metres_per_px,   y = top + height / 2 - (world y - centre y) /
///     metres_per_px
struct MapView {
    models::PointM centre_m;
    double metres_per_px = 1.0;

    Point to_px(const models::PointM& place, const Rect& area) const;
    models::PointM to_world(Point px, const Rect& area) const;
    models::BoxM shown(const Rect& area) const;

    /// Moves the ground along with the pointer.
    void pan(double dx_px, double dy_px);
    /// Zooms in (factor > 1) or out; the place under `anchor` stays under it. Kept between 0.01 and 10,000 m a pixel.
    void zoom(double factor, Point anchor, const Rect& area);
};
/// Shows the whole box with that margin of pixels around. A box without any width shows 200 m.
MapView fitted(const models::BoxM& box, const Rect& area, double margin_px);

/// The outline's rings in pixels, for Painter::polygon.
std::vector<std::vector<Point>> rings_px(const models::OutlineM& outline, const MapView& view, const Rect& area);

/// A round length (1, 2 or 5 times a power of ten of metres) not longer than `most_px`.
struct ScaleBar {
    double length_m = 0.0;
    double length_px = 0.0;
};
ScaleBar scale_bar(const MapView& view, double most_px);

}  // namespace app::drawing
