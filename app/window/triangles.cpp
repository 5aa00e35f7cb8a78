#include "app/window/triangles.h"

#include <algorithm>
#include <cmath>

namespace app::window {

namespace {

struct Edge {
    double x_top, y_top, x_bottom, y_bottom;  // y_top < y_bottom
    double x_at(double y) const {
        if (y == y_top) return x_top;
        if (y == y_bottom) return x_bottom;
        return x_top + (x_bottom - x_top) * (y - y_top) / (y_bottom - y_top);
    }
};

/// Heights between which no two edges cross: all corners, and all crossings.
std::vector<double> band_heights(const std::vector<Edge>& edges) {
    std::vector<double> heights;
    for (const Edge& edge : edges) {
        heights.push_back(edge.y_top);
        heights.push_back(edge.y_bottom);
    }
    for (std::size_t i = 0; i < edges.size(); ++i) {
        for (std::size_t j = i + 1; j < edges.size(); ++j) {
            const double top = std::max(edges[i].y_top, edges[j].y_top);
            const double bottom = std::min(edges[i].y_bottom, edges[j].y_bottom);
            if (top >= bottom) continue;
            const double gap_top = edges[i].x_at(top) - edges[j].x_at(top);
            const double gap_bottom = edges[i].x_at(bottom) - edges[j].x_at(bottom);
            if ((gap_top < 0.0) == (gap_bottom < 0.0) || gap_top == 0.0 || gap_bottom == 0.0) continue;
            heights.push_back(top + (bottom - top) * gap_top / (gap_top - gap_bottom));
        }
    }
    std::sort(heights.begin(), heights.end());
    heights.erase(std::unique(heights.begin(), heights.end()), heights.end());
    return heights;
}

}  // namespace

std::vector<std::array<drawing::Point, 3>> triangles_of(const std::vector<std::vector<drawing::Point>>& rings) {
    std::vector<Edge> edges;
    for (const auto& ring : rings) {
        for (std::size_t i = 0; i < ring.size(); ++i) {
            const drawing::Point& a = ring[i];
            const drawing::Point& b = ring[(i + 1) % ring.size()];
            if (a.y < b.y) edges.push_back({a.x, a.y, b.x, b.y});
            if (b.y < a.y) edges.push_back({b.x, b.y, a.x, a.y});
        }
    }
    std::vector<std::array<drawing::Point, 3>> triangles;
    const std::vector<double> heights = band_heights(edges);
    std::vector<const Edge*> crossing;
    for (std::size_t band = 0; band + 1 < heights.size(); ++band) {
        const double top = heights[band], bottom = heights[band + 1], middle = (top + bottom) / 2.0;
        crossing.clear();
        for (const Edge& edge : edges) {
            if (edge.y_top <= top && edge.y_bottom >= bottom) crossing.push_back(&edge);
        }
        std::sort(crossing.begin(), crossing.end(),
                  [middle](const Edge* a, const Edge* b) { return a->x_at(middle) < b->x_at(middle); });
        for (std::size_t i = 0; i + 1 < crossing.size(); i += 2) {
            const drawing::Point top_left{crossing[i]->x_at(top), top}, top_right{crossing[i + 1]->x_at(top), top};
            const drawing::Point bottom_left{crossing[i]->x_at(bottom), bottom};
            const drawing::Point bottom_right{crossing[i + 1]->x_at(bottom), bottom};
            if (top_right.x > top_left.x) triangles.push_back({top_left, top_right, bottom_right});
            if (bottom_right.x > bottom_left.x) triangles.push_back({top_left, bottom_right, bottom_left});
        }
    }
    return triangles;
}

}  // namespace app::window
