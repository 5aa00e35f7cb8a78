#pragma once

#include <filesystem>
#include <map>
#include <optional>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "geo/import.h"
#include "geo/work_system.h"
#include "models/geometry.h"
#include "models/progress.h"
#include "models/records.h"

namespace geo {

/// A place on WGS 84, longitude east and latitude north; always in this order.
struct PointDeg {
    double longitude_deg = 0.0;
    double latitude_deg = 0.0;
    friend bool operator==(const PointDeg&, const PointDeg&) = default;
};
using RingDeg = std::vector<PointDeg>;  ///< closed by itself, as models::RingM
struct PolygonDeg {
    RingDeg outer;
    std::vector<RingDeg> holes;
    friend bool operator==(const PolygonDeg&, const PolygonDeg&) = default;
};
using OutlineDeg = std::vector<PolygonDeg>;

/// One field, or one part of a field, as a file of outlines has it.
struct OutlineRead {
    std::string field, part, name, grower;
    OutlineDeg outline_deg;
    /// Every other attribute that is not empty, in the file's order: name and value as text. Kept as notes.
    std::vector<std::pair<std::string, std::string>> notes;
    long row = 0;  ///< which feature of the file it is, the first being 1; of several pieces the first
};

struct OutlineOptions {
    /// Our word -> the file's word, for example {"field", "Marknr"}. The file's word may also be the name of its row
    /// number (the FID column of a GeoPackage, or "fid"), or several joined by "+" where a number is unique only within
    /// a farm: {"field", "Journalnr+Marknr"}.
    std::map<std::string, std::string> renamed;
    std::string layer;             ///< which layer of the file; empty: its only layer with outlines
    std::string reference_system;  ///< for a file that names none: "EPSG:25832", a PROJ or a WKT text
    /// Where the outlines are expected (the centre of the store's work system): coordinates that are far from here and
    /// near when longitude and latitude are swapped are refused as swapped.
    std::optional<PointDeg> near;
};

struct OutlinesRead {
    std::vector<OutlineRead> outlines;  ///< in the file's order; field and part are a key: no two are the same
    std::vector<Refusal> refused;       ///< feature by feature; the others are good
    std::vector<std::string> notes;     ///< pieces joined, rings mended, how well the reference systems fit together
};

/// Field outlines from any vector file that GDAL reads (shapefile, also zipped; GeoPackage, GeoJSON, KML and more), in
/// any reference system. Attribute `field` is required, `part`, `name` and `grower` may be there; capitals do not
/// matter. Heights are dropped. Rings that cross themselves are mended with a note. Features of the same field and part
/// are pieces of one outline where name and grower agree, they do not overlap and lie within 2 km; the same outline
/// twice counts once; anything else under a name that is taken is refused.
/// @throws models::Error  the file cannot be read, holds no outlines, has no attribute `field` (the nearest name is
///                        offered), several layers and none chosen, or no reference system and none given
OutlinesRead read_outlines(const std::filesystem::path& file, const OutlineOptions& options = {},
                           const models::Progress& progress = {});

models::OutlineM to_work(const OutlineDeg& outline, const WorkSystem& work);
OutlineDeg to_degrees(const models::OutlineM& outline, const WorkSystem& work);

/// The outline as a MULTIPOLYGON in the well-known binary form of OGC 06-103r4 (little endian, two dimensions), as
/// SpatiaLite's ST_GeomFromWKB takes it.
std::vector<unsigned char> to_wkb(const OutlineDeg& outline);
/// Takes a POLYGON or a MULTIPOLYGON.
/// @throws models::Error  no such thing
OutlineDeg from_wkb(std::span<const unsigned char> wkb);

/// Middle of the box around all outlines: where the work system of a new store belongs.
PointDeg middle_of(const std::vector<OutlineRead>& outlines);

/// Outline, area, centroid and their degrees in the store's work system.
models::Field to_field(const OutlineRead& outline, const WorkSystem& work);

}  // namespace geo
