#include "geo/outline_shapes.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>

#include <fmt/format.h>
#include <geos_c.h>
#include <ogr_geometry.h>

#include "geo/gdal_errors.h"
#include "models/error.h"

namespace geo {

namespace {

/// Twice the signed area about the first point; positive where the ring runs counter-clockwise.
double turning(const RingDeg& ring) {
    double twice = 0.0;
    for (std::size_t i = 1; i + 1 < ring.size(); ++i) {
        const double ax = ring[i].longitude_deg - ring[0].longitude_deg;
        const double ay = ring[i].latitude_deg - ring[0].latitude_deg;
        const double bx = ring[i + 1].longitude_deg - ring[0].longitude_deg;
        const double by = ring[i + 1].latitude_deg - ring[0].latitude_deg;
        twice += ax * by - bx * ay;
    }
    return twice;
}

/// @param count, place  of the points as they were read
template <typename Place>
RingDeg ring_of(int count, Place place, bool counter_clockwise) {
    RingDeg ring;
    ring.reserve(static_cast<std::size_t>(count));
    for (int i = 0; i < count; ++i) {
        const PointDeg point = place(i);
        if (ring.empty() || ring.back() != point) ring.push_back(point);
    }
    while (ring.size() > 1 && ring.front() == ring.back()) ring.pop_back();
    // The first point stays the first, so that the ring of a file that is already right is not touched.
    if (!ring.empty() && (turning(ring) > 0.0) != counter_clockwise) std::reverse(ring.begin() + 1, ring.end());
    return ring;
}

RingDeg ring_of(const OGRLinearRing& read, bool counter_clockwise) {
    return ring_of(
        read.getNumPoints(),
        [&](int i) {
            return PointDeg{read.getX(i), read.getY(i)};
        },
        counter_clockwise);
}

/// The bytes of an outline as every store has them, read by GEOS, which the store needs anyway: for a look at a season
/// GDAL is then not loaded. It takes no ring that is open or of fewer than three corners; those are left to GDAL.
class OutlineByGeos {
 public:
    /// Empty: not read.
    OutlineDeg read(std::span<const unsigned char> wkb) {
        OutlineDeg outline;
        const std::unique_ptr<GEOSWKBReader, Destroy> reader(GEOSWKBReader_create_r(context_.get()),
                                                             Destroy{context_.get()});
        const std::unique_ptr<GEOSGeometry, Destroy> geometry(
            GEOSWKBReader_read_r(context_.get(), reader.get(), wkb.data(), wkb.size()), Destroy{context_.get()});
        if (!geometry || !add(geometry.get(), outline)) outline.clear();
        return outline;
    }

 private:
    bool add(const GEOSGeometry* geometry, OutlineDeg& outline) const {
        GEOSContextHandle_t context = context_.get();
        const int type = GEOSGeomTypeId_r(context, geometry);
        if (type == GEOS_MULTIPOLYGON || type == GEOS_GEOMETRYCOLLECTION) {
            for (int i = 0; i < GEOSGetNumGeometries_r(context, geometry); ++i)
                if (!add(GEOSGetGeometryN_r(context, geometry, i), outline)) return false;
            return true;
        }
        if (type != GEOS_POLYGON || GEOSisEmpty_r(context, geometry) != 0) return true;
        PolygonDeg polygon;
        if (!add_ring(GEOSGetExteriorRing_r(context, geometry), true, polygon.outer)) return false;
        for (int i = 0; i < GEOSGetNumInteriorRings_r(context, geometry); ++i)
            if (!add_ring(GEOSGetInteriorRingN_r(context, geometry, i), false, polygon.holes.emplace_back()))
                return false;
        outline.push_back(std::move(polygon));
        return true;
    }
    bool add_ring(const GEOSGeometry* ring, bool counter_clockwise, RingDeg& out) const {
        GEOSContextHandle_t context = context_.get();
        const GEOSCoordSequence* points = GEOSGeom_getCoordSeq_r(context, ring);
        unsigned int count = 0;
        if (points == nullptr || GEOSCoordSeq_getSize_r(context, points, &count) == 0) return false;
        bool all = true;
        const auto place = [&](int i) {
            PointDeg point;
            all = GEOSCoordSeq_getXY_r(context, points, static_cast<unsigned int>(i), &point.longitude_deg,
                                       &point.latitude_deg) != 0 &&
                  all;
            return point;
        };
        out = ring_of(static_cast<int>(count), place, counter_clockwise);
        return all;
    }

