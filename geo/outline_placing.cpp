#include "geo/outline_placing.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <ogr_geometry.h>

#include "geo/outline_shapes.h"

namespace geo {

namespace {

constexpr double largest_field_ha = 100'000.0;  // common practice, no source: a hundred times the largest field
constexpr double large_field_ha = 5'000.0;
constexpr double smallest_field_m2 = 1.0;
constexpr double far_km = 1000.0;
constexpr double area_margin_deg = 3.0;

/// Every corner to WGS 84; nullopt where one has no place on earth.
std::optional<OutlineDeg> move_corners(const OutlineDeg& as_read, const ToDegrees& system, bool swapped) {
    OutlineDeg moved = as_read;
    const auto move_ring = [&](RingDeg& ring) {
        for (PointDeg& corner : ring) {
            const double x = swapped ? corner.latitude_deg : corner.longitude_deg;
            const double y = swapped ? corner.longitude_deg : corner.latitude_deg;
            const auto place = system(x, y);
            if (!place || std::abs(place->latitude_deg) > 90.0 || std::abs(place->longitude_deg) > 180.0) return false;
            corner = *place;
        }
        return true;
    };
    for (PolygonDeg& piece : moved) {
        if (!move_ring(piece.outer)) return std::nullopt;
        for (RingDeg& hole : piece.holes) {
            if (!move_ring(hole)) return std::nullopt;
        }
    }
    return moved;
}

}  // namespace

PlacedOutline place_outline(const OGRGeometry& polygons, const ToDegrees& system, const std::optional<PointDeg>& near) {
    PlacedOutline placed;
    const OutlineDeg as_read = from_ogr(polygons);
    OGREnvelope box;
    polygons.getEnvelope(&box);
    const double x = std::max(std::abs(box.MinX), std::abs(box.MaxX));
    const double y = std::max(std::abs(box.MinY), std::abs(box.MaxY));
    const std::string first_corner =
        fmt::format("({:.7g}, {:.7g})", as_read[0].outer[0].longitude_deg, as_read[0].outer[0].latitude_deg);
    const auto swapped_refusal = [&] {
        placed.refusal = fmt::format("has longitude and latitude swapped: its first corner is {}", first_corner);
        placed.mend = "export it again with longitude (east) first";
    };
    if (system.in_degrees() && (x > 180.0 || y > 90.0)) {
        if (x <= 90.0 && y <= 180.0) {
            swapped_refusal();
        } else {
            placed.refusal =
                fmt::format("has planar coordinates such as {}, but the file says that they are degrees", first_corner);
            placed.mend = "export it again with its right reference system";
        }
        return placed;
    }
    const auto moved = move_corners(as_read, system, false);
    const bool fits = moved && system.covers(middle_of(*moved), area_margin_deg);
    if (!fits && system.is_planar()) {
        if (x <= 180.0 && y <= 90.0) {
            placed.refusal = fmt::format(
                "has coordinates such as {}, which look like degrees, but the file says that they are "
                "{}",
                first_corner, system.name());
            placed.mend = "export it again with its right reference system";
            return placed;
        }
        const auto swapped = move_corners(as_read, system, true);
        if (swapped && system.covers(middle_of(*swapped), 0.5)) {
            placed.refusal = fmt::format("has east and north swapped: its first corner is {}", first_corner);
            placed.mend = "export it again with east first";
            return placed;
        }
    }
    if (!moved) {
        placed.refusal =
            fmt::format("has the corner {}, which is no place on earth in {}", first_corner, system.name());
        placed.mend = "export it again with its right reference system";
        return placed;
    }
    const PointDeg middle = middle_of(*moved);
    if (near && distance_km(middle, *near) > far_km && std::abs(middle.longitude_deg) <= 90.0 &&
        distance_km({middle.latitude_deg, middle.longitude_deg}, *near) < 300.0) {
        swapped_refusal();
        return placed;
    }
    const double hectares = area_ha(*moved);
    placed.area_ha = hectares;
    if (!(hectares * 1e4 >= smallest_field_m2)) {
        placed.refusal = "encloses no ground";
        placed.mend = "draw it again, or leave it out";
        return placed;
    }
    if (hectares > largest_field_ha) {
        placed.refusal = fmt::format("covers {:.0f} ha, which is no field", hectares);
        placed.mend = system.in_degrees() ? "check that its coordinates are degrees and not metres of a local plan"
                                          : "check its reference system";
        return placed;
    }
    placed.outline = *moved;
    return placed;
}

void PlacingNotes::Seen::add(const std::string& who) {
    if (++count == 1) first = who;
}

std::string PlacingNotes::Seen::words() const {
    return count == 1 ? first : fmt::format("{} outlines, the first being {},", count, first);
}

void PlacingNotes::look_at(const std::string& who, const PlacedOutline& placed) {
    const std::optional<double> metres = system_.accuracy_m();
    unknown_ = unknown_ || !metres;
    ballpark_ = ballpark_ || system_.ballpark();
    worst_m_ = std::max(worst_m_, metres.value_or(0.0));
    const PointDeg middle = middle_of(placed.outline);
    if (placed.area_ha > large_field_ha) large_.add(who);
    if (!system_.covers(middle, area_margin_deg)) outside_area_.add(who);
    if (near_ && distance_km(middle, *near_) > far_km) far_off_.add(who);
}

void PlacingNotes::tell(std::vector<std::string>& notes) const {
    if (ballpark_) {
        notes.push_back(
            fmt::format("how {} lies to WGS 84 is not known here; the outlines may be off by a hundred metres: "
                        "check them on the map",
                        system_.name()));
    } else if (worst_m_ > 1.0) {
        notes.push_back(fmt::format("{} meets WGS 84 within about {:.1f} m on this machine", system_.name(), worst_m_));
    } else if (unknown_) {
        notes.push_back(
            fmt::format("how well {} meets WGS 84 is not stated: check an outline on the map", system_.name()));
    }
    const char* const verb[] = {"lies", "lie"};
    if (far_off_.count > 0) {
        notes.push_back(fmt::format("{} {} more than 1,000 km from the middle of the store", far_off_.words(),
                                    verb[far_off_.count > 1]));
    }
    if (outside_area_.count > 0) {
        notes.push_back(
            fmt::format("{} {} outside of the area that {} is made for: is that the right reference system?",
                        outside_area_.words(), verb[outside_area_.count > 1], system_.name()));
    }
    if (large_.count > 0) {
        notes.push_back(fmt::format("{} {} more than 5,000 ha: is the reference system right?", large_.words(),
                                    large_.count > 1 ? "cover" : "covers"));
    }
}

}  // namespace geo
