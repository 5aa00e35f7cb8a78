#include "geo/map_shapes.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <ogr_spatialref.h>

#include "models/error.h"
#include "models/spatial/kriging_shapes.h"

namespace map_shapes_test {

namespace fs = std::filesystem;
using Catch::Matchers::Contains;
using geo::MapShapeKind;

struct ShapeFolder {
    fs::path path =
        fs::temp_directory_path() / ("map_shapes_test_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)));
    ShapeFolder() { fs::create_directories(path); }
    ~ShapeFolder() { fs::remove_all(path); }
    fs::path write(const std::string& name, const std::string& text) const {
        std::ofstream(path / name, std::ios::binary) << text;
        return path / name;
    }
};

// Points around (600000, 5500000) in ETRS89 / UTM 32N.
const models::BoxM around{600000, 5500000, 600400, 5500300};
const models::PolygonM ring{{{600050, 5500040}, {600350, 5500060}, {600300, 5500280}, {600080, 5500250}},
                            {{{600150, 5500100}, {600250, 5500120}, {600200, 5500200}}}};
const models::PolygonM second_part{{{600360, 5500010}, {600395, 5500010}, {600390, 5500090}}, {}};

geo::TablePlane plane_of(const char* x_column, const char* y_column, const models::BoxM& box, const char* crs) {
    Eigen::VectorXd x(2), y(2);
    x << box.x_min_m, box.x_max_m;
    y << box.y_min_m, box.y_max_m;
    return {x_column, y_column, x, y, crs};
}
geo::TablePlane utm() {
    return plane_of("x", "y", around, "EPSG:25832");
}
geo::TablePlane bare() {
    return plane_of("x", "y", around, "");
}

models::PointM moved(const models::PointM& place, const char* from, const char* to) {
    OGRSpatialReference a, b;
    a.SetFromUserInput(from);
    b.SetFromUserInput(to);
    a.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    b.SetAxisMappingStrategy(OAMS_TRADITIONAL_GIS_ORDER);
    OGRCoordinateTransformation* way = OGRCreateCoordinateTransformation(&a, &b);
    double x = place.x_m, y = place.y_m;
    way->Transform(1, &x, &y);
    OGRCoordinateTransformation::DestroyCT(way);
    return {x, y};
}
models::OutlineM moved(models::OutlineM outline, const char* from, const char* to) {
    for (models::PolygonM& piece : outline) {
        for (models::PointM& corner : piece.outer) corner = moved(corner, from, to);
        for (models::RingM& hole : piece.holes) {
            for (models::PointM& corner : hole) corner = moved(corner, from, to);
        }
    }
    return outline;
}

geo::VectorLayer areas(const std::vector<models::OutlineM>& outlines, const char* system) {
    geo::VectorLayer layer{"areas",
                           {{"code", geo::ColumnKind::whole_number},
                            {"Field_ID", geo::ColumnKind::text},
                            {"clay", geo::ColumnKind::number}},
                           {},
                           system};
    for (const models::OutlineM& outline : outlines) {
        const auto number = static_cast<long long>(layer.features.size()) + 1;
        layer.features.push_back(
            {outline, {10 * number, "F" + std::to_string(number), 0.5 * static_cast<double>(number)}});
    }
    layer.features.back().values[2] = std::monostate();
    return layer;
}

std::string refusal_of(const fs::path& file, MapShapeKind kind, const geo::TablePlane& plane,
                       const geo::MapShapeOptions& options = {}, const models::BoxM& points = around) {
    try {
        geo::read_map_shapes(file, kind, plane, points, options);
    } catch (const models::Error& error) {
        return error.what();
    }
    return "not refused";
}

/// Old-fashioned GeoJSON that names its system.
std::string json(const std::string& geometry, const std::string& epsg = "25832") {
    return R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::)" + epsg +
           R"("}},"features":[{"type":"Feature","properties":{"name":"Moor"},"geometry":)" + geometry + "}]}";
}

}  // namespace map_shapes_test

