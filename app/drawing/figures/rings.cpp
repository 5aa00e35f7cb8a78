#include "app/drawing/figures/rings.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/chart.h"

namespace app::drawing {

Rect box_of_rings(const Rings& rings) {
    double left = 1e300, right = -1e300, top = 1e300, floor_y = -1e300;
    for (const auto& ring : rings)
        for (const auto& p : ring) {
            left = std::min(left, p.x);
            right = std::max(right, p.x);
            top = std::min(top, p.y);
            floor_y = std::max(floor_y, p.y);
        }
    return {left, top, right - left, floor_y - top};
}

bool inside_rings(const Rings& rings, Point p) {
    bool inside = false;
    for (const auto& ring : rings)
        for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++)
            if ((ring[i].y > p.y) != (ring[j].y > p.y) &&
                p.x < ring[i].x + (ring[j].x - ring[i].x) * (p.y - ring[i].y) / (ring[j].y - ring[i].y))
                inside = !inside;
    return inside;
}

double distance_to_rings(const Rings& rings, Point p) {
    double least2 = 1e300;  // squared: roots are dear where many are asked for
    for (const auto& ring : rings)
        for (std::size_t i = 0, j = ring.size() - 1; i < ring.size(); j = i++) {
            const double dx = ring[i].x - ring[j].x, dy = ring[i].y - ring[j].y, length2 = dx * dx + dy * dy;
            const double t =
                length2 > 0.0 ? std::clamp(((p.x - ring[j].x) * dx + (p.y - ring[j].y) * dy) / length2, 0.0, 1.0) : 0.0;
            const double rx = p.x - ring[j].x - t * dx, ry = p.y - ring[j].y - t * dy;
            least2 = std::min(least2, rx * rx + ry * ry);
        }
    return std::sqrt(least2);
}

bool box_inside(const Rings& rings, const Rect& box) {
    for (const double fx : {0.0, 0.25, 0.5, 0.75, 1.0})
        for (const double fy : {0.0, 0.5, 1.0})
            if (!inside_rings(rings, {box.x + fx * box.width, box.y + fy * box.height})) return false;
    for (const auto& ring : rings)
        for (const auto& p : ring)
            if (overlap(box, {p.x, p.y, 1e-9, 1e-9})) return false;
    return true;
}

std::vector<Point> moved_inwards(const std::vector<Point>& ring, double distance, bool is_hole) {
    const std::size_t n = ring.size();
    double doubled_area = 0.0;
    for (std::size_t i = 0, j = n - 1; i < n; j = i++) doubled_area += ring[j].x * ring[i].y - ring[i].x * ring[j].y;
    const double way = (doubled_area > 0.0) != is_hole ? distance : -distance;
    const auto normal = [&](std::size_t from, std::size_t to) {
        const double dx = ring[to].x - ring[from].x, dy = ring[to].y - ring[from].y, length = std::hypot(dx, dy);
        return length > 0.0 ? Point{-dy / length, dx / length} : Point{};
    };
    std::vector<Point> moved;
    moved.reserve(n);
    for (std::size_t i = 0; i < n; ++i) {
        const Point before = normal((i + n - 1) % n, i), after = normal(i, (i + 1) % n);
        const Point sum{before.x + after.x, before.y + after.y};
        const double scale = way * 2.0 / std::max(0.8, sum.x * sum.x + sum.y * sum.y);
        moved.push_back({ring[i].x + scale * sum.x, ring[i].y + scale * sum.y});
    }
    return moved;
}

}  // namespace app::drawing
