#pragma once

#include <vector>

#include "models/geometry.h"

namespace demo {

/// Where land is parted on paper, before the warp makes it a landscape: straight lines in (u, v), metres. Each corner
/// carries the strip that is not tilled along the side that starts there: half a road, a bank, a field margin.
struct Corner {
    double u_m = 0.0;
    double v_m = 0.0;
    double margin_m = 0.0;
};
using Parcel = std::vector<Corner>;  ///< counter-clockwise, closed by itself

double area_m2(const Parcel& parcel);
Corner centre_of(const Parcel& parcel);  ///< of the area

/// The two sides of a line through a place, at an angle to the u axis. Only for parcels without inward corners.
struct CutParcel {
    Parcel left, right;
    Parcel whole;       ///< the parcel itself with the two ends of the cut as corners
    bool cuts = false;  ///< false: the line passes by
};
CutParcel cut_along(const Parcel& parcel, const Corner& through, double angle_rad, double margin_m);

/// The parcel without the strips along its sides.
Parcel without_margins(const Parcel& parcel);

/// One corner taken out as a four-sided piece (a farmstead, a copse): an inward corner is left. The shares are those
/// of the two sides that meet there.
Parcel without_corner(const Parcel& parcel, std::size_t corner, double share_before, double share_after);

/// A bite of given depth out of the middle of a side.
Parcel with_bite(const Parcel& parcel, std::size_t side, double from_share, double to_share, double depth_m);

/// One corner cut off obliquely, as drawn outlines have them; as it was where its sides are short.
Parcel with_blunt_corner(const Parcel& parcel, std::size_t corner, double length_m);

/// Half the extent along and across its longest direction, and that direction.
struct Lie {
    double angle_rad = 0.0;
    double along_m = 0.0;
    double across_m = 0.0;
};
Lie lie_of(const Parcel& parcel);

}  // namespace demo