using namespace map_shapes_test;

TEST_CASE("areas with holes and parts come into the plane of the points from any reference system and file") {
    const ShapeFolder folder;
    models::SpatialData data{Eigen::MatrixX2d(30, 2), Eigen::VectorXd(30), {}, {}};
    for (int i = 0; i < 30; ++i) {
        data.positions_m.row(i) << 600000 + (i * 37) % 101 * 4.0, 5500000 + (i * 53) % 97 * 3.0;
        data.values[i] = 1.0 + 0.5 * std::sin(0.7 * i);
    }
    const auto model = models::VariogramModel::parse("nugget 0.02 + spherical 0.2 range 250");
    const models::OutlineM outline = {ring, second_part};
    const auto expected = models::krige_shapes(data, model, {models::nodes_of_area(outline, 8)});
    for (const char* system : {"EPSG:25832", "EPSG:3035", "EPSG:25833", "EPSG:4326", "EPSG:4258"}) {
        for (const char* ending : {".gpkg", ".shp"}) {
            INFO(system << ending);
            const fs::path file = folder.path / (std::string("areas") + ending);
            geo::write_vector_file(file, areas({moved(outline, "EPSG:25832", system)}, system));
            const auto read = geo::read_map_shapes(file, MapShapeKind::areas, utm(), around);
            REQUIRE(read.shapes.size() == 1);
            REQUIRE(read.shapes[0].area.size() == 2);
            CHECK(read.shapes[0].area[0].holes.size() + read.shapes[0].area[1].holes.size() == 1);
            const auto found = models::krige_shapes(data, model, {models::nodes_of_area(read.shapes[0].area, 8)});
            CHECK(found.estimate[0] == Approx(expected.estimate[0]).epsilon(1e-6));
            CHECK(found.variance[0] == Approx(expected.variance[0]).epsilon(1e-6));
            // As it was drawn, for writing it again.
            CHECK(models::area_m2(std::get<models::OutlineM>(read.shapes[0].drawn)) ==
                  Approx(models::area_m2(moved(outline, "EPSG:25832", system))).epsilon(1e-9));
        }
    }
    // GeoJSON as RFC 7946 has it holds 7 decimals of a degree, 1 cm.
    const fs::path file = folder.path / "areas.geojson";
    geo::write_vector_file(file, areas({outline}, "EPSG:25832"));
    const auto read = geo::read_map_shapes(file, MapShapeKind::areas, utm(), around);
    CHECK(models::area_m2(read.shapes.at(0).area) == Approx(models::area_m2(outline)).epsilon(1e-4));
}

TEST_CASE("areas lie where the points of a table in degrees lie and planar ones stay as they are") {
    const ShapeFolder folder;
    const models::PointM corner = moved({600000, 5500000}, "EPSG:25832", "EPSG:4326");
    const models::BoxM degrees{corner.x_m, corner.y_m, corner.x_m + 0.01, corner.y_m + 0.005};
    const geo::TablePlane plane = plane_of("lon", "lat", degrees, "");
    geo::write_vector_file(folder.path / "utm.gpkg", areas({{ring}}, "EPSG:25832"));
    Eigen::VectorXd x(4), y(4);
    for (int k = 0; k < 4; ++k) {
        const models::PointM place = moved(ring.outer[static_cast<std::size_t>(k)], "EPSG:25832", "EPSG:4326");
        x[k] = place.x_m;
        y[k] = place.y_m;
    }
    const Eigen::MatrixX2d expected = plane.positions_m(x, y);
    const models::BoxM points{expected.col(0).minCoeff(), expected.col(1).minCoeff(), expected.col(0).maxCoeff(),
                              expected.col(1).maxCoeff()};
    const auto read = geo::read_map_shapes(folder.path / "utm.gpkg", MapShapeKind::areas, plane, points);
    for (Eigen::Index k = 0; k < 4; ++k) {
        CHECK(read.shapes.at(0).area.at(0).outer.at(static_cast<std::size_t>(k)).x_m ==
              Approx(expected(k, 0)).margin(1e-6).epsilon(0.0));
        CHECK(read.shapes.at(0).area.at(0).outer.at(static_cast<std::size_t>(k)).y_m ==
              Approx(expected(k, 1)).margin(1e-6).epsilon(0.0));
    }
    geo::write_vector_file(folder.path / "bare.gpkg", areas({{ring}}, ""));
    geo::write_vector_file(folder.path / "bare.shp", areas({{ring}}, ""));
    for (const char* name : {"bare.gpkg", "bare.shp"}) {
        INFO(name);
        const auto planar = geo::read_map_shapes(folder.path / name, MapShapeKind::areas, bare(), around);
        CHECK(planar.system.empty());
        CHECK(models::area_m2(planar.shapes.at(0).area) == models::area_m2({ring}));
    }
    CHECK_THROWS_WITH(geo::write_vector_file(folder.path / "bare.geojson", areas({{ring}}, "")),
                      Contains("GeoJSON is in longitude and latitude") && Contains(".gpkg"));
}

