#pragma once

#include <memory>
#include <string>

#include "geo/outlines.h"

class OGRGeometry;

namespace geo {

/// Between our plain outlines and the geometry library's, inside geo only.
std::unique_ptr<OGRGeometry> to_ogr(const OutlineDeg& outline);
/// Every polygon in it; points and lines beside them are left out. Outer rings run counter-clockwise, holes clockwise
/// (RFC 7946), repeated points are dropped, so the same ground always reads the same.
OutlineDeg from_ogr(const OGRGeometry& geometry);

/// A geometry of a file made into valid polygons in its own system, or the reason why that cannot be.
struct MendedOutline {
    std::unique_ptr<OGRGeometry> polygons;  ///< null: refused
    std::string fault;                      ///< why it is not valid as it came: "crosses itself near (3, 4)"
    std::string note;                       ///< what was done to it; empty: nothing
    std::string refusal, mend;
};
MendedOutline mend_outline(const OGRGeometry& as_read);

double area_ha(const OutlineDeg& outline);  ///< for sentences and limits of sense, right to 0.1 %
/// On a sphere; within 0.6 %.
double distance_km(const PointDeg& a, const PointDeg& b);
PointDeg middle_of(const OutlineDeg& outline);

}  // namespace geo
