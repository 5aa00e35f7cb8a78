#pragma once

#include <cstddef>
#include <vector>

#include "models/geometry.h"

/// Fields in groups that lie far from one another: two farms of one season, a district with an outlier.
namespace app {

/// The shortest way between two boxes; 0 where they meet.
double gap_m(const models::BoxM& a, const models::BoxM& b);

/// Two groups of boxes, by their indices in ascending order, and the gap between them.
struct TwoGroups {
    std::vector<std::size_t> first, second;
    double gap_m = 0.0;
};
/// Parts the boxes where the way from one to the next is longest: of all ways to part them the two groups lie farthest
/// apart (single linkage). One box or none: `second` is empty.
TwoGroups parted_at_widest_gap(const std::vector<models::BoxM>& boxes);

}  // namespace app
