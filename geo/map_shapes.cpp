#include "geo/map_shapes.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <optional>

#include <fmt/format.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "geo/outline_shapes.h"
#include "geo/reference_system.h"
#include "geo/vector_source.h"
#include "models/error.h"

namespace geo {

namespace {

const char* kind_words(MapShapeKind kind) {
    return kind == MapShapeKind::areas ? "areas" : "lines";
}

OGRSpatialReference system_from_text(const std::string& text) {
    OGRSpatialReference system;
    system.SetFromUserInput((text.starts_with('+') ? text + " +type=crs" : text).c_str());
    system.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    return system;
}

struct FreeTransformation {
    void operator()(OGRCoordinateTransformation* way) const { OGRCoordinateTransformation::DestroyCT(way); }
};

/// The way from the coordinates of a file into the plane of the points.
class WayToPlane {
 public:
    WayToPlane() = default;  ///< both are the same
    WayToPlane(const OGRSpatialReference& own, const std::string& plane) {
        const GdalErrors errors;
        const OGRSpatialReference target = system_from_text(plane);
        if (own.IsSame(&target, std::vector<const char*>{"IGNORE_DATA_AXIS_TO_SRS_AXIS_MAPPING=YES", nullptr}.data()))
            return;
        way_.reset(OGRCreateCoordinateTransformation(&own, &target));
        if (!way_) throw models::Error(fmt::format("there is no way from {} to {}", own.GetName(), plane));
    }
    bool moves() const { return way_ != nullptr; }
    bool take(OGRGeometry& geometry) const {
        if (!way_) return true;
        const GdalErrors errors;
        return geometry.transform(way_.get()) == OGRERR_NONE;
    }
    std::optional<models::PointM> operator()(double x, double y) const {
        OGRPoint place(x, y);
        if (!take(place) || !std::isfinite(place.getX()) || !std::isfinite(place.getY())) return std::nullopt;
        return models::PointM{place.getX(), place.getY()};
    }

 private:
    std::unique_ptr<OGRCoordinateTransformation, FreeTransformation> way_;
};

models::OutlineM outline_as_it_is(const OGRGeometry& polygons) {
    const auto ring_of_places = [](const RingDeg& ring) {
        models::RingM out;
        for (const PointDeg& corner : ring) out.push_back({corner.longitude_deg, corner.latitude_deg});
        return out;
    };
    models::OutlineM out;
    for (const PolygonDeg& piece : from_ogr(polygons)) {
        models::PolygonM polygon{ring_of_places(piece.outer), {}};
        for (const RingDeg& hole : piece.holes) polygon.holes.push_back(ring_of_places(hole));
        out.push_back(std::move(polygon));
    }
    return out;
}

void collect_lines(const OGRGeometry& geometry, LinesM& lines) {
    const OGRwkbGeometryType type = wkbFlatten(geometry.getGeometryType());
    if (type == wkbLineString) {
        const OGRLineString& read = *geometry.toLineString();
        LineM line;
        for (int i = 0; i < read.getNumPoints(); ++i) line.push_back({read.getX(i), read.getY(i)});
        if (!line.empty()) lines.push_back(std::move(line));
    } else if (OGR_GT_IsSubClassOf(type, wkbGeometryCollection)) {
        for (const OGRGeometry* piece : *geometry.toGeometryCollection()) collect_lines(*piece, lines);
    }
}

/// 0, 1 or 2 for points, lines and areas; of a collection the highest.
int dimension_of(const OGRGeometry& geometry) {
    return geometry.getDimension();
}

/// Checks shapes one by one and brings them into the plane.
class ShapePlacer {
 public:
    ShapePlacer(MapShapeKind kind, WayToPlane way, const models::BoxM& points, MapShapesRead& out)
        : kind_(kind), way_(std::move(way)), points_(points), out_(out) {}