TEST_CASE("shapes are named by what the file offers and carry the numbers asked for") {
    const ShapeFolder folder;
    const fs::path file = folder.path / "areas.gpkg";
    geo::write_vector_file(file, areas({{ring}, {second_part}}, "EPSG:25832"));
    const auto read = geo::read_map_shapes(file, MapShapeKind::areas, utm(), around, {"", "", {"clay"}});
    CHECK(read.shapes.at(0).name == "F1");  // Field_ID
    CHECK(read.shapes.at(1).number == 2.0);
    CHECK(read.shapes[0].numbers == std::vector<double>{0.5});
    CHECK(std::isnan(read.shapes[1].numbers.at(0)));
    CHECK(geo::read_map_shapes(file, MapShapeKind::areas, utm(), around, {"areas", "CODE", {}}).shapes.at(1).name ==
          "20");
    const auto moor = folder.write("moor.geojson",
                                   json(R"({"type":"LineString","coordinates":[[600000,5500000],[600100,5500100]]})"));
    CHECK(geo::read_map_shapes(moor, MapShapeKind::lines, utm(), around).shapes.at(0).name == "Moor");
    CHECK_THAT(refusal_of(file, MapShapeKind::areas, utm(), {"", "Feild_ID", {}}),
               Contains(R"(no attribute "Feild_ID"; did you mean "Field_ID"?)") && Contains("code, Field_ID, clay"));
    CHECK_THAT(refusal_of(file, MapShapeKind::areas, utm(), {"", "", {"caly"}}),
               Contains("--drift") && Contains(R"(did you mean "clay"?)"));
    CHECK_THAT(refusal_of(file, MapShapeKind::areas, utm(), {"", "", {"Field_ID"}}), Contains("is no number"));
    // Nothing that looks like a name: the number of the feature.
    geo::VectorLayer nameless{"lines", {}, {{geo::LinesM{{{600000, 5500000}, {600100, 5500000}}}, {}}}, "EPSG:25832"};
    nameless.features.push_back(
        {geo::LinesM{{{600000, 5500000}, {600100, 5500000}}, {{600000, 5500050}, {600000, 5500250}}}, {}});
    geo::write_vector_file(folder.path / "lines.gpkg", nameless);
    const auto lines = geo::read_map_shapes(folder.path / "lines.gpkg", MapShapeKind::lines, utm(), around);
    CHECK(lines.shapes.at(1).name == "2");
    REQUIRE(lines.shapes[1].lines.size() == 2);
    CHECK(lines.shapes[1].lines == std::get<geo::LinesM>(lines.shapes[1].drawn));
}

