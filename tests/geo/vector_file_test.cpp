#include "geo/vector_file.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <limits>

#include <catch2/catch.hpp>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "models/error.h"

namespace vector_file_test {

namespace fs = std::filesystem;

struct VectorFolder {
    fs::path path =
        fs::temp_directory_path() / ("vector_file_test_" + std::to_string(reinterpret_cast<std::uintptr_t>(this)));
    VectorFolder() { fs::create_directories(path); }
    ~VectorFolder() { fs::remove_all(path); }
};

std::string bytes_of(const fs::path& file) {
    std::ifstream in(file, std::ios::binary);
    return {std::istreambuf_iterator<char>(in), {}};
}

const geo::WorkSystem flat_at_9_5_east(9.5, 56.5);

geo::VectorLayer fields() {
    const models::OutlineM two_pieces{
        {{{0, 0}, {200, 0}, {200, 100}, {0, 100}}, {{{50, 50}, {50, 60}, {60, 60}, {60, 50}}}},
        {{{300, 0}, {400, 0}, {400, 100}}, {}}};
    return {"fields",
            {{"field", geo::ColumnKind::text},
             {"mean_mg_per_kg", geo::ColumnKind::number},
             {"tests", geo::ColumnKind::whole_number}},
            {{two_pieces, {std::string("Østermark"), 1.0 / 3.0, 3LL}},
             {models::OutlineM{{{{500, 0}, {600, 0}, {600, 50}}, {}}},
              {std::string("7"), std::numeric_limits<double>::quiet_NaN(), std::monostate()}}}};
}

}  // namespace vector_file_test

using namespace vector_file_test;

TEST_CASE("map files are the same bytes each time they are written") {
    const VectorFolder folder;
    for (const char* ending : {".gpkg", ".geojson", ".shp"}) {
        INFO(ending);
        const fs::path one = folder.path / (std::string("one") + ending),
                       two = folder.path / (std::string("two") + ending);
        geo::write_vector_file(one, {fields()}, flat_at_9_5_east);
        geo::write_vector_file(two, {fields()}, flat_at_9_5_east);
        CHECK(!bytes_of(one).empty());
        CHECK(bytes_of(one) == bytes_of(two));
    }
    CHECK(bytes_of(folder.path / "one.dbf") == bytes_of(folder.path / "two.dbf"));
    for (const auto& entry : fs::directory_iterator(folder.path)) CHECK(entry.path().extension() != ".part");
}

TEST_CASE("map files come back as outlines with the areas and attributes that went in") {
    const VectorFolder folder;
    for (const char* ending : {".gpkg", ".geojson", ".shp"}) {
        INFO(ending);
        const fs::path file = folder.path / (std::string("fields") + ending);
        geo::write_vector_file(file, {fields()}, flat_at_9_5_east);
        const auto read = geo::read_outlines(file);
        REQUIRE(read.outlines.size() == 2);
        CHECK(read.outlines[0].field == "Østermark");
        const models::Field field = geo::to_field(read.outlines[0], flat_at_9_5_east);
        CHECK(field.outline_m.size() == 2);
        const double area_ha = (200.0 * 100.0 - 10.0 * 10.0 + 100.0 * 100.0 / 2.0) / 1e4;
        if (std::string(ending) == ".geojson") {
            // Seven decimals move a corner by half of 1e-7 degree in each direction, 0.64 cm at most, and with it no
            // more than that strip along 981 m of edges.
            CHECK(std::abs(field.area_ha - area_ha) < 981.4 * 0.0064 / 1e4);
        } else {
            CHECK(field.area_ha == Approx(area_ha).epsilon(1e-6));
        }
        CHECK(read.outlines[0].notes.size() == 2);
        CHECK(read.outlines[0].notes[1].second == "3");
        CHECK(read.outlines[1].notes.empty());  // not-a-number and missing are both left open
    }
}