    void add(MapShape shape, const OGRGeometry& as_read, const std::string& where) {
        const std::unique_ptr<OGRGeometry> straight(as_read.getLinearGeometry());
        const OGRGeometry& read = straight ? *straight : as_read;
        require_kind(read, where);
        std::unique_ptr<OGRGeometry> placed;
        if (kind_ == MapShapeKind::areas) {
            MendedOutline mended = mend_outline(read);
            if (!mended.polygons) throw models::Error("the area " + mended.refusal, where, mended.mend);
            if (mended.fault.starts_with("crosses")) {
                throw models::Error("the area " + mended.fault, where,
                                    "mend it in a map program, so that it is clear what is inside");
            }
            if (!mended.note.empty()) out_.notes.push_back(fmt::format("{}: the area {}", where, mended.note));
            shape.drawn = outline_as_it_is(*mended.polygons);
            placed = std::move(mended.polygons);
        } else {
            placed.reset(read.clone());
            placed->flattenTo2D();
            LinesM lines;
            collect_lines(*placed, lines);
            for (const LineM& line : lines) {
                for (const models::PointM& place : line) {
                    if (std::isfinite(place.x_m) && std::isfinite(place.y_m)) continue;
                    throw models::Error("the line has a point that is no number", where, "draw it again");
                }
            }
            shape.drawn = std::move(lines);
        }
        OGREnvelope own, box;
        placed->getEnvelope(&own);
        const double x = 0.5 * (own.MinX + own.MaxX), y = 0.5 * (own.MinY + own.MaxY);
        const bool has_place = way_.take(*placed);
        if (has_place) placed->getEnvelope(&box);
        if (!has_place || !std::isfinite(box.MinX + box.MaxX + box.MinY + box.MaxY)) {
            throw models::Error(
                fmt::format("{:.9g}, {:.9g} has no place in the plane of the points{}", x, y, swapped_words(x, y)),
                where, "export it again with its right reference system and east first");
        }
        if (kind_ == MapShapeKind::areas) {
            shape.area = outline_as_it_is(*placed);
        } else {
            collect_lines(*placed, shape.lines);
        }
        note_distance(box, x, y, where);
        out_.shapes.push_back(std::move(shape));
    }

    /// After the last: shapes of which none lies near the points are refused.
    void tell(const std::string& file, const std::string& plane_system) {
        if (far_ == 0) return;
        const char* const unit = plane_system.empty() ? "" : " m";
        const std::string distance =
            fmt::format("{:.6g}{} away from the points, which span {:.6g}{}", nearest_m_, unit, span_m(), unit);
        if (far_ == static_cast<long>(out_.shapes.size())) {
            throw models::Error(fmt::format("{} at least {}{}",
                                            far_ == 1 ? fmt::format("its only shape lies", far_)
                                                      : fmt::format("all {} {} lie", far_, kind_words(kind_)),
                                            distance, hint_),
                                file,
                                hint_.empty() ? "check the reference systems of the two, and --x and --y"
                                              : "export it again with east (longitude) first");
        }
        out_.notes.push_back(
            fmt::format("{}: {} of {} {} lie far away, the first being {}: their means are little more "
                        "than that of all points",
                        file, far_, out_.shapes.size(), kind_words(kind_), first_far_));
    }

 private:
    void require_kind(const OGRGeometry& read, const std::string& where) const {
        const bool areas = kind_ == MapShapeKind::areas;
        if (read.IsEmpty()) {
            throw models::Error("nothing is drawn", where, "draw it, or leave the row out");
        }
        const int dimension = dimension_of(read);
        if (dimension == (areas ? 2 : 1)) return;
        const char* const found = dimension == 0 ? "a point" : dimension == 1 ? "a line" : "an area";
        throw models::Error(fmt::format("this is {}, not {}", found, areas ? "an area" : "a line"), where,
                            dimension == 0   ? "give points by --at, as a CSV table"
                            : dimension == 1 ? "give lines by --along"
                                             : "give areas by --over");
    }
    double span_m() const { return std::hypot(points_.width_m(), points_.height_m()); }
    double from_points_m(double west, double south, double east, double north) const {
        return std::hypot(std::max({0.0, west - points_.x_max_m, points_.x_min_m - east}),
                          std::max({0.0, south - points_.y_max_m, points_.y_min_m - north}));
    }
    std::string swapped_words(double x, double y) const {
        const auto exchanged = way_(y, x);
        const bool near = exchanged && from_points_m(exchanged->x_m, exchanged->y_m, exchanged->x_m, exchanged->y_m) <=
                                           far_spans * span_m();
        return near ? "; with its coordinates exchanged it lies among them: the axes look swapped" : "";
    }
    void note_distance(const OGREnvelope& box, double x, double y, const std::string& where) {
        const double distance = from_points_m(box.MinX, box.MinY, box.MaxX, box.MaxY);
        if (!(span_m() > 0.0) || distance <= far_spans * span_m()) return;
        if (far_++ == 0) {
            first_far_ = where;
            nearest_m_ = distance;
            hint_ = swapped_words(x, y);
        }
        nearest_m_ = std::min(nearest_m_, distance);
    }