    struct Finish {
        void operator()(GEOSContextHandle_HS* context) const { GEOS_finish_r(context); }
    };
    struct Destroy {
        GEOSContextHandle_t context;
        void operator()(GEOSWKBReader* reader) const { GEOSWKBReader_destroy_r(context, reader); }
        void operator()(GEOSGeometry* geometry) const { GEOSGeom_destroy_r(context, geometry); }
    };
    std::unique_ptr<GEOSContextHandle_HS, Finish> context_{GEOS_init_r()};
};

void add_polygons(const OGRGeometry& geometry, OutlineDeg& outline) {
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (type == wkbPolygon || type == wkbTriangle) {
        const OGRPolygon& read = *geometry.toPolygon();
        if (read.IsEmpty()) return;
        PolygonDeg polygon;
        polygon.outer = ring_of(*read.getExteriorRing(), true);
        for (int i = 0; i < read.getNumInteriorRings(); ++i) {
            polygon.holes.push_back(ring_of(*read.getInteriorRing(i), false));
        }
        outline.push_back(std::move(polygon));
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* piece : *geometry.toGeometryCollection()) add_polygons(*piece, outline);
    }
}

/// Polygons only, two dimensions, rings closed; counts what else was in there.
void collect_polygons(const OGRGeometry& geometry, OGRMultiPolygon& polygons, int& others) {
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (type == wkbPolygon || type == wkbTriangle) {
        if (geometry.IsEmpty()) return;
        auto polygon = std::make_unique<OGRPolygon>(*geometry.toPolygon());
        polygon->closeRings();
        polygons.addGeometryDirectly(polygon.release());
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* piece : *geometry.toGeometryCollection()) collect_polygons(*piece, polygons, others);
    } else if (!geometry.IsEmpty()) {
        ++others;
    }
}

std::string plain_words(const std::string& reason) {
    const std::size_t place = reason.find(" at or near point ");
    const std::string what = reason.substr(0, place);
    std::string words = "is not a valid outline (" + what + ")";
    if (what == "Self-intersection") words = "crosses itself";
    if (what == "Ring Self-intersection") words = "touches itself";
    if (what == "Hole lies outside shell") words = "has a hole outside of it";
    if (what == "Holes are nested") words = "has a hole in a hole";
    if (what == "Nested shells") words = "has one piece inside another";
    if (what == "Interior is disconnected") words = "is cut through by its own hole";
    if (what == "Duplicate Rings") words = "has the same ring twice";
    if (what == "Too few points in geometry component") words = "has a ring of fewer than three corners";
    if (place == std::string::npos) return words;
    const char* const end = reason.data() + reason.size();
    double x = 0.0, y = 0.0;
    const auto first = std::from_chars(reason.data() + place + 18, end, x);
    if (first.ec != std::errc() || first.ptr == end) return words;
    const auto second = std::from_chars(first.ptr + 1, end, y);
    if (second.ec != std::errc()) return words;
    return words + fmt::format(" near ({:.9g}, {:.9g})", x, y);
}

bool all_finite(const OGRMultiPolygon& polygons) {
    for (const OGRPolygon* polygon : polygons) {
        for (const OGRLinearRing* ring : *polygon) {
            for (int i = 0; i < ring->getNumPoints(); ++i) {
                if (!std::isfinite(ring->getX(i)) || !std::isfinite(ring->getY(i))) return false;
            }
        }
    }
    return true;
}

void add_ring(OGRPolygon& polygon, const RingDeg& ring) {
    auto out = std::make_unique<OGRLinearRing>();
    for (const PointDeg& point : ring) out->addPoint(point.longitude_deg, point.latitude_deg);
    if (!ring.empty()) out->addPoint(ring.front().longitude_deg, ring.front().latitude_deg);
    out->flattenTo2D();
    polygon.addRingDirectly(out.release());
}

}  // namespace