TEST_CASE("degrees are written digit for digit in a GeoPackage and to seven decimals in GeoJSON") {
    const VectorFolder folder;
    const geo::OutlineDeg outline{{{{4.1234567890123456, 56.000000000000007}, {9.1, 56.0}, {9.1, 56.1}}, {}}};
    for (const char* ending : {".gpkg", ".geojson"}) {
        const fs::path file = folder.path / (std::string("exact") + ending);
        // 300 km wide, so not read back as a field but by the library itself.
        geo::write_vector_file(file, {{"exact", {}, {{outline, {}}}}}, flat_at_9_5_east);
        GDALDatasetUniquePtr data(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
        REQUIRE(data);
        const OGRFeatureUniquePtr feature(data->GetLayer(0)->GetNextFeature());
        const OGRGeometry* geometry = feature->GetGeometryRef();
        const OGRPolygon* polygon = wkbFlatten(geometry->getGeometryType()) == wkbPolygon
                                        ? geometry->toPolygon()
                                        : geometry->toMultiPolygon()->getGeometryRef(0);
        const bool every_digit = std::string(ending) == ".gpkg";
        CHECK(polygon->getExteriorRing()->getX(0) == (every_digit ? 4.1234567890123456 : 4.1234568));
        CHECK(polygon->getExteriorRing()->getY(0) == (every_digit ? 56.000000000000007 : 56.0));
    }
}

TEST_CASE("points and lines have layers of their own in one GeoPackage") {
    const VectorFolder folder;
    const fs::path file = folder.path / "season.gpkg";
    const geo::VectorLayer samples{
        "samples", {{"sample", geo::ColumnKind::text}}, {{models::PointM{10, 20}, {std::string("s1")}}}};
    const geo::VectorLayer walk{"walk", {}, {{geo::LineM{{0, 0}, {10, 20}, {30, 20}}, {}}}};
    geo::write_vector_file(file, {fields(), samples, walk}, flat_at_9_5_east);
    GDALDatasetUniquePtr data(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
    REQUIRE(data);
    REQUIRE(data->GetLayerCount() == 3);
    CHECK(wkbFlatten(data->GetLayer(1)->GetGeomType()) == wkbPoint);
    CHECK(wkbFlatten(data->GetLayer(2)->GetGeomType()) == wkbLineString);
    const OGRFeatureUniquePtr sample(data->GetLayer(1)->GetNextFeature());
    const auto [longitude, latitude] = flat_at_9_5_east.to_degrees({10, 20});
    CHECK(sample->GetGeometryRef()->toPoint()->getX() == longitude);
    CHECK(sample->GetGeometryRef()->toPoint()->getY() == latitude);
}

TEST_CASE("a map file is refused where it cannot be what was asked for") {
    const VectorFolder folder;
    CHECK_THROWS_WITH(geo::write_vector_file(folder.path / "a.dwg", {fields()}, flat_at_9_5_east),
                      Catch::Contains(R"(not written as ".dwg")"));
    CHECK_THROWS_WITH(geo::write_vector_file(folder.path / "a.geojson", {fields(), fields()}, flat_at_9_5_east),
                      Catch::Contains("holds one layer"));
    CHECK_THROWS_WITH(geo::write_vector_file(folder.path / "none" / "a.gpkg", {fields()}, flat_at_9_5_east),
                      Catch::Contains("cannot be written"));
    geo::VectorLayer mixed = fields();
    mixed.features.push_back({models::PointM{0, 0}, {std::monostate(), std::monostate(), std::monostate()}});
    CHECK_THROWS_WITH(geo::write_vector_file(folder.path / "a.gpkg", {mixed}, flat_at_9_5_east), Catch::Contains("mixes outlines"));
    geo::VectorLayer narrow = fields();
    narrow.features[0].values.pop_back();
    CHECK_THROWS_WITH(geo::write_vector_file(folder.path / "a.gpkg", {narrow}, flat_at_9_5_east),
                      Catch::Contains("3 columns, and a row of 2 values"));
    CHECK(fs::is_empty(folder.path));
}