    static constexpr double far_spans = 10.0;  // common sense, no source
    MapShapeKind kind_;
    WayToPlane way_;
    models::BoxM points_;
    MapShapesRead& out_;
    long far_ = 0;
    double nearest_m_ = 0.0;
    std::string first_far_, hint_;
};

/// The system of a layer; none where it says that it is undefined.
const OGRSpatialReference* earthly_system(OGRLayer& layer) {
    const OGRSpatialReference* own = layer.GetSpatialRef();
    if (own == nullptr || own->IsLocal() || std::string_view(own->GetName()).starts_with("Undefined")) return nullptr;
    return own;
}

WayToPlane way_for(const OGRSpatialReference* own, const TablePlane& plane, const std::string& file,
                   MapShapeKind kind) {
    const std::string& points = plane.system();
    if (own == nullptr && points.empty()) return {};
    if (own == nullptr) {
        throw models::Error(fmt::format("the {} have no reference system, and the points have one ({})",
                                        kind_words(kind), plane.table_system()),
                            file, "put the .prj part beside the shapefile, or assign the system in a map program");
    }
    if (points.empty()) {
        throw models::Error(fmt::format("the {} have a reference system ({}), and the points have none",
                                        kind_words(kind), own->GetName()),
                            file, "say which one the points are in, such as --crs EPSG:25832");
    }
    return {*own, points};
}

/// Attributes by their names, and the one that names a shape.
class ShapeAttributes {
 public:
    ShapeAttributes(OGRLayer& layer, const MapShapeOptions& options, const std::string& file, MapShapeKind kind)
        : file_(file), kind_(kind) {
        const OGRFeatureDefn& definition = *layer.GetLayerDefn();
        for (int i = 0; i < definition.GetFieldCount(); ++i) {
            names_.emplace_back(definition.GetFieldDefn(i)->GetNameRef());
            texts_.push_back(definition.GetFieldDefn(i)->GetType() == OFTString);
        }
        name_ = options.name.empty() ? usual_name() : column_of(options.name, "--name");
        for (const std::string& wanted : options.numbers) {
            const int column = column_of(wanted, "--drift");
            const OGRFieldType type = definition.GetFieldDefn(column)->GetType();
            if (type != OFTInteger && type != OFTInteger64 && type != OFTReal) {
                throw models::Error(fmt::format("the attribute \"{}\" is no number", wanted), file_,
                                    "give it as a number, or leave it out of --drift");
            }
            numbers_.push_back(column);
        }
    }

    MapShape shape_of(const OGRFeature& feature, long row) {
        MapShape shape;
        shape.number = static_cast<double>(row);
        if (name_ >= 0) shape.name = attribute_text(feature, name_, was_recoded_);
        if (shape.name.empty()) shape.name = shortest_text(row);
        for (const int column : numbers_) {
            shape.numbers.push_back(feature.IsFieldSetAndNotNull(column) ? feature.GetFieldAsDouble(column)
                                                                         : std::numeric_limits<double>::quiet_NaN());
        }
        return shape;
    }
    bool was_recoded() const { return was_recoded_; }

 private:
    int column_of(const std::string& wanted, const char* option) const {
        for (const bool exactly : {true, false}) {
            for (std::size_t i = 0; i < names_.size(); ++i) {
                if (exactly ? names_[i] == wanted : lower_case(names_[i]) == lower_case(wanted)) {
                    return static_cast<int>(i);
                }
            }
        }
        throw models::Error(
            fmt::format("the {} have no attribute \"{}\"{}", kind_words(kind_), wanted, did_you_mean(wanted, names_)),
            fmt::format("{}, {}", file_, option), "the attributes are: " + list_of(names_));
    }
    int usual_name() const {
        for (const char* word : {"name", "field", "label", "title"}) {
            for (std::size_t i = 0; i < names_.size(); ++i) {
                if (texts_[i] && lower_case(names_[i]) == word) return static_cast<int>(i);
            }
        }
        for (std::size_t i = 0; i < names_.size(); ++i) {
            const std::string word = lower_case(names_[i]);
            const bool names_it = word.find("name") != std::string::npos || word.find("field") != std::string::npos;
            if (texts_[i] && names_it) return static_cast<int>(i);
        }
        return -1;
    }

