#include "geo/cut_outline.h"

#include <algorithm>
#include <cmath>
#include <memory>

#include <fmt/format.h>
#include <ogr_geometry.h>

#include "geo/gdal_errors.h"
#include "geo/outline_shapes.h"
#include "models/error.h"

namespace geo {

namespace cut_parts {

// The geometry library has one kind of coordinates: metres pass through the types of degrees as they are.
OutlineDeg as_library_has_it(const models::OutlineM& outline) {
    const auto ring_of = [](const models::RingM& ring) {
        RingDeg out;
        for (const models::PointM& corner : ring) out.push_back({corner.x_m, corner.y_m});
        return out;
    };
    OutlineDeg out;
    for (const models::PolygonM& piece : outline) {
        PolygonDeg polygon{ring_of(piece.outer), {}};
        for (const models::RingM& hole : piece.holes) polygon.holes.push_back(ring_of(hole));
        out.push_back(std::move(polygon));
    }
    return out;
}

models::OutlineM in_metres(const OGRGeometry& geometry) {
    const auto ring_of = [](const RingDeg& ring) {
        models::RingM out;
        for (const PointDeg& corner : ring) out.push_back({corner.longitude_deg, corner.latitude_deg});
        return out;
    };
    models::OutlineM out;
    for (const PolygonDeg& piece : from_ogr(geometry)) {
        models::PolygonM polygon{ring_of(piece.outer), {}};
        for (const RingDeg& hole : piece.holes) polygon.holes.push_back(ring_of(hole));
        out.push_back(std::move(polygon));
    }
    return out;
}

}  // namespace cut_parts

std::vector<models::OutlineM> cut_along(const models::OutlineM& outline, const models::PointM& across,
                                        const std::vector<double>& lines_m) {
    namespace parts = cut_parts;
    if (!(models::area_m2(outline) > 0.0)) throw models::Error("the outline has no area", "", "draw the field");
    for (std::size_t i = 0; i < lines_m.size(); ++i)
        if (!std::isfinite(lines_m[i]) || (i > 0 && !(lines_m[i] > lines_m[i - 1])))
            throw models::Error(fmt::format("line {} of a cut lies at {} m", i + 1, lines_m[i]), "",
                                "give lines that rise");
    if (lines_m.empty()) return {outline};

    const GdalErrors errors;
    const std::unique_ptr<OGRGeometry> whole = to_ogr(parts::as_library_has_it(outline));
    // Beyond the outline on all sides, from a middle of its own, so that no digit is lost to far corners.
    const models::BoxM box = models::bounding_box(outline);
    const models::PointM along{-across.y_m, across.x_m};
    const models::PointM middle{0.5 * (box.x_min_m + box.x_max_m), 0.5 * (box.y_min_m + box.y_max_m)};
    const double far = std::hypot(box.width_m(), box.height_m()) + 1.0;
    const double at = middle.x_m * across.x_m + middle.y_m * across.y_m;
    std::vector<models::OutlineM> cut;
    for (std::size_t i = 0; i <= lines_m.size(); ++i) {
        const double from = i == 0 ? -far : std::clamp(lines_m[i - 1] - at, -far, far);
        const double to = i == lines_m.size() ? far : std::clamp(lines_m[i] - at, -far, far);
        const auto corner = [&](double v, double u) {
            return models::PointM{middle.x_m + v * across.x_m + u * along.x_m,
                                  middle.y_m + v * across.y_m + u * along.y_m};
        };
        if (!(to > from)) {
            cut.emplace_back();
            continue;
        }
        const std::unique_ptr<OGRGeometry> band = to_ogr(parts::as_library_has_it(
            {{{corner(from, -far), corner(to, -far), corner(to, far), corner(from, far)}, {}}}));
        const std::unique_ptr<OGRGeometry> part(whole->Intersection(band.get()));
        if (!part)
            throw models::Error("the outline cannot be cut: " + errors.text_or("the library does not say why"), "",
                                "check how it is drawn: lodicule check STORE");
        cut.push_back(parts::in_metres(*part));
    }
    return cut;
}

}  // namespace geo
