#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <sstream>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "geo/map_shapes.h"
#include "geo/point_table.h"
#include "tests/app/krige_bench.h"

using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using tests::KrigeBench;

namespace {

/// The bench's points as metres of ETRS89 / UTM 32N, and files beside them.
class AreaBench : public KrigeBench {
 public:
    AreaBench() {
        std::ofstream table(path("utm.csv"));
        table << "x,y,clay,don\n";
        for (int i = 0; i < 30; ++i) {
            const double x = (i * 37) % 100, y = (i * 53) % 90;
            table << 600000 + x << ',' << 5500000 + y << ',' << 10 + (i * 7) % 11 << ','
                  << 1.0 + 0.5 * std::sin(x / 20.0) + 0.01 * i << '\n';
        }
    }
    std::string write(const std::string& name, const std::string& text) const {
        std::ofstream(path(name), std::ios::binary) << text;
        return path(name);
    }
    /// Of features: properties and geometry, in ETRS89 / UTM 32N.
    std::string map(const std::string& name, const std::vector<std::pair<std::string, std::string>>& rows) const {
        std::string text =
            R"({"type":"FeatureCollection","crs":{"type":"name","properties":{"name":"urn:ogc:def:crs:EPSG::25832"}},)"
            R"("features":[)";
        for (const auto& [properties, geometry] : rows) {
            text += (text.back() == '[' ? "" : ",") + (R"({"type":"Feature","properties":{)" + properties) +
                    R"(},"geometry":)" + geometry + "}";
        }
        return write(name, text + "]}");
    }
    std::string krige(std::vector<std::string> more, const std::string& out) {
        std::vector<std::string> words{"krige",      path("utm.csv"), "--value", "don",   "--crs",
                                       "EPSG:25832", "--variogram",   model,     "--out", path(out)};
        words.insert(words.end(), more.begin(), more.end());
        return refusal(words);
    }
};

std::string rectangle(double x0, double y0, double x1, double y1) {
    return fmt::format("[[{0},{1}],[{2},{1}],[{2},{3}],[{0},{3}],[{0},{1}]]", 600000 + x0, 5500000 + y0, 600000 + x1,
                       5500000 + y1);
}

std::string bytes_of_area_file(const std::string& file) {
    std::ifstream stream(file, std::ios::binary);
    std::ostringstream text;
    text << stream.rdbuf();
    return text.str();
}

}  // namespace

TEST_CASE("krige gives the mean over areas and along lines") {
    KrigeBench bench;
    const std::string points = bench.path("points.csv");
    std::ofstream(bench.path("corners.csv"))
        << "shape,x,y\n7,20,20\n7,40,20\n7,40,40\n7,20,40\n3,0,0\n3,90,5\n3,50,80\n";
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--over",
                       bench.path("corners.csv"), "--out", bench.path("areas.csv")}) == 0);
    const auto areas = geo::PointTable::read(bench.path("areas.csv"));
    REQUIRE(areas.rows() == 2);
    CHECK(areas.numbers("shape")[0] == 7.0);
    CHECK(areas.numbers("x")[0] == Approx(30.0));
    std::ofstream(bench.path("centre.csv")) << "x,y\n30,30\n";
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--at", bench.path("centre.csv"),
                       "--block", "20x20", "--out", bench.path("block.csv")}) == 0);
    const auto block = geo::PointTable::read(bench.path("block.csv"));
    CHECK(areas.numbers("estimate")[0] == Approx(block.numbers("estimate")[0]).epsilon(1e-4));
    CHECK(areas.numbers("variance")[0] == Approx(block.numbers("variance")[0]).epsilon(1e-2));
    REQUIRE(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--along",
                       bench.path("corners.csv"), "--drift", "x", "--out", bench.path("lines.csv"), "--json"}) == 0);
    CHECK(geo::PointTable::read(bench.path("lines.csv")).rows() == 2);
    std::ofstream(bench.path("flat.csv")) << "shape,x,y\n1,0,0\n1,10,10\n";
    CHECK(bench.run({"krige", points, "--value", "don", "--variogram", bench.model, "--over", bench.path("flat.csv"),
                     "--out", bench.path("no.csv")}) == 1);
    CHECK_FALSE(std::filesystem::exists(bench.path("no.csv")));
}

