#pragma once

#include <filesystem>
#include <optional>
#include <string>
#include <variant>
#include <vector>

#include "geo/outlines.h"
#include "geo/work_system.h"
#include "models/geometry.h"

namespace geo {

/// What one column of a map layer holds. A missing value is written as none.
enum class ColumnKind { text, number, whole_number };
struct VectorColumn {
    std::string name;  ///< with its unit; a shapefile keeps its first ten letters
    ColumnKind kind = ColumnKind::text;
};
using VectorValue = std::variant<std::monostate, std::string, double, long long>;
using LineM = std::vector<models::PointM>;
using LinesM = std::vector<LineM>;  ///< several that are one shape
/// Metres of the work system, or degrees.
using Shape = std::variant<models::OutlineM, LineM, LinesM, models::PointM, OutlineDeg, PointDeg>;

struct VectorFeature {
    Shape shape;
    std::vector<VectorValue> values;  ///< one for each column
};

/// Outlines, lines or points with a table: one layer of a map file. All shapes of a layer are of one kind; outlines are
/// written as multipolygons.
struct VectorLayer {
    std::string name;  ///< "fields", "zones", "contours"
    std::vector<VectorColumn> columns;
    std::vector<VectorFeature> features;
    /// Where it is said, OutlineM, LineM and PointM are coordinates of this system and written as they are: "EPSG:n",
    /// WKT or PROJ text; empty: planar, without a system. GeoJSON is in longitude and latitude all the same.
    std::optional<std::string> system{};
};

/// Writes layers for any map program: GeoPackage (.gpkg, several layers), GeoJSON (.geojson or .json, one layer),
/// shapefile (.shp, one layer) or, for what finds its way by satellites, GPX 1.1 (.gpx: layers `waypoints` and `routes`
/// with columns name, cmt and desc), in WGS 84 longitude and latitude (EPSG:4326; GeoJSON has no other) or a system
/// that a layer says. GeoPackage and shapefile hold every digit of degrees that are given; GeoJSON holds 7 decimals, 1
/// cm, and rings turn as RFC 7946 (sections 3.1.6 and 11.2) has it. The same input gives the same bytes: no clock is
/// written. The file is made beside and renamed; an existing one is replaced.
/// @throws models::Error  unknown ending; several layers for a one-layer file; another layer in GPX; a feature with
/// another number of values
///                        or another kind of shape than its layer; the folder cannot be written
void write_vector_file(const std::filesystem::path& file, const std::vector<VectorLayer>& layers,
                       const WorkSystem& work);
/// One layer that says its system.
/// @throws models::Error  also: the system is not known; GeoJSON without one
void write_vector_file(const std::filesystem::path& file, const VectorLayer& layer);
/// The bytes of a GeoJSON file of one layer, for standard output.
std::string geojson_text(const VectorLayer& layer, const WorkSystem& work);

}  // namespace geo
