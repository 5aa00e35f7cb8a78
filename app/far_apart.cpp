#include "app/far_apart.h"

#include <algorithm>
#include <cmath>
#include <limits>

namespace app {

double gap_m(const models::BoxM& a, const models::BoxM& b) {
    const double dx = std::max({a.x_min_m - b.x_max_m, b.x_min_m - a.x_max_m, 0.0});
    const double dy = std::max({a.y_min_m - b.y_max_m, b.y_min_m - a.y_max_m, 0.0});
    return std::hypot(dx, dy);
}

TwoGroups parted_at_widest_gap(const std::vector<models::BoxM>& boxes) {
    TwoGroups groups;
    const std::size_t n = boxes.size();
    if (n == 0) return groups;
    // The tree that joins all boxes by the shortest ways; without its longest way two groups are left.
    std::vector<std::size_t> joined_to(n, 0), order;
    std::vector<double> way_m(n, std::numeric_limits<double>::infinity());
    std::vector<char> inside(n, 0);
    std::size_t widest = 0;
    for (std::size_t now = 0; order.size() < n;) {
        inside[now] = 1;
        order.push_back(now);
        if (now != 0 && (widest == 0 || way_m[now] > way_m[widest])) widest = now;
        std::size_t next = n;
        for (std::size_t i = 0; i < n; ++i) {
            if (inside[i]) continue;
            if (const double gap = gap_m(boxes[now], boxes[i]); gap < way_m[i]) {
                way_m[i] = gap;
                joined_to[i] = now;
            }
            if (next == n || way_m[i] < way_m[next]) next = i;
        }
        if (next == n) break;
        now = next;
    }
    std::vector<char> beyond(n, 0);
    for (const std::size_t i : order) beyond[i] = n > 1 && (i == widest || (i != 0 && beyond[joined_to[i]]));
    for (std::size_t i = 0; i < n; ++i) (beyond[i] ? groups.second : groups.first).push_back(i);
    if (n > 1) groups.gap_m = way_m[widest];
    return groups;
}

}  // namespace app