std::unique_ptr<OGRGeometry> to_ogr(const OutlineDeg& outline) {
    auto all = std::make_unique<OGRMultiPolygon>();
    for (const PolygonDeg& piece : outline) {
        auto polygon = std::make_unique<OGRPolygon>();
        add_ring(*polygon, piece.outer);
        for (const RingDeg& hole : piece.holes) add_ring(*polygon, hole);
        all->addGeometryDirectly(polygon.release());
    }
    return all;
}

OutlineDeg from_ogr(const OGRGeometry& geometry) {
    OutlineDeg outline;
    add_polygons(geometry, outline);
    return outline;
}

MendedOutline mend_outline(const OGRGeometry& as_read) {
    MendedOutline mended;
    const std::unique_ptr<OGRGeometry> straight(as_read.getLinearGeometry());
    const OGRGeometry& read = straight ? *straight : as_read;
    auto polygons = std::make_unique<OGRMultiPolygon>();
    int others = 0;
    collect_polygons(read, *polygons, others);
    polygons->flattenTo2D();
    if (polygons->IsEmpty()) {
        const bool nothing = read.IsEmpty();
        const OGRwkbGeometryType type = wkbFlatten(read.getGeometryType());
        const char* what = type == wkbPoint || type == wkbMultiPoint ? "a point" : "a line";
        mended.refusal = nothing ? "has no outline" : fmt::format("is {}, not an outline", what);
        mended.mend = nothing ? "draw it, or leave the row out" : "draw it as an area";
        return mended;
    }
    if (!all_finite(*polygons)) {
        mended.refusal = "has a corner that is no number";
        mended.mend = "draw it again";
        return mended;
    }
    GdalErrors errors;
    if (!polygons->IsValid()) {
        const std::string problem = plain_words(errors.messages().empty() ? "unknown" : errors.messages().front());
        mended.fault = problem;
        errors.clear();
        const std::unique_ptr<OGRGeometry> valid(polygons->MakeValid());
        auto kept = std::make_unique<OGRMultiPolygon>();
        int scraps = 0;
        if (valid) collect_polygons(*valid, *kept, scraps);
        if (kept->IsEmpty() || !(kept->get_Area() > 0.0) || !kept->IsValid()) {
            mended.refusal = problem + " and encloses no ground";
            mended.mend = "draw it again";
            return mended;
        }
        const int pieces = kept->getNumGeometries();
        mended.note = problem + fmt::format("; mended, it is now {} of valid ground: look at it on the map",
                                            pieces == 1 ? "one piece" : fmt::format("{} pieces", pieces));
        polygons = std::move(kept);
    }
    if (others > 0) {
        mended.note +=
            (mended.note.empty() ? "" : "; ") + std::string("has points or lines beside its outline, left out");
    }
    mended.polygons = std::move(polygons);
    return mended;
}

PointDeg middle_of(const OutlineDeg& outline) {
    constexpr double far = std::numeric_limits<double>::infinity();
    double west = far, south = far, east = -far, north = -far;
    for (const PolygonDeg& piece : outline) {
        for (const PointDeg& point : piece.outer) {
            west = std::min(west, point.longitude_deg);
            east = std::max(east, point.longitude_deg);
            south = std::min(south, point.latitude_deg);
            north = std::max(north, point.latitude_deg);
        }
    }
    if (!(west <= east)) return {};
    return {(west + east) / 2.0, (south + north) / 2.0};
}

double area_ha(const OutlineDeg& outline) {
    // Metres in a degree at the middle (radii of curvature of the WGS 84 ellipsoid): no projection is needed for a
    // number in a sentence, and for a field of some kilometres it is right to 0.1 %.
    constexpr double per_degree = std::numbers::pi / 180.0, a = 6378137.0, e2 = 0.00669437999014;
    const double sine = std::sin(middle_of(outline).latitude_deg * per_degree);
    const double w = std::sqrt(1.0 - e2 * sine * sine);
    const double north_m = a * (1.0 - e2) / (w * w * w) * per_degree;
    const double east_m = a / w * std::sqrt(std::max(0.0, 1.0 - sine * sine)) * per_degree;
    double twice = 0.0;
    for (const PolygonDeg& piece : outline) {
        twice += std::abs(turning(piece.outer));
        for (const RingDeg& hole : piece.holes) twice -= std::abs(turning(hole));
    }
    return twice / 2.0 * north_m * east_m / 1e4;
}