TEST_CASE("krige takes holes and parts from a map file and their means add up") {
    AreaBench bench;
    const std::string outer = rectangle(10, 10, 90, 80), hole = rectangle(30, 30, 60, 60),
                      part = rectangle(92, 5, 99, 25);
    const auto polygon = [](const std::string& rings) { return R"({"type":"Polygon","coordinates":[)" + rings + "]}"; };
    const std::string file =
        bench.map("areas.geojson", {{R"("name":"ring, with a pond")", polygon(outer + "," + hole)},
                                    {R"("name":"whole")", polygon(outer)},
                                    {R"("name":"pond")", polygon(hole)},
                                    {R"("name":"part")", polygon(part)},
                                    {R"("name":"both")", R"({"type":"MultiPolygon","coordinates":[[)" + outer + "," +
                                                             hole + "],[" + part + "]]}"}});
    REQUIRE_THAT(bench.krige({"--over", file, "--limit", "1.2"}, "areas.csv"), StartsWith("exit 0"));
    const auto table = geo::PointTable::read(bench.path("areas.csv"));
    CHECK(table.columns() == std::vector<std::string>{"x", "y", "shape", "name", "estimate", "variance", "exceedance"});
    CHECK(table.texts("name").at(0) == "ring, with a pond");
    const Eigen::VectorXd mean = table.numbers("estimate"), variance = table.numbers("variance");
    const double a = 80.0 * 70.0, b = 30.0 * 30.0, c = 7.0 * 20.0;
    CHECK(mean[0] == Approx((a * mean[1] - b * mean[2]) / (a - b)).epsilon(1e-4));
    CHECK(mean[4] == Approx(((a - b) * mean[0] + c * mean[3]) / (a - b + c)).epsilon(1e-4));
    for (Eigen::Index k = 0; k < 5; ++k) {
        CHECK(table.numbers("exceedance")[k] ==
              Approx(0.5 * std::erfc((1.2 - mean[k]) / std::sqrt(2.0 * variance[k]))).epsilon(1e-12));
    }
    // The same areas as corners of a table.
    bench.write("corners.csv", "shape,x,y\n2,600010,5500010\n2,600090,5500010\n2,600090,5500080\n2,600010,5500080\n");
    REQUIRE_THAT(bench.krige({"--over", bench.path("corners.csv")}, "corners_out.csv"), StartsWith("exit 0"));
    const auto corners = geo::PointTable::read(bench.path("corners_out.csv"));
    CHECK(corners.numbers("estimate")[0] == Approx(mean[1]).epsilon(1e-12));
    CHECK(corners.numbers("variance")[0] == Approx(variance[1]).epsilon(1e-12));
    CHECK(corners.texts("name").at(0) == "2");
    // A line in two parts counts by length.
    const auto line = [](const std::string& places) {
        return R"({"type":"LineString","coordinates":[)" + places + "]}";
    };
    const std::string one = "[600010,5500020],[600040,5500020]", two = "[600040,5500020],[600040,5500080]";
    const std::string lines =
        bench.map("lines.geojson", {{"", line(one)},
                                    {"", line(two)},
                                    {"", R"({"type":"MultiLineString","coordinates":[[)" + one + "],[" + two + "]]}"}});
    REQUIRE_THAT(bench.krige({"--along", lines}, "lines.csv"), StartsWith("exit 0"));
    const Eigen::VectorXd along = geo::PointTable::read(bench.path("lines.csv")).numbers("estimate");
    CHECK(along[2] == Approx((30.0 * along[0] + 60.0 * along[1]) / 90.0).epsilon(1e-3));
}

