#include "app/drawing/map_view.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/axis.h"

namespace app::drawing {

Point MapView::to_px(const models::PointM& place, const Rect& area) const {
    return {area.x + 0.5 * area.width + (place.x_m - centre_m.x_m) / metres_per_px,
            area.y + 0.5 * area.height - (place.y_m - centre_m.y_m) / metres_per_px};
}

models::PointM MapView::to_world(Point px, const Rect& area) const {
    return {centre_m.x_m + (px.x - area.x - 0.5 * area.width) * metres_per_px,
            centre_m.y_m - (px.y - area.y - 0.5 * area.height) * metres_per_px};
}

models::BoxM MapView::shown(const Rect& area) const {
    const double half_width = 0.5 * area.width * metres_per_px, half_height = 0.5 * area.height * metres_per_px;
    return {centre_m.x_m - half_width, centre_m.y_m - half_height, centre_m.x_m + half_width,
            centre_m.y_m + half_height};
}

void MapView::pan(double dx_px, double dy_px) {
    centre_m.x_m -= dx_px * metres_per_px;
    centre_m.y_m += dy_px * metres_per_px;
}

void MapView::zoom(double factor, Point anchor, const Rect& area) {
    if (!(factor > 0.0) || !std::isfinite(factor)) return;
    const models::PointM before = to_world(anchor, area);
    metres_per_px = std::clamp(metres_per_px / factor, 0.01, 10000.0);
    const models::PointM after = to_world(anchor, area);
    centre_m.x_m += before.x_m - after.x_m;
    centre_m.y_m += before.y_m - after.y_m;
}

MapView fitted(const models::BoxM& box, const Rect& area, double margin_px) {
    constexpr double least_m = 200.0;
    const double width_px = std::max(1.0, area.width - 2.0 * margin_px);
    const double height_px = std::max(1.0, area.height - 2.0 * margin_px);
    const bool is_a_place = box.width_m() <= 0.0 && box.height_m() <= 0.0;
    const double width_m = is_a_place ? least_m : box.width_m(), height_m = is_a_place ? least_m : box.height_m();
    MapView view;
    view.centre_m = {0.5 * (box.x_min_m + box.x_max_m), 0.5 * (box.y_min_m + box.y_max_m)};
    view.metres_per_px = std::clamp(std::max(width_m / width_px, height_m / height_px), 0.01, 10000.0);
    return view;
}

std::vector<std::vector<Point>> rings_px(const models::OutlineM& outline, const MapView& view, const Rect& area) {
    std::vector<std::vector<Point>> rings;
    const auto add = [&](const models::RingM& ring) {
        std::vector<Point> points;
        points.reserve(ring.size());
        for (const auto& place : ring) points.push_back(view.to_px(place, area));
        rings.push_back(std::move(points));
    };
    for (const auto& polygon : outline) {
        add(polygon.outer);
        for (const auto& hole : polygon.holes) add(hole);
    }
    return rings;
}

ScaleBar scale_bar(const MapView& view, double most_px) {
    const double length_m = round_down_125(most_px * view.metres_per_px);
    return {length_m, length_m / view.metres_per_px};
}

}  // namespace app::drawing