TEST_CASE("a table of corners and a vector file of the same areas are the same shapes") {
    const ShapeFolder folder;
    const auto table = folder.write("corners.csv",
                                    "shape,x,y,name\n7,600050,5500040,\"North, low\"\n7,600350,5500060,\n"
                                    "7,600300,5500280,\n9,600360,5500010,\n9,600395,5500010,\n9,600390,5500090,\n");
    const auto read = geo::read_corner_table(table, MapShapeKind::areas, "x", "y", utm(), around);
    REQUIRE(read.shapes.size() == 2);
    CHECK(read.shapes[0].name == "North, low");
    CHECK(read.shapes[1].name == "9");
    CHECK(read.system == "EPSG:25832");
    CHECK(models::area_m2(read.shapes[1].area) == Approx(models::area_m2({second_part})).epsilon(1e-12));
    const auto refused = [&](const std::string& rows, const geo::MapShapeOptions& options = {}) {
        try {
            geo::read_corner_table(folder.write("bad.csv", rows), MapShapeKind::areas, "x", "y", bare(), around,
                                   options);
        } catch (const models::Error& error) {
            return std::string(error.what());
        }
        return std::string("not refused");
    };
    CHECK_THAT(refused("shape,x,y\n"), Contains("a header and no row under it"));
    CHECK_THAT(refused("shape,x,y\n1,600000,5500000\n1,600100,5500100\n1,600100,5500000\n1,600000,5500100\n"),
               Contains("bad.csv, shape 1: the area crosses itself near (600050, 5500050)"));
    CHECK_THAT(refused("shape,x,y\n1,600000,\n"), Contains("row 2: a corner lacks its shape or its place"));
    CHECK_THAT(refused("shape,x,y\n1,600000,5500000\n", {"fields", "", {}}), Contains("a CSV table has no layers"));
    CHECK_THAT(refused("shape,x,y\n1,600000,5500000\n", {"", "nmae", {}}), Contains("no column \"nmae\""));
    CHECK_THAT(refused("shape,x,y\n1,600000,5500000\n", {"", "", {"clay"}}),
               Contains(R"(the drift "clay" is not known over a shape of corners)"));
}

