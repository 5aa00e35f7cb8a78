#include "models/geometry.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace models {

namespace {

double signed_area_m2(const RingM& ring) {
    // About the first point, so that far-off coordinates do not cancel.
    double twice = 0.0;
    for (std::size_t i = 1; i + 1 < ring.size(); ++i) {
        const double ax = ring[i].x_m - ring[0].x_m, ay = ring[i].y_m - ring[0].y_m;
        const double bx = ring[i + 1].x_m - ring[0].x_m, by = ring[i + 1].y_m - ring[0].y_m;
        twice += ax * by - bx * ay;
    }
    return twice / 2.0;
}

/// Adds area and first moments of the ring (about `origin`), its area counted with the given sign.
void add_moments(const RingM& ring, const PointM& origin, double sign, double& area, double& mx, double& my) {
    const double direction = signed_area_m2(ring) < 0.0 ? -sign : sign;
    for (std::size_t i = 0; i < ring.size(); ++i) {
        const PointM& p = ring[i];
        const PointM& q = ring[(i + 1) % ring.size()];
        const double px = p.x_m - origin.x_m, py = p.y_m - origin.y_m;
        const double qx = q.x_m - origin.x_m, qy = q.y_m - origin.y_m;
        const double cross = px * qy - qx * py;
        area += direction * cross / 2.0;
        mx += direction * cross * (px + qx) / 6.0;
        my += direction * cross * (py + qy) / 6.0;
    }
}

/// Squared, so that the nearest of many edges costs one root and not one each.
double distance2_to_segment_m2(const PointM& place, const PointM& a, const PointM& b) {
    const double dx = b.x_m - a.x_m, dy = b.y_m - a.y_m;
    const double length2 = dx * dx + dy * dy;
    double along = 0.0;
    if (length2 > 0.0) {
        along = std::clamp(((place.x_m - a.x_m) * dx + (place.y_m - a.y_m) * dy) / length2, 0.0, 1.0);
    }
    const double off_x = place.x_m - (a.x_m + along * dx), off_y = place.y_m - (a.y_m + along * dy);
    return off_x * off_x + off_y * off_y;
}

template <typename Visit>
void each_ring(const OutlineM& outline, Visit visit) {
    for (const PolygonM& piece : outline) {
        visit(piece.outer);
        for (const RingM& hole : piece.holes) visit(hole);
    }
}

bool odd_crossings(const RingM& ring, const PointM& place) {
    bool odd = false;
    for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
        const PointM& a = ring[i];
        const PointM& b = ring[j];
        if ((a.y_m > place.y_m) == (b.y_m > place.y_m)) continue;
        if (place.x_m < (b.x_m - a.x_m) * (place.y_m - a.y_m) / (b.y_m - a.y_m) + a.x_m) odd = !odd;
    }
    return odd;
}

}  // namespace

double distance_m(const PointM& a, const PointM& b) {
    return std::hypot(a.x_m - b.x_m, a.y_m - b.y_m);
}

double area_m2(const RingM& ring) {
    return std::abs(signed_area_m2(ring));
}

double area_m2(const OutlineM& outline) {
    double total = 0.0;
    for (const PolygonM& piece : outline) {
        total += area_m2(piece.outer);
        for (const RingM& hole : piece.holes) total -= area_m2(hole);
    }
    return total;
}

PointM centroid(const OutlineM& outline) {
    if (outline.empty() || outline[0].outer.empty()) return {};
    const PointM origin = outline[0].outer[0];
    double area = 0.0, mx = 0.0, my = 0.0;
    for (const PolygonM& piece : outline) {
        add_moments(piece.outer, origin, 1.0, area, mx, my);
        for (const RingM& hole : piece.holes) add_moments(hole, origin, -1.0, area, mx, my);
    }
    if (!(area > 0.0)) return origin;
    return {origin.x_m + mx / area, origin.y_m + my / area};
}

BoxM bounding_box(const std::vector<PointM>& points) {
    constexpr double far = std::numeric_limits<double>::infinity();
    BoxM box{far, far, -far, -far};
    for (const PointM& p : points) {
        box.x_min_m = std::min(box.x_min_m, p.x_m);
        box.y_min_m = std::min(box.y_min_m, p.y_m);
        box.x_max_m = std::max(box.x_max_m, p.x_m);
        box.y_max_m = std::max(box.y_max_m, p.y_m);
    }
    return points.empty() ? BoxM{} : box;
}

BoxM bounding_box(const OutlineM& outline) {
    std::vector<PointM> corners;
    for (const PolygonM& piece : outline) corners.insert(corners.end(), piece.outer.begin(), piece.outer.end());
    return bounding_box(corners);
}

Side side_of(const OutlineM& outline, const PointM& place, double tolerance_m) {
    if (distance_to_edge_m(outline, place) <= tolerance_m) return Side::boundary;
    bool inside = false;
    for (const PolygonM& piece : outline) {
        bool here = odd_crossings(piece.outer, place);
        for (const RingM& hole : piece.holes) here = here && !odd_crossings(hole, place);
        inside = inside || here;
    }
    return inside ? Side::inside : Side::outside;
}

double distance_to_edge_m(const OutlineM& outline, const PointM& place) {
    double nearest2 = std::numeric_limits<double>::infinity();
    each_ring(outline, [&](const RingM& ring) {
        for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
            nearest2 = std::min(nearest2, distance2_to_segment_m2(place, ring[j], ring[i]));
        }
    });
    return std::sqrt(nearest2);
}

GridM grid_over(const BoxM& box, double cell_m) {
    GridM grid;
    grid.cell_m = cell_m;
    grid.x_min_m = std::floor(box.x_min_m / cell_m) * cell_m;
    grid.y_max_m = std::ceil(box.y_max_m / cell_m) * cell_m;
    grid.columns = std::max(1, static_cast<int>(std::ceil((box.x_max_m - grid.x_min_m) / cell_m)));
    grid.rows = std::max(1, static_cast<int>(std::ceil((grid.y_max_m - box.y_min_m) / cell_m)));
    return grid;
}

}  // namespace models
