#pragma once

#include <memory>
#include <optional>
#include <string>

#include "geo/work_system.h"

namespace geo {

struct PointDeg;

/// The way from any reference system to WGS 84 degrees, x (east, longitude) always before y (north, latitude) on both
/// sides, heights left out. PROJ chooses the best operation that this machine has for each place; `accuracy_m` says
/// how good it was. One object a thread.
class ToDegrees {
 public:
    /// @param system  "EPSG:25832", a PROJ text or WKT
    /// @throws models::Error  PROJ does not know it, or it has no relation to the earth
    explicit ToDegrees(const std::string& system);

    /// nullopt where the place lies outside the domain of the system.
    std::optional<PointDeg> operator()(double x, double y) const;

    const std::string& name() const;  ///< "RGF93 v1 / Lambert-93"
    bool in_degrees() const;          ///< its coordinates are degrees of longitude and latitude
    bool is_planar() const;           ///< its coordinates are lengths
    /// Of the operation used last, in metres; nullopt where PROJ does not know it. 0: nothing was done to the datum.
    std::optional<double> accuracy_m() const;
    /// The operation used last assumes that two datums are the same because it knows nothing better.
    bool ballpark() const;
    /// Within the area that the system was made for, widened by `margin_deg`; true where no such area is known.
    bool covers(const PointDeg& place, double margin_deg) const;

 private:
    struct Operation;
    std::shared_ptr<const Operation> operation_;
};

}  // namespace geo