TEST_CASE("files of shapes that serve no mean are refused in words") {
    const ShapeFolder folder;
    const fs::path good = folder.path / "good.gpkg";
    geo::write_vector_file(good, areas({{ring}, {second_part}}, "EPSG:25832"));
    const auto area = MapShapeKind::areas;
    CHECK_THAT(refusal_of(folder.path / "none.gpkg", area, utm()), Contains("there is no such file"));
    CHECK_THAT(refusal_of(good, area, utm(), {"araes", "", {}}),
               Contains(R"(there is no layer "araes"; did you mean "areas"?)"));
    geo::write_vector_file(folder.path / "empty.gpkg", geo::VectorLayer{"areas", {}, {}, "EPSG:25832"});
    CHECK_THAT(refusal_of(folder.path / "empty.gpkg", area, utm()), Contains(R"(its layer "areas" is empty)"));
    CHECK_THAT(refusal_of(folder.write("text.gpkg", "no map at all"), area, utm()), Contains("damaged or cut short"));
    const auto of = [&](const std::string& geometry, const std::string& epsg = "25832") {
        return folder.write("one.geojson", json(geometry, epsg));
    };
    const auto polygon = [&](const std::string& corners, const std::string& epsg = "25832") {
        return of(R"({"type":"Polygon","coordinates":[[)" + corners + "]]}", epsg);
    };
    CHECK_THAT(refusal_of(of(R"({"type":"Point","coordinates":[600000,5500000]})"), area, utm()),
               Contains(R"(one.geojson, feature 1 ("Moor"): this is a point, not an area)") && Contains("by --at"));
    CHECK_THAT(
        refusal_of(of(R"({"type":"LineString","coordinates":[[600000,5500000],[600100,5500000]]})"), area, utm()),
        Contains("this is a line, not an area") && Contains("by --along"));
    CHECK_THAT(refusal_of(good, MapShapeKind::lines, utm()),
               Contains("this is an area, not a line") && Contains("by --over"));
    CHECK_THAT(refusal_of(of("null"), area, utm()), Contains("nothing is drawn"));
    CHECK_THAT(
        refusal_of(polygon("[600000,5500000],[600100,5500100],[600100,5500000],[600000,5500100],[600000,5500000]"),
                   area, utm()),
        Contains("the area crosses itself near (600050, 5500050)"));
    CHECK_THAT(refusal_of(good, area, bare()), Contains("the areas have a reference system (ETRS89 / UTM zone 32N), "
                                                        "and the points have none") &&
                                                   Contains("--crs EPSG:25832"));
    geo::write_vector_file(folder.path / "bare.shp", areas({{ring}}, ""));
    CHECK_THAT(refusal_of(folder.path / "bare.shp", area, utm()),
               Contains("the areas have no reference system, and the points have one (EPSG:25832)"));
    // Swapped axes and what lies elsewhere.
    CHECK_THAT(refusal_of(polygon("[5500000,600000],[5500100,600000],[5500100,600100],[5500000,600000]"), area, utm()),
               Contains("the axes look swapped") && Contains("east (longitude) first"));
    const models::PointM corner = moved({600000, 5500000}, "EPSG:25832", "EPSG:4326");
    CHECK_THAT(refusal_of(polygon(fmt::format("[{0},{1}],[{0},{2}],[{3},{2}],[{0},{1}]", corner.y_m, corner.x_m,
                                              corner.x_m + 0.001, corner.y_m + 0.001),
                                  "4326"),
                          area, utm()),
               Contains("the axes look swapped"));
    CHECK_THAT(refusal_of(polygon("[700000,5500000],[700100,5500000],[700100,5500100],[700000,5500000]"), area, utm()),
               Contains("its only shape lies at least 99600 m away from the points, which span 500 m") &&
                   Contains("check the reference systems"));
    // One of several far away is told and estimated.
    models::PolygonM elsewhere = second_part;
    for (models::PointM& place : elsewhere.outer) place.x_m += 50000.0;
    geo::write_vector_file(folder.path / "some.gpkg", areas({{ring}, {elsewhere}}, "EPSG:25832"));
    const auto some = geo::read_map_shapes(folder.path / "some.gpkg", area, utm(), around);
    CHECK(some.shapes.size() == 2);
    CHECK_THAT(some.notes.at(0), Contains("1 of 2 areas lie far away") && Contains("feature 2 (\"F2\")"));
}

TEST_CASE("a file of shapes cut short anywhere is refused as damaged") {
    const ShapeFolder folder;
    std::vector<models::OutlineM> many;
    for (int i = 0; i < 300; ++i) {
        models::PolygonM disc;
        for (int k = 0; k < 40; ++k) {
            disc.outer.push_back({600000 + i + 20.0 * std::cos(0.157 * k), 5500100 + 20.0 * std::sin(0.157 * k)});
        }
        many.push_back({disc});
    }
    for (const char* ending : {".gpkg", ".geojson", ".shp"}) {
        const fs::path whole = folder.path / (std::string("whole") + ending);
        geo::write_vector_file(whole, areas(many, "EPSG:25832"));
        REQUIRE(geo::read_map_shapes(whole, MapShapeKind::areas, utm(), around).shapes.size() == 300);
        std::ifstream in(whole, std::ios::binary);
        const std::string bytes{std::istreambuf_iterator<char>(in), {}};
        in.close();
        for (const double share : {0.02, 0.5, 0.97}) {
            INFO(ending << ' ' << share);
            folder.write(whole.filename().string(),
                         bytes.substr(0, static_cast<std::size_t>(share * static_cast<double>(bytes.size()))));
            CHECK_THAT(refusal_of(whole, MapShapeKind::areas, utm()),
                       Contains("damaged or cut short") || Contains("cannot be read as areas"));
        }
    }
}