    std::string file_;
    MapShapeKind kind_;
    std::vector<std::string> names_;
    std::vector<bool> texts_;
    int name_ = -1;
    std::vector<int> numbers_;
    bool was_recoded_ = false;
};

std::unique_ptr<OGRGeometry> geometry_of_corners(MapShapeKind kind, const LineM& corners) {
    if (kind == MapShapeKind::lines) {
        auto line = std::make_unique<OGRLineString>();
        for (const models::PointM& place : corners) line->addPoint(place.x_m, place.y_m);
        line->flattenTo2D();
        return line;
    }
    auto ring = std::make_unique<OGRLinearRing>();
    for (const models::PointM& place : corners) ring->addPoint(place.x_m, place.y_m);
    ring->closeRings();
    ring->flattenTo2D();
    auto polygon = std::make_unique<OGRPolygon>();
    polygon->addRingDirectly(ring.release());
    return polygon;
}

}  // namespace

MapShapesRead read_map_shapes(const std::filesystem::path& file, MapShapeKind kind, const TablePlane& plane,
                              const models::BoxM& points, const MapShapeOptions& options) {
    register_gdal();
    const std::string words = kind_words(kind);
    const VectorSource source{file, options.layer, words,
                              "give a file of " + words + ", or corners as a CSV table with shape, x, y",
                              "name one of them by --layer"};
    GdalErrors errors;
    const std::shared_ptr<GDALDataset> opened = open_vector_file(source, errors);
    OGRLayer& layer = *choose_layer(*opened, source);
    ShapeAttributes attributes(layer, options, file.string(), kind);
    MapShapesRead out;
    const OGRSpatialReference* own = earthly_system(layer);
    WayToPlane way = way_for(own, plane, file.string(), kind);
    std::optional<ToDegrees> degrees;
    if (own != nullptr) out.system = well_known_text(*own);
    if (way.moves()) degrees.emplace(out.system);
    ShapePlacer placer(kind, std::move(way), points, out);
    errors.clear();
    layer.ResetReading();
    long row = 0;
    while (const OGRFeatureUniquePtr feature{layer.GetNextFeature()}) {
        ++row;
        if (errors.failed()) break;
        MapShape shape = attributes.shape_of(*feature, row);
        std::string where = fmt::format("{}, feature {}", file.string(), row);
        if (shape.name != shortest_text(row)) where += fmt::format(" (\"{}\")", shape.name);
        const OGRGeometry* geometry = feature->GetGeometryRef();
        if (geometry == nullptr) throw models::Error("nothing is drawn", where, "draw it, or leave the row out");
        placer.add(std::move(shape), *geometry, where);
        if (degrees && row == 1) {
            OGREnvelope box;
            geometry->getEnvelope(&box);
            (*degrees)(box.MinX, box.MinY);
        }
    }
    if (errors.failed()) throw unreadable_vector_file(source, errors);
    if (row == 0) {
        throw models::Error(fmt::format("its layer \"{}\" is empty", layer.GetName()), file.string(),
                            "give a file with at least one of the " + words);
    }
    placer.tell(file.string(), plane.system());
    if (degrees && degrees->ballpark()) {
        out.notes.push_back(fmt::format(
            "how {} lies to WGS 84 is not known here; the {} may be off by a hundred metres", degrees->name(), words));
    }
    if (attributes.was_recoded()) out.notes.push_back("names that are not UTF-8 were read as ISO 8859-1");
    return out;
}

MapShapesRead read_corner_table(const std::filesystem::path& file, MapShapeKind kind, std::string_view x_column,
                                std::string_view y_column, const TablePlane& plane, const models::BoxM& points,
                                const MapShapeOptions& options) {
    register_gdal();
    if (!options.layer.empty()) {
        throw models::Error("a CSV table has no layers", file.string(), "leave --layer out");
    }
    const PointTable table = PointTable::read(file);
    const Eigen::VectorXd numbers = table.numbers("shape"), x = table.numbers(x_column), y = table.numbers(y_column);
    std::vector<std::string> names;
    if (!options.name.empty() || table.has("name")) names = table.texts(options.name.empty() ? "name" : options.name);
    if (!options.numbers.empty()) {
        throw models::Error(fmt::format("the drift \"{}\" is not known over a shape of corners", options.numbers[0]),
                            file.string(), "give the shapes as a vector file with an attribute of that name");
    }
    std::vector<MapShape> shapes;
    std::vector<LineM> corners;
    std::map<double, std::size_t> places;
    for (long row = 0; row < table.rows(); ++row) {
        if (!std::isfinite(numbers[row]) || !std::isfinite(x[row]) || !std::isfinite(y[row])) {
            throw models::Error("a corner lacks its shape or its place",
                                fmt::format("{}, row {}", file.string(), row + 2),
                                "fill the cell or leave the row out");
        }
        const auto [place, is_new] = places.emplace(numbers[row], shapes.size());
        if (is_new) {
            MapShape shape;
            shape.number = numbers[row];
            if (!names.empty()) shape.name = names[static_cast<std::size_t>(row)];
            if (shape.name.empty()) shape.name = fmt::format("{}", numbers[row]);
            shapes.push_back(std::move(shape));
            corners.emplace_back();
        }
        corners[place->second].push_back({x[row], y[row]});
    }
    if (shapes.empty()) {
        throw models::Error("there is a header and no row under it", file.string(), "give at least one shape");
    }
    MapShapesRead out;
    out.system = plane.table_system();
    WayToPlane way;
    if (plane.from_degrees()) way = WayToPlane(system_from_text(out.system), plane.system());
    ShapePlacer placer(kind, std::move(way), points, out);
    for (std::size_t k = 0; k < shapes.size(); ++k) {
        const std::string where = fmt::format("{}, shape {}", file.string(), shapes[k].number);
        placer.add(std::move(shapes[k]), *geometry_of_corners(kind, corners[k]), where);
    }
    placer.tell(file.string(), plane.system());
    return out;
}

}  // namespace geo