double distance_km(const PointDeg& a, const PointDeg& b) {
    constexpr double per_degree = std::numbers::pi / 180.0;
    const double up = std::sin((b.latitude_deg - a.latitude_deg) * per_degree / 2.0);
    const double across = std::sin((b.longitude_deg - a.longitude_deg) * per_degree / 2.0);
    const double h =
        up * up + std::cos(a.latitude_deg * per_degree) * std::cos(b.latitude_deg * per_degree) * across * across;
    return 2.0 * 6371.0 * std::asin(std::sqrt(std::min(1.0, h)));
}

models::OutlineM to_work(const OutlineDeg& outline, const WorkSystem& work) {
    const auto ring_m = [&](const RingDeg& ring) {
        models::RingM out;
        out.reserve(ring.size());
        for (const PointDeg& point : ring) out.push_back(work.from_degrees(point.longitude_deg, point.latitude_deg));
        return out;
    };
    models::OutlineM out;
    for (const PolygonDeg& piece : outline) {
        models::PolygonM polygon{ring_m(piece.outer), {}};
        for (const RingDeg& hole : piece.holes) polygon.holes.push_back(ring_m(hole));
        out.push_back(std::move(polygon));
    }
    return out;
}

OutlineDeg to_degrees(const models::OutlineM& outline, const WorkSystem& work) {
    const auto ring_deg = [&](const models::RingM& ring) {
        RingDeg out;
        out.reserve(ring.size());
        for (const models::PointM& place : ring) {
            const auto [longitude, latitude] = work.to_degrees(place);
            out.push_back({longitude, latitude});
        }
        return out;
    };
    OutlineDeg out;
    for (const models::PolygonM& piece : outline) {
        PolygonDeg polygon{ring_deg(piece.outer), {}};
        for (const models::RingM& hole : piece.holes) polygon.holes.push_back(ring_deg(hole));
        out.push_back(std::move(polygon));
    }
    return out;
}

std::vector<unsigned char> to_wkb(const OutlineDeg& outline) {
    const std::unique_ptr<OGRGeometry> geometry = to_ogr(outline);
    std::vector<unsigned char> wkb(geometry->WkbSize());
    geometry->exportToWkb(wkbNDR, wkb.data(), wkbVariantIso);
    return wkb;
}

OutlineDeg from_wkb(std::span<const unsigned char> wkb) {
    if (OutlineDeg outline = OutlineByGeos().read(wkb); !outline.empty()) return outline;
    GdalErrors errors;
    OGRGeometry* raw = nullptr;
    const OGRErr result = OGRGeometryFactory::createFromWkb(wkb.data(), nullptr, &raw, wkb.size());
    const std::unique_ptr<OGRGeometry> geometry(raw);
    OutlineDeg outline;
    if (result == OGRERR_NONE && geometry) outline = from_ogr(*geometry);
    if (outline.empty()) throw models::Error("the bytes of the outline are no polygon");
    return outline;
}

PointDeg middle_of(const std::vector<OutlineRead>& outlines) {
    OutlineDeg all;
    for (const OutlineRead& read : outlines) all.insert(all.end(), read.outline_deg.begin(), read.outline_deg.end());
    return middle_of(all);
}

models::Field to_field(const OutlineRead& outline, const WorkSystem& work) {
    models::Field field;
    field.field = outline.field;
    field.part = outline.part;
    field.name = outline.name;
    field.grower = outline.grower;
    field.outline_m = to_work(outline.outline_deg, work);
    field.area_ha = models::area_m2(field.outline_m) / 1e4;
    field.centroid_m = models::centroid(field.outline_m);
    std::tie(field.longitude_deg, field.latitude_deg) = work.to_degrees(field.centroid_m);
    return field;
}

}  // namespace geo