TEST_CASE("krige writes the shapes themselves with their means and reads them again") {
    AreaBench bench;
    const std::string file = bench.map(
        "areas.geojson",
        {{R"("field":"A1","clay":12)",
          R"({"type":"Polygon","coordinates":[)" + rectangle(10, 10, 60, 60) + "," + rectangle(20, 20, 40, 30) + "]}"},
         {R"("field":"A2","clay":null)", R"({"type":"Polygon","coordinates":[)" + rectangle(65, 10, 90, 60) + "]}"}});
    REQUIRE_THAT(bench.krige({"--over", file}, "table.csv"), StartsWith("exit 0"));
    const auto table = geo::PointTable::read(bench.path("table.csv"));
    Eigen::VectorXd x(2), y(2);
    x << 600000, 600100;
    y << 5500000, 5500090;
    const geo::TablePlane plane("x", "y", x, y, "EPSG:25832");
    const models::BoxM around{x[0], y[0], x[1], y[1]};
    for (const char* name : {"means.gpkg", "means.geojson", "means.shp"}) {
        INFO(name);
        REQUIRE_THAT(bench.krige({"--over", file, "--limit", "1.2"}, name), StartsWith("exit 0"));
        const auto read = geo::read_map_shapes(bench.path(name), geo::MapShapeKind::areas, plane, around,
                                               {"", "name", {"shape", "estimate", "variance", "exceedance"}});
        REQUIRE(read.shapes.size() == 2);
        CHECK(read.shapes[0].name == "A1");
        CHECK(read.shapes[0].area.at(0).holes.size() == 1);
        for (std::size_t k = 0; k < 2; ++k) {
            const auto row = static_cast<Eigen::Index>(k);
            CHECK(read.shapes[k].numbers.at(0) == static_cast<double>(k + 1));
            CHECK(read.shapes[k].numbers.at(1) == Approx(table.numbers("estimate")[row]).epsilon(1e-10));
            CHECK(read.shapes[k].numbers.at(2) == Approx(table.numbers("variance")[row]).epsilon(1e-10));
        }
        // In the file's own system, but for GeoJSON.
        CHECK((read.system.find("UTM zone 32N") != std::string::npos) == (std::string(name) != "means.geojson"));
    }
    REQUIRE_THAT(bench.krige({"--over", file}, "again.gpkg"), StartsWith("exit 0"));
    REQUIRE_THAT(bench.krige({"--over", file}, "twice.gpkg"), StartsWith("exit 0"));
    CHECK(bytes_of_area_file(bench.path("again.gpkg")) == bytes_of_area_file(bench.path("twice.gpkg")));
    // A drift that is an attribute, and one that is a coordinate.
    CHECK_THAT(bench.krige({"--over", file, "--drift", "clay,x"}, "drift.csv"),
               StartsWith("exit 0") && Contains("1 of 2 shapes were not estimated: a drift column has no value there"));
    const Eigen::VectorXd with_drift = geo::PointTable::read(bench.path("drift.csv")).numbers("estimate");
    CHECK(std::isfinite(with_drift[0]));
    CHECK(std::isnan(with_drift[1]));
    // Corners in degrees, for points in degrees.
    bench.write("degrees.csv", "shape,lon,lat\n1,19.001,47.001\n1,19.006,47.001\n1,19.006,47.006\n");
    REQUIRE(bench.run({"krige", bench.path("points.csv"), "--x", "lon", "--y", "lat", "--value", "don", "--variogram",
                       "nugget 0.01 + spherical 0.2 range 600", "--over", bench.path("degrees.csv"), "--out",
                       bench.path("degrees.geojson")}) == 0);
    CHECK_THAT(bytes_of_area_file(bench.path("degrees.geojson")), Contains("19.001") && Contains("47.006"));
}

TEST_CASE("what krige cannot do with shapes it refuses in words and writes nothing") {
    AreaBench bench;
    const std::string square = R"({"type":"Polygon","coordinates":[)" + rectangle(10, 10, 60, 60) + "]}";
    const std::string file = bench.map("areas.geojson", {{R"("field":"A1","clay":12)", square}});
    const auto refused = [&](std::vector<std::string> more, const std::string& out = "no.csv") {
        const std::string said = bench.krige(std::move(more), out);
        CHECK_THAT(said, StartsWith("exit 1:"));
        CHECK_FALSE(std::filesystem::exists(bench.path(out)));
        return said;
    };
    CHECK_THAT(refused({"--over", file, "--layer", "aeras"}), Contains(R"(no layer "aeras"; did you mean "areas"?)"));
    CHECK_THAT(refused({"--over", file, "--name", "feild"}), Contains(R"(did you mean "field"?)"));
    CHECK_THAT(refused({"--along", file}), Contains("this is an area, not a line"));
    CHECK_THAT(refused({"--over", file, "--drift", "clay,don"}), Contains(R"(no attribute "don")"));
    CHECK_THAT(refused({"--over", file, "--cross-validate"}), Contains("predicts points, not means over shapes"));
    CHECK_THAT(refused({"--over", file}, "no.tif"), Contains("FILE.gpkg or FILE.geojson"));
    CHECK_THAT(refused({"--over", file, "--block", "5x5"}), Contains("comes from all points"));
    CHECK_THAT(refused({"--at", file, "--name", "field"}), Contains("--name needs --over or --along"));
    CHECK_THAT(refused({"--over", bench.path("none.gpkg")}), Contains("there is no such file"));
    CHECK_THAT(bench.refusal({"krige", bench.path("points.csv"), "--value", "don", "--variogram", bench.model, "--over",
                              file, "--out", bench.path("no.csv")}),
               Contains("the areas have a reference system (ETRS89 / UTM zone 32N), and the points have none"));
    const std::string corners = bench.write("corners.csv", "shape,x,y\n1,10,10\n1,60,10\n1,60,60\n");
    CHECK_THAT(bench.refusal({"krige", bench.path("points.csv"), "--value", "don", "--variogram", bench.model, "--over",
                              corners, "--out", bench.path("no.geojson")}),
               Contains("GeoJSON is in longitude and latitude"));
    CHECK_FALSE(std::filesystem::exists(bench.path("no.geojson")));
    CHECK(bench.run({"krige", bench.path("points.csv"), "--value", "don", "--variogram", bench.model, "--over", corners,
                     "--out", bench.path("bare.gpkg")}) == 0);
}
