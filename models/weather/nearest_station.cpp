#include "models/weather/nearest_station.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace models {

std::optional<StationAt> nearest_station(const PointM& place, const std::vector<Station>& stations) {
    std::optional<std::size_t> nearest;
    double least_m2 = 0.0;
    for (std::size_t i = 0; i < stations.size(); ++i) {
        const double east_m = stations[i].place_m.x_m - place.x_m, north_m = stations[i].place_m.y_m - place.y_m;
        const double away_m2 = east_m * east_m + north_m * north_m;
        if (nearest && away_m2 >= least_m2) continue;
        nearest = i;
        least_m2 = away_m2;
    }
    if (!nearest) return std::nullopt;
    return StationAt{*nearest, distance_m(place, stations[*nearest].place_m)};
}

std::vector<StationAt> stations_by_distance(const PointM& place, const std::vector<Station>& stations,
                                            double within_m) {
    std::vector<StationAt> found;
    for (std::size_t i = 0; i < stations.size(); ++i) {
        const double away_m = distance_m(place, stations[i].place_m);
        if (away_m <= within_m) found.push_back({i, away_m});
    }
    std::stable_sort(found.begin(), found.end(),
                     [](const StationAt& a, const StationAt& b) { return a.distance_m < b.distance_m; });
    return found;
}

double distance_on_earth_m(double longitude1_deg, double latitude1_deg, double longitude2_deg, double latitude2_deg) {
    constexpr double radius_m = 6371008.8;
    constexpr double radians = std::numbers::pi / 180.0;
    const double half_north = std::sin((latitude2_deg - latitude1_deg) * radians / 2.0);
    const double half_east = std::sin((longitude2_deg - longitude1_deg) * radians / 2.0);
    const double h = half_north * half_north +
                     std::cos(latitude1_deg * radians) * std::cos(latitude2_deg * radians) * half_east * half_east;
    return 2.0 * radius_m * std::asin(std::sqrt(std::min(1.0, h)));
}

}  // namespace models
