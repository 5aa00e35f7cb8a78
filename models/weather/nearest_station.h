#pragma once

#include <cstddef>
#include <optional>
#include <vector>

#include "models/records.h"

namespace models {

struct StationAt {
    std::size_t index = 0;  ///< in the list that was given
    double distance_m = 0.0;
};

/// The station nearest to a place of the work system; nullopt where there is none. Of two equally near, the first.
std::optional<StationAt> nearest_station(const PointM& place, const std::vector<Station>& stations);
/// All stations not farther than `within_m`, the nearest first.
std::vector<StationAt> stations_by_distance(const PointM& place, const std::vector<Station>& stations, double within_m);

/// Between two places in degrees, on a sphere of 6371008.8 m (the mean radius of WGS 84): the haversine formula, right
/// to 0.6 %. For places without a work system.
double distance_on_earth_m(double longitude1_deg, double latitude1_deg, double longitude2_deg, double latitude2_deg);

}  // namespace models
