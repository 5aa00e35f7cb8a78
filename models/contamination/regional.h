#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/geometry.h"

namespace models::contamination {

/// Where a field-season lies among those that may be alike: its group (a season) and its place. No group: it shares
/// its regional effect with nobody.
struct RegionPlace {
    int group = -1;
    PointM at_m;
};

/// Covariance of the regional effects of two lists of places: sd^2 exp(-distance / range) within a group, 0 between
/// groups and where there is none. Entries of a place with itself are sd^2 as well. The same list twice costs half.
Eigen::MatrixXd regional_covariance(const std::vector<RegionPlace>& a, const std::vector<RegionPlace>& b, double sd,
                                    double range_m);

}  // namespace models::contamination
