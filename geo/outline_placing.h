#pragma once

#include <optional>
#include <string>
#include <vector>

#include "geo/outlines.h"
#include "geo/reference_system.h"

class OGRGeometry;

namespace geo {

/// An outline on WGS 84, or what is wrong with its coordinates.
struct PlacedOutline {
    OutlineDeg outline;  ///< empty: refused
    double area_ha = 0.0;
    std::string refusal, mend;
};

/// Brings valid polygons from the coordinates of their file to WGS 84. Refused: longitude and latitude (or east and
/// north) swapped, metres that claim to be degrees and degrees that claim to be metres, no ground, more ground than any
/// field has.
PlacedOutline place_outline(const OGRGeometry& polygons, const ToDegrees& system, const std::optional<PointDeg>& near);

/// What is worth saying about the place of all outlines of one file, once for the file.
class PlacingNotes {
 public:
    PlacingNotes(const ToDegrees& system, std::optional<PointDeg> near) : system_(system), near_(near) {}
    void look_at(const std::string& who, const PlacedOutline& placed);
    void tell(std::vector<std::string>& notes) const;

 private:
    struct Seen {
        long count = 0;
        std::string first;
        void add(const std::string& who);
        std::string words() const;
    };
    ToDegrees system_;
    std::optional<PointDeg> near_;
    double worst_m_ = 0.0;
    bool unknown_ = false, ballpark_ = false;
    Seen far_off_, outside_area_, large_;
};

}  // namespace geo
