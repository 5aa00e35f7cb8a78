#include "geo/vector_file.h"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <functional>

#include <cpl_conv.h>
#include <cpl_string.h>
#include <cpl_vsi.h>
#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "geo/gdal_errors.h"
#include "geo/outline_shapes.h"
#include "geo/whole_file.h"
#include "models/error.h"

namespace geo {

namespace {

/// A folder in memory that goes away with its files: the library writes there, and only whole files reach the disk.
class MemoryFolder {
 public:
    MemoryFolder() {
        static std::atomic<unsigned> count{0};
        path_ = fmt::format("/vsimem/lodicule_written_{}", ++count);
        VSIMkdir(path_.c_str(), 0700);
    }
    ~MemoryFolder() { VSIRmdirRecursive(path_.c_str()); }
    MemoryFolder(const MemoryFolder&) = delete;
    MemoryFolder& operator=(const MemoryFolder&) = delete;

    std::string path(const std::string& name) const { return path_ + "/" + name; }
    std::vector<std::string> names() const {
        const CPLStringList entries(VSIReadDir(path_.c_str()));
        std::vector<std::string> out;
        for (int i = 0; i < entries.Count(); ++i) out.emplace_back(entries[i]);
        std::sort(out.begin(), out.end());
        return out;
    }

 private:
    std::string path_;
};

/// A GeoPackage says when it was written; ours never do.
class NoClock {
 public:
    NoClock() { CPLSetThreadLocalConfigOption("OGR_CURRENT_DATE", "2000-01-01T00:00:00.000Z"); }
    ~NoClock() { CPLSetThreadLocalConfigOption("OGR_CURRENT_DATE", nullptr); }
    NoClock(const NoClock&) = delete;
    NoClock& operator=(const NoClock&) = delete;
};

std::string ending_of(const std::filesystem::path& file) {
    std::string ending = file.extension().string();
    std::transform(ending.begin(), ending.end(), ending.begin(),
                   [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c); });
    return ending;
}

enum class ShapeKind { none, outline, line, lines, point };

ShapeKind kind_of(const Shape& shape) {
    if (std::holds_alternative<LineM>(shape)) return ShapeKind::line;
    if (std::holds_alternative<LinesM>(shape)) return ShapeKind::lines;
    if (std::holds_alternative<models::PointM>(shape) || std::holds_alternative<PointDeg>(shape))
        return ShapeKind::point;
    return ShapeKind::outline;
}

OGRwkbGeometryType library_kind(ShapeKind kind) {
    switch (kind) {
        case ShapeKind::outline:
            return wkbMultiPolygon;
        case ShapeKind::line:
            return wkbLineString;
        case ShapeKind::lines:
            return wkbMultiLineString;
        case ShapeKind::point:
            return wkbPoint;
        case ShapeKind::none:
            break;
    }
    return wkbUnknown;
}

ShapeKind checked_kind(const VectorLayer& layer) {
    ShapeKind kind = ShapeKind::none;
    for (const VectorFeature& feature : layer.features) {
        if (feature.values.size() != layer.columns.size()) {
            throw models::Error(fmt::format("layer \"{}\" has {} columns, and a row of {} values", layer.name,
                                            layer.columns.size(), feature.values.size()));
        }
        const ShapeKind here = kind_of(feature.shape);
        if (kind != ShapeKind::none && here != kind) {
            throw models::Error(fmt::format("layer \"{}\" mixes outlines, lines and points", layer.name));
        }
        kind = here;
    }
    return kind;
}

/// Longitude and latitude of a place, or (without a work system) its own two coordinates.
PointDeg written_place(const models::PointM& place, const WorkSystem* work) {
    if (work == nullptr) return {place.x_m, place.y_m};
    const auto [longitude, latitude] = work->to_degrees(place);
    return {longitude, latitude};
}

OutlineDeg as_it_is(const models::OutlineM& outline) {
    const auto ring_of_places = [](const models::RingM& ring) {
        RingDeg out;
        for (const models::PointM& place : ring) out.push_back({place.x_m, place.y_m});
        return out;
    };
    OutlineDeg out;
    for (const models::PolygonM& piece : outline) {
        PolygonDeg polygon{ring_of_places(piece.outer), {}};
        for (const models::RingM& hole : piece.holes) polygon.holes.push_back(ring_of_places(hole));
        out.push_back(std::move(polygon));
    }
    return out;
}

std::unique_ptr<OGRLineString> line_geometry(const LineM& places, const WorkSystem* work) {
    auto line = std::make_unique<OGRLineString>();
    for (const models::PointM& place : places) {
        const PointDeg written = written_place(place, work);
        line->addPoint(written.longitude_deg, written.latitude_deg);
    }
    line->flattenTo2D();
    return line;
}

std::unique_ptr<OGRGeometry> geometry_of(const Shape& shape, const WorkSystem* work) {
    if (const auto* outline = std::get_if<models::OutlineM>(&shape)) {
        return to_ogr(work == nullptr ? as_it_is(*outline) : to_degrees(*outline, *work));
    }
    if (const auto* outline = std::get_if<OutlineDeg>(&shape)) return to_ogr(*outline);
    if (const auto* place = std::get_if<PointDeg>(&shape)) {
        return std::make_unique<OGRPoint>(place->longitude_deg, place->latitude_deg);
    }
    if (const auto* place = std::get_if<models::PointM>(&shape)) {
        const PointDeg written = written_place(*place, work);
        return std::make_unique<OGRPoint>(written.longitude_deg, written.latitude_deg);
    }
    if (const auto* lines = std::get_if<LinesM>(&shape)) {
        auto all = std::make_unique<OGRMultiLineString>();
        for (const LineM& line : *lines) all->addGeometryDirectly(line_geometry(line, work).release());
        return all;
    }
    return line_geometry(std::get<LineM>(shape), work);
}

void set_value(OGRFeature& feature, int column, const VectorValue& value) {
    if (const auto* text = std::get_if<std::string>(&value)) {
        feature.SetField(column, text->c_str());
    } else if (const auto* whole = std::get_if<long long>(&value)) {
        feature.SetField(column, static_cast<GIntBig>(*whole));
    } else if (const auto* number = std::get_if<double>(&value); number != nullptr && std::isfinite(*number)) {
        feature.SetField(column, *number);
    } else {
        feature.SetFieldNull(column);  // neither JSON nor a table of a map has a word for not-a-number
    }
}

CPLStringList layer_options(const std::string& driver) {
    CPLStringList options;
    if (driver == "GeoJSON") {
        options.SetNameValue("RFC7946", "YES");
        options.SetNameValue("COORDINATE_PRECISION", "7");  // 1 cm
    } else if (driver == "ESRI Shapefile") {
        options.SetNameValue("DBF_DATE_LAST_UPDATE", "2000-01-01");
        options.SetNameValue("ENCODING", "UTF-8");
    }
    return options;
}

/// @returns false: without a system
bool system_of_layer(const VectorLayer& layer, OGRSpatialReference& system) {
    if (!layer.system) {
        system.SetWellKnownGeogCS("WGS84");
    } else if (layer.system->empty()) {
        return false;
    } else if (system.SetFromUserInput(
                   (layer.system->front() == '+' ? *layer.system + " +type=crs" : *layer.system).c_str()) !=
               OGRERR_NONE) {
        throw models::Error(fmt::format("the reference system \"{:.60}\" is not known", *layer.system));
    }
    system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    return true;
}

void write_layer(GDALDataset& out, const std::string& driver, const VectorLayer& layer, const WorkSystem* work) {
    OGRSpatialReference system;
    const bool has_system = system_of_layer(layer, system);
    if (!has_system && driver == "GeoJSON") {
        throw models::Error("GeoJSON is in longitude and latitude, and the shapes have no reference system", "",
                            "give a name ending in .gpkg");
    }
    if (layer.system) work = nullptr;
    CPLStringList options = layer_options(driver);
    OGRwkbGeometryType type = library_kind(checked_kind(layer));
    if (driver == "ESRI Shapefile" && type == wkbMultiPolygon) type = wkbPolygon;  // its polygons may have many rings
    if (driver == "ESRI Shapefile" && type == wkbMultiLineString) type = wkbLineString;
    OGRLayer* written = out.CreateLayer(layer.name.c_str(), has_system ? &system : nullptr, type, options.List());
    if (written == nullptr) return;
    std::vector<int> places;
    for (const VectorColumn& column : layer.columns) {
        // GPX has its own columns in each layer; elsewhere they are ours, in our order.
        const int known = written->GetLayerDefn()->GetFieldIndex(column.name.c_str());
        places.push_back(known >= 0 ? known : written->GetLayerDefn()->GetFieldCount());
        if (known >= 0) continue;
        OGRFieldDefn definition(column.name.c_str(), column.kind == ColumnKind::text           ? OFTString
                                                     : column.kind == ColumnKind::whole_number ? OFTInteger64
                                                                                               : OFTReal);
        written->CreateField(&definition);
    }
    for (const VectorFeature& feature : layer.features) {
        OGRFeature row(written->GetLayerDefn());
        row.SetGeometryDirectly(geometry_of(feature.shape, work).release());
        for (std::size_t i = 0; i < feature.values.size(); ++i) set_value(row, places[i], feature.values[i]);
        if (written->CreateFeature(&row) != OGRERR_NONE) return;
    }
}

using TakeFile = std::function<void(const std::string& name, std::string_view bytes)>;

/// Has the library make its files in memory and hands them over under their names, the main one last.
/// @param place  what refusals name
void make_files(const std::string& driver, const std::string& ending, const std::vector<VectorLayer>& layers,
                const WorkSystem* work, const std::string& place, const TakeFile& take) {
    register_gdal();
    GdalErrors errors;
    const NoClock no_clock;
    const MemoryFolder folder;
    const std::string name = driver == "ESRI Shapefile" ? layers[0].name + ending : "written" + ending;
    {
        GDALDriver* kind = GetGDALDriverManager()->GetDriverByName(driver.c_str());
        const GDALDatasetUniquePtr out(
            kind == nullptr ? nullptr : kind->Create(folder.path(name).c_str(), 0, 0, 0, GDT_Unknown, nullptr));
        if (out) {
            for (const VectorLayer& layer : layers) write_layer(*out, driver, layer, work);
        }
    }  // closed here: only now is everything written
    const std::vector<std::string> made = folder.names();
    if (errors.failed() || made.empty()) {
        throw models::Error("the file cannot be written (" + errors.text_or("no reason given") + ")", place);
    }
    // A shapefile is several files; its .shp comes last, so that nobody opens half of it.
    for (const bool main_file : {false, true}) {
        for (const std::string& part : made) {
            if ((ending_of(part) == ending) != main_file) continue;
            vsi_l_offset size = 0;
            const GByte* bytes = VSIGetMemFileBuffer(folder.path(part).c_str(), &size, FALSE);
            take(part, {reinterpret_cast<const char*>(bytes), static_cast<std::size_t>(size)});
        }
    }
}

/// What the format has words for: places and ways, in that order, each with a name.
void require_gpx(const std::vector<VectorLayer>& layers, const std::string& file) {
    std::string said;
    for (const VectorLayer& layer : layers) {
        const ShapeKind kind = checked_kind(layer);
        const bool places = layer.name == "waypoints" && (kind == ShapeKind::point || kind == ShapeKind::none);
        const bool ways = layer.name == "routes" && (kind == ShapeKind::line || kind == ShapeKind::none);
        if (!places && !ways)
            throw models::Error(fmt::format("a .gpx file has no layer \"{}\" of these shapes", layer.name), file,
                                "write points as waypoints and lines as routes");
        said += places ? "p" : "w";
    }
    if (said != "p" && said != "w" && said != "pw")
        throw models::Error("a .gpx file holds waypoints, then routes, each once", file);
}

void write_layers(const std::filesystem::path& file, const std::vector<VectorLayer>& layers, const WorkSystem* work) {
    const std::string ending = ending_of(file);
    std::string driver;
    if (ending == ".gpkg") driver = "GPKG";
    if (ending == ".geojson" || ending == ".json") driver = "GeoJSON";
    if (ending == ".shp") driver = "ESRI Shapefile";
    if (ending == ".gpx") driver = "GPX";
    if (driver.empty()) {
        throw models::Error(fmt::format("maps are not written as \"{}\"", ending), file.string(),
                            "end the name in .gpkg, .geojson, .shp or .gpx");
    }
    if (driver == "GPX") require_gpx(layers, file.string());
    if (layers.empty() || (driver != "GPKG" && driver != "GPX" && layers.size() > 1)) {
        throw models::Error(fmt::format("a {} file holds one layer, not {}", ending, layers.size()), file.string(),
                            "write a GeoPackage (.gpkg), or one file a layer");
    }
    make_files(driver, ending, layers, work, file.string(), [&](const std::string& part, std::string_view bytes) {
        std::filesystem::path target = file;
        if (ending_of(part) != ending) target.replace_extension(ending_of(part));
        write_whole_file(target, bytes);  // beside, then renamed: a reader sees the old file or the new
    });
}

}  // namespace

void write_vector_file(const std::filesystem::path& file, const std::vector<VectorLayer>& layers,
                       const WorkSystem& work) {
    write_layers(file, layers, &work);
}

void write_vector_file(const std::filesystem::path& file, const VectorLayer& layer) {
    if (!layer.system) throw models::Error("the layer does not say its reference system");
    write_layers(file, {layer}, nullptr);
}

std::string geojson_text(const VectorLayer& layer, const WorkSystem& work) {
    std::string text;
    make_files("GeoJSON", ".geojson", {layer}, &work, "standard output",
               [&](const std::string&, std::string_view bytes) { text = bytes; });
    return text;
}

}  // namespace geo
