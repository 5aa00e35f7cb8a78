#pragma once

#include <memory>
#include <string>
#include <utility>

#include "models/geometry.h"

namespace geo {

/// The flat, equal-area system that all distances and areas of one store are measured in: Lambert's azimuthal
/// equal-area projection on WGS 84, centred on the store's first outlines (rounded to 0.01 degree) and fixed from then
/// on. Within 100 km of the centre a distance of 1 km is wrong by at most 0.04 m; areas are exact.
/// One object a thread.
class WorkSystem {
 public:
    WorkSystem(double centre_longitude_deg, double centre_latitude_deg);
    /// A centre for data around this place: both coordinates rounded to 0.01 degree.
    static WorkSystem around(double longitude_deg, double latitude_deg);

    models::PointM from_degrees(double longitude_deg, double latitude_deg) const;
    /// @returns longitude, latitude in degrees
    std::pair<double, double> to_degrees(const models::PointM& place) const;

    double centre_longitude_deg() const { return centre_longitude_deg_; }
    double centre_latitude_deg() const { return centre_latitude_deg_; }
    std::string proj_text() const;  ///< "+proj=laea +lat_0=... +datum=WGS84 +units=m"

 private:
    struct Transform;
    double centre_longitude_deg_;
    double centre_latitude_deg_;
    std::shared_ptr<const Transform> transform_;
};

}  // namespace geo
