#include "geo/outlines.h"

#include <algorithm>
#include <charconv>
#include <cmath>
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>
#include <proj.h>

#include "geo/vector_file.h"
#include "models/error.h"
#include "tests/support/shared_data.h"

namespace outlines_test {

namespace fs = std::filesystem;

/// A folder of its own for the files of one test.
class Folder {
 public:
    Folder() {
        static int count = 0;
        path_ = fs::temp_directory_path() / ("outlines_test_" + std::to_string(++count) + "_" +
                                             std::to_string(reinterpret_cast<std::uintptr_t>(this)));
        fs::create_directories(path_);
    }
    ~Folder() { fs::remove_all(path_); }
    fs::path write(const std::string& name, const std::string& text) const {
        std::ofstream(path_ / name, std::ios::binary) << text;
        return path_ / name;
    }

    const fs::path& path() const { return path_; }

 private:
    fs::path path_;
};

/// GeoJSON from lines of properties and geometry.
std::string features(const std::vector<std::pair<std::string, std::string>>& rows, const std::string& crs = "") {
    std::string text = R"({"type":"FeatureCollection",)";
    if (!crs.empty()) text += R"("crs":{"type":"name","properties":{"name":")" + crs + R"("}},)";
    text += "\"features\":[";
    for (std::size_t i = 0; i < rows.size(); ++i) {
        text += (i > 0 ? "," : "") + std::string(R"({"type":"Feature","properties":{)") + rows[i].first +
                R"(},"geometry":)" + rows[i].second + "}";
    }
    return text + "]}";
}
std::string polygon(const std::string& ring) {
    return R"({"type":"Polygon","coordinates":[[)" + ring + "]]}";
}
const std::string square = polygon("[9.00,56.00],[9.01,56.00],[9.01,56.01],[9.00,56.01],[9.00,56.00]");

std::string refusal_of(const fs::path& file, const geo::OutlineOptions& options = {}) {
    try {
        geo::read_outlines(file, options);
    } catch (const models::Error& error) {
        return error.what();
    }
    return "not refused";
}

double note_as_number(const geo::OutlineRead& outline, const std::string& name) {
    for (const auto& [key, text] : outline.notes) {
        double value = 0.0;
        if (key == name && std::from_chars(text.data(), text.data() + text.size(), value).ec == std::errc())
            return value;
    }
    FAIL("no attribute " << name);
    return 0.0;
}

double median(std::vector<double> values) {
    std::nth_element(values.begin(), values.begin() + static_cast<long>(values.size() / 2), values.end());
    return values[values.size() / 2];
}

}  // namespace outlines_test

using namespace outlines_test;

TEST_CASE("outlines come in with their attributes, whatever the capitals") {
    const Folder folder;
    const auto file = folder.write(
        "fields.geojson",
        features(
            {{R"("Field":"12","NAME":"Long Acre","grower":"A. Meadow","part":null,"soil":"clay","ha":71.5)", square},
             {R"("Field":"7","NAME":"Mill Piece","grower":"B. Brook","part":"east","soil":null,"ha":null)",
              R"({"type":"MultiPolygon","coordinates":[[[[9.1,56],[9.11,56],[9.11,56.01],[9.1,56]]],)"
              R"([[[9.2,56,31.5],[9.21,56,31.5],[9.21,56.01,32],[9.2,56,31.5]]]]})"}}));
    const auto read = geo::read_outlines(file);
    REQUIRE(read.outlines.size() == 2);
    CHECK(read.refused.empty());
    CHECK(read.outlines[0].field == "12");
    CHECK(read.outlines[0].part.empty());
    CHECK(read.outlines[0].name == "Long Acre");
    CHECK(read.outlines[0].grower == "A. Meadow");
    CHECK(read.outlines[0].row == 1);
    using Notes = std::vector<std::pair<std::string, std::string>>;
    CHECK(read.outlines[0].notes == Notes{{"soil", "clay"}, {"ha", "71.5"}});
    CHECK(read.outlines[1].part == "east");
    CHECK(read.outlines[1].outline_deg.size() == 2);  // in two pieces, heights left out
    CHECK(read.outlines[1].notes.empty());
    CHECK(read.notes == std::vector<std::string>{"kept as notes: soil, ha"});
}

TEST_CASE("a file without an attribute field is refused and the nearest name is offered") {
    const Folder folder;
    const auto misspelt = folder.write("a.geojson", features({{R"("feild":"12","soil":"clay")", square}}));
    CHECK_THAT(refusal_of(misspelt), Catch::Contains(R"(no attribute "field"; did you mean "feild"?)") &&
                                         Catch::Contains("the file has: feild, soil"));
    const auto other = folder.write("b.geojson", features({{R"("Marknr":"12","farm":"3")", square}}));
    CHECK_THAT(refusal_of(other), Catch::Contains("the file has: Marknr, farm"));
    CHECK(geo::read_outlines(other, {{{"field", "marknr"}}, "", "", {}}).outlines.at(0).field == "12");
    CHECK(geo::read_outlines(other, {{{"field", "farm + Marknr"}}, "", "", {}}).outlines.at(0).field == "3 12");
    CHECK_THAT(refusal_of(other, {{{"field", "Marknrr"}}, "", "", {}}),
               Catch::Contains(R"(no attribute "Marknrr"; did you mean "Marknr"?)"));
    CHECK_THAT(refusal_of(other, {{{"fields", "Marknr"}}, "", "", {}}),
               Catch::Contains(R"(no attribute "fields"; did you mean "field"?)"));
}

TEST_CASE("an outline that crosses itself is mended at the crossing and the note says so") {
    const Folder folder;
    // A bow tie: two triangles of a quarter of the square each.
    const auto file = folder.write(
        "bow.geojson",
        features({{R"("field":"bow")", polygon("[9.00,56.00],[9.01,56.01],[9.01,56.00],[9.00,56.01],[9.00,56.00]")},
                  {R"("field":"square")", square}}));
    const auto read = geo::read_outlines(file);
    REQUIRE(read.outlines.size() == 2);
    CHECK(read.outlines[0].outline_deg.size() == 2);
    const auto work = geo::WorkSystem::around(9.0, 56.0);
    CHECK(geo::to_field(read.outlines[0], work).area_ha ==
          Approx(geo::to_field(read.outlines[1], work).area_ha / 2.0).epsilon(1e-3));
    CHECK_THAT(read.notes.at(0), Catch::Contains(R"(field "bow" crosses itself near (9.005, 56.005)") &&
                                     Catch::Contains("it is now 2 pieces of valid ground"));
}

TEST_CASE("what is no outline is refused feature by feature and the good ones go in") {
    const Folder folder;
    const auto file =
        folder.write("mixed.geojson",
                     features({{R"("field":"good")", square},
                               {R"("field":"point")", R"({"type":"Point","coordinates":[9,56]})"},
                               {R"("field":"line")", R"({"type":"LineString","coordinates":[[9,56],[9.1,56]]})"},
                               {R"("field":"nothing")", "null"},
                               {R"("field":"flat")", polygon("[9.00,56.00],[9.01,56.01],[9.02,56.02],[9.00,56.00]")},
                               {R"("field":"")", polygon("[9.1,56],[9.11,56],[9.11,56.01],[9.1,56]")},
                               {R"("field":"tiny")", polygon("[9,56],[9.000001,56],[9.000001,56.000001],[9,56]")},
                               {R"("field":"vast")", polygon("[9,56],[19,56],[19,60],[9,60],[9,56]")}}));
    const auto read = geo::read_outlines(file);
    REQUIRE(read.outlines.size() == 1);
    REQUIRE(read.refused.size() == 7);
    const std::vector<std::string> words{
        "is a point, not an outline", "is a line, not an outline", "has no outline",       "encloses no ground",
        "has no field name",          "encloses no ground",        "ha, which is no field"};
    for (std::size_t i = 0; i < words.size(); ++i) {
        INFO(read.refused[i].what);
        CHECK_THAT(read.refused[i].what, Catch::Contains(words[i]));
        CHECK(read.refused[i].row == static_cast<long>(i) + 2);
        CHECK(read.refused[i].file == "mixed.geojson");
        CHECK(!read.refused[i].mend.empty());
    }
}

TEST_CASE("swapped longitude and latitude and metres called degrees are refused as such") {
    const Folder folder;
    const auto file = folder.write(
        "swapped.geojson",
        features(
            {{R"("field":"far north")", polygon("[56.00,-109.00],[56.01,-109.00],[56.01,-109.01],[56.00,-109.00]")},
             {R"("field":"metres")", polygon("[500000,6200000],[500100,6200000],[500100,6200100],[500000,6200000]")},
             {R"("field":"danish")", polygon("[56.00,9.00],[56.00,9.01],[56.01,9.01],[56.00,9.00]")}}));
    auto read = geo::read_outlines(file);
    CHECK(read.outlines.size() == 1);  // without knowing where the others lie, 9 N 56 E is as good a place as any
    REQUIRE(read.refused.size() == 2);
    CHECK_THAT(read.refused[0].what, Catch::Contains("longitude and latitude swapped: its first corner is (56, -109)"));
    CHECK_THAT(read.refused[1].what, Catch::Contains("planar coordinates such as (500000, 6200000)"));
    geo::OutlineOptions in_denmark;
    in_denmark.near = geo::PointDeg{10.0, 56.0};
    read = geo::read_outlines(file, in_denmark);
    REQUIRE(read.refused.size() == 3);
    CHECK_THAT(read.refused[2].what, Catch::Contains(R"(field "danish" has longitude and latitude swapped)"));

    const auto utm = folder.write(
        "utm.geojson",
        features(
            {{R"("field":"north first")",
              polygon("[6200000,500000],[6200100,500000],[6200100,500100],[6200000,500000]")},
             {R"("field":"degrees")", polygon("[9.00,56.00],[9.01,56.00],[9.01,56.01],[9.00,56.00]")},
             {R"("field":"good")", polygon("[500000,6200000],[500100,6200000],[500100,6200100],[500000,6200000]")}},
            "urn:ogc:def:crs:EPSG::25832"));
    read = geo::read_outlines(utm);
    CHECK(read.outlines.size() == 1);
    REQUIRE(read.refused.size() == 2);
    CHECK_THAT(read.refused[0].what, Catch::Contains("east and north swapped"));
    CHECK_THAT(read.refused[1].what, Catch::Contains("look like degrees") && Catch::Contains("UTM zone 32N"));
}

TEST_CASE("features of one field are pieces of it unless something speaks against that") {
    const Folder folder;
    const std::string beside = polygon("[9.01,56.00],[9.02,56.00],[9.02,56.01],[9.01,56.01],[9.01,56.00]");
    const std::string over = polygon("[9.005,56.00],[9.015,56.00],[9.015,56.01],[9.005,56.01],[9.005,56.00]");
    const std::string far = polygon("[9.50,56.00],[9.51,56.00],[9.51,56.01],[9.50,56.01],[9.50,56.00]");
    const auto file = folder.write("pieces.geojson", features({{R"("field":"1","grower":"A. Meadow")", square},
                                                               {R"("field":"1","grower":"A. Meadow")", beside},
                                                               {R"("field":"1","grower":"A. Meadow")", square},
                                                               {R"("field":"2","grower":"A. Meadow")", square},
                                                               {R"("field":"2","grower":"A. Meadow")", square},
                                                               {R"("field":"2","grower":"A. Meadow")", over},
                                                               {R"("field":"2","grower":"B. Brook")", beside},
                                                               {R"("field":"2","grower":"A. Meadow")", far}}));
    const auto read = geo::read_outlines(file);
    REQUIRE(read.outlines.size() == 2);
    const auto work = geo::WorkSystem::around(9.0, 56.0);
    CHECK(read.outlines[0].outline_deg.size() == 1);  // the common edge is gone
    CHECK(geo::to_field(read.outlines[0], work).area_ha ==
          Approx(2.0 * geo::to_field(read.outlines[1], work).area_ha).epsilon(1e-4));
    REQUIRE(read.refused.size() == 4);
    CHECK_THAT(read.refused[0].what, Catch::Contains("overlap by 69"));  // the first square again, over both pieces
    CHECK_THAT(read.refused[1].what,
               Catch::Contains(R"(field "2" is there already (feature 4))") && Catch::Contains("overlap"));
    CHECK_THAT(read.refused[2].what, Catch::Contains("name or grower differs"));
    CHECK_THAT(read.refused[3].what, Catch::Contains("km apart"));
    const auto said = [&](const std::string& words) {
        return std::any_of(read.notes.begin(), read.notes.end(),
                           [&](const std::string& note) { return note.find(words) != std::string::npos; });
    };
    CHECK(said(R"(field "1" comes in 2 features, joined as pieces of one outline)"));
    CHECK(said(R"(field "2" comes twice with the same outline (features 4 and 5); taken once)"));
}

TEST_CASE("a part outside of its field is noted") {
    const Folder folder;
    const auto file = folder.write(
        "parts.geojson",
        features({{R"("field":"1","part":"")", square},
                  {R"("field":"1","part":"in")", polygon("[9.00,56.00],[9.005,56.00],[9.005,56.01],[9.00,56.00]")},
                  {R"("field":"1","part":"out")", polygon("[9.03,56.00],[9.04,56.00],[9.04,56.01],[9.03,56.00]")}}));
    const auto read = geo::read_outlines(file);
    CHECK(read.outlines.size() == 3);
    REQUIRE(read.notes.size() == 1);
    CHECK_THAT(read.notes[0], Catch::Contains(R"(field "1", part "out" lies outside of its field)"));
}

TEST_CASE("a shapefile without a reference system is refused unless one is named") {
    const Folder folder;
    const geo::WorkSystem work(9.5, 56.5);
    const auto file = folder.path() / "outlines.shp";
    const geo::OutlineDeg outline{{{{9.0, 56.0}, {9.01, 56.0}, {9.01, 56.01}}, {}}};
    geo::write_vector_file(file, {{"outlines", {{"field", geo::ColumnKind::text}}, {{outline, {std::string("Sø")}}}}},
                           work);
    CHECK(geo::read_outlines(file).outlines.at(0).field == "Sø");
    fs::remove(folder.path() / "outlines.prj");
    CHECK_THAT(refusal_of(file), Catch::Contains("no reference system") && Catch::Contains(".prj"));
    const auto read = geo::read_outlines(file, {{}, "", "EPSG:4326", {}});
    CHECK(read.outlines.at(0).outline_deg == outline);
    CHECK_THAT(refusal_of(file, {{}, "", "EPSG:1", {}}), Catch::Contains(R"(reference system "EPSG:1" is not known)"));
    fs::remove(folder.path() / "outlines.shx");
    CHECK_THAT(refusal_of(file, {{}, "", "EPSG:4326", {}}), Catch::Contains("without its .shx part"));
}

TEST_CASE("files that are no outlines are refused in one sentence") {
    const Folder folder;
    CHECK_THAT(refusal_of(folder.path() / "none.gpkg"), Catch::Contains("there is no such file"));
    CHECK_THAT(refusal_of(folder.write("empty.gpkg", "")), Catch::Contains("the file is empty"));
    CHECK_THAT(refusal_of(folder.write("text.geojson", "field;area\n1;2\n")),
               Catch::Contains("cannot be read as outlines"));
    CHECK_THAT(refusal_of(folder.write("table.csv", "field,area\n1,2\n")), Catch::Contains("holds no outlines"));
    CHECK_THAT(refusal_of(folder.write("cut.zip", "PK\x03\x04 and no more")), Catch::Contains("cannot be unpacked"));
    CHECK_THAT(refusal_of(folder.write("nobody.geojson", features({}))),
               Catch::Contains("no attribute \"field\"") || Catch::Contains("holds no outlines"));
}

TEST_CASE("a GeoPackage cut short anywhere is refused as damaged") {
    const Folder folder;
    const geo::WorkSystem work(9.5, 56.5);
    const auto whole = folder.path() / "whole.gpkg";
    geo::VectorLayer layer{"fields", {{"field", geo::ColumnKind::text}}, {}};
    for (int i = 0; i < 300; ++i) {
        geo::OutlineDeg outline{{{}, {}}};
        for (int k = 0; k < 40; ++k) {
            outline[0].outer.push_back(
                {9.0 + 0.01 * i + 0.004 * std::cos(0.157 * k), 56.0 + 0.004 * std::sin(0.157 * k)});
        }
        layer.features.push_back({outline, {std::to_string(i)}});
    }
    geo::write_vector_file(whole, {layer}, work);
    REQUIRE(geo::read_outlines(whole).outlines.size() == 300);
    std::ifstream in(whole, std::ios::binary);
    const std::string bytes{std::istreambuf_iterator<char>(in), {}};
    for (const double share : {0.02, 0.2, 0.5, 0.8, 0.97}) {
        const auto cut = folder.write(
            "cut.gpkg", bytes.substr(0, static_cast<std::size_t>(share * static_cast<double>(bytes.size()))));
        INFO(share);
        CHECK_THAT(refusal_of(cut),
                   Catch::Contains("the GeoPackage is damaged or cut short. To mend it: copy or fetch it again"));
    }
}

TEST_CASE("advice on the name of fields begins with the attributes that tell them apart") {
    const Folder folder;
    const std::string other = polygon("[9.02,56.00],[9.03,56.00],[9.03,56.01],[9.02,56.01],[9.02,56.00]");
    const auto refused = [&](const std::string& first, const std::string& second, const std::string& third) {
        return refusal_of(folder.write("f.geojson", features({{first, square}, {second, square}, {third, other}})));
    };
    // A category comes first in the file and names a group; the area differs everywhere and names nothing.
    const std::string one = refused(R"("category":"grain","ha":1.25,"plot":7,"code":"a")",
                                    R"("category":"grain","ha":1.5,"plot":8,"code":"b")",
                                    R"("category":"grass","ha":1.75,"plot":9,"code":"b")");
    CHECK_THAT(one, Catch::Contains("[columns] field = \"plot\"; no two outlines share it"));
    CHECK_THAT(one, Catch::Contains("the file has: category, ha, plot, code"));
    CHECK_THAT(refused(R"("category":"grain","plot":7,"code":"a")", R"("category":"grain","plot":8,"code":"b")",
                       R"("category":"grass","plot":9,"code":"c")"),
               Catch::Contains("field = \"plot\"; no two outlines share their plot, code"));
    // A number within the farm: two together do.
    CHECK_THAT(refused(R"("farm":"1","crop":"w","plot":1)", R"("farm":"2","crop":"w","plot":1)",
                       R"("farm":"1","crop":"w","plot":2)"),
               Catch::Contains("field = \"farm+plot\"; no two outlines share it"));
    // None does: the first is an example only.
    CHECK_THAT(refused(R"("soil":"loam")", R"("soil":"loam")", R"("soil":"clay")"),
               Catch::Contains("field = \"soil\"; the file has: soil"));
}

TEST_CASE("a layer is chosen by name where the file has several") {
    const Folder folder;
    const geo::WorkSystem work(9.5, 56.5);
    const geo::OutlineDeg outline{{{{9.0, 56.0}, {9.01, 56.0}, {9.01, 56.01}}, {}}};
    const auto layer = [&](const std::string& name) {
        return geo::VectorLayer{name, {{"field", geo::ColumnKind::text}}, {{outline, {name}}}};
    };
    const auto file = folder.path() / "two.gpkg";
    geo::write_vector_file(file, {layer("north"), layer("south")}, work);
    CHECK_THAT(refusal_of(file), Catch::Contains("the file has 2 layers: north, south"));
    CHECK(geo::read_outlines(file, {{}, "south", "", {}}).outlines.at(0).field == "south");
    CHECK_THAT(refusal_of(file, {{}, "suoth", "", {}}), Catch::Contains(R"(no layer "suoth"; did you mean "south"?)"));
}

TEST_CASE("outlines go to the work system and to bytes and come back") {
    const geo::OutlineDeg outline{
        {{{9.0, 56.0}, {9.02, 56.0}, {9.02, 56.02}, {9.0, 56.02}}, {{{9.005, 56.005}, {9.005, 56.01}, {9.01, 56.01}}}},
        {{{9.1, 56.0}, {9.11, 56.0}, {9.11, 56.01}}, {}}};
    CHECK(geo::from_wkb(geo::to_wkb(outline)) == outline);
    const geo::WorkSystem work(9.0, 56.0);
    const geo::OutlineDeg back = geo::to_degrees(geo::to_work(outline, work), work);
    REQUIRE(back.size() == 2);
    REQUIRE(back[0].holes.size() == 1);
    for (std::size_t i = 0; i < 4; ++i) {
        CHECK(back[0].outer[i].longitude_deg == Approx(outline[0].outer[i].longitude_deg).margin(1e-8).epsilon(0.0));
        CHECK(back[0].outer[i].latitude_deg == Approx(outline[0].outer[i].latitude_deg).margin(1e-8).epsilon(0.0));
    }
    // A ring that nobody closed is the same ring: of a triangle in bytes the fourth point and the count are cut off.
    const geo::OutlineDeg triangle{outline[1]};
    std::vector<unsigned char> open = geo::to_wkb(triangle);
    REQUIRE(open[18] == 4);  // multipolygon, polygon, one ring, and then its number of points
    open[18] = 3;
    open.resize(open.size() - 16);
    CHECK(geo::from_wkb(open) == triangle);
    const std::vector<unsigned char> rubbish{1, 6, 0, 0, 0, 9};
    CHECK_THROWS_WITH(geo::from_wkb(rubbish), Catch::Contains("no polygon"));
}

TEST_CASE("the accuracy of a poor reference system is told") {
    const Folder folder;
    const auto file =
        folder.write("old.geojson",
                     features({{R"("field":"1")", polygon("[-100.00,40.00],[-99.99,40.00],[-99.99,40.01],[-100,40]")}},
                              "urn:ogc:def:crs:EPSG::4267"));
    const auto read = geo::read_outlines(file);
    REQUIRE(!read.notes.empty());
    CHECK_THAT(read.notes[0], Catch::Contains("NAD27 meets WGS 84 within about"));
    const auto today = folder.write("today.geojson", features({{R"("field":"1")", square}}));
    CHECK(geo::read_outlines(today).notes.empty());
}

// Shared data: Danish and French parcels with declared areas, Dutch parcels; fields of the two protein logs.

namespace outlines_test {

/// Area of each outline in the work system, and what the plane of its own reference system makes of it there: the
/// areal scale of that projection at the centroid (PROJ's own factors), ha.
struct Areas {
    double ground_ha, plane_ha;
};
std::vector<Areas> areas_of(const geo::OutlinesRead& read, const char* projected) {
    PJ_CONTEXT* context = proj_context_create();
    PJ* projection = proj_create(context, projected);
    const geo::PointDeg middle = geo::middle_of(read.outlines);
    const auto work = geo::WorkSystem::around(middle.longitude_deg, middle.latitude_deg);
    std::vector<Areas> areas;
    for (const geo::OutlineRead& outline : read.outlines) {
        const models::Field field = geo::to_field(outline, work);
        const PJ_FACTORS factors =
            proj_factors(projection, proj_coord(proj_torad(field.longitude_deg), proj_torad(field.latitude_deg), 0, 0));
        areas.push_back({field.area_ha, field.area_ha * factors.areal_scale});
    }
    proj_destroy(projection);
    proj_context_destroy(context);
    return areas;
}

std::vector<double> plane_areas_as_read(const std::string& file) {
    GDALAllRegister();
    GDALDatasetUniquePtr data(GDALDataset::Open(file.c_str(), GDAL_OF_VECTOR));
    std::vector<double> areas_ha;
    for (const auto& feature : *data->GetLayer(0)) {
        areas_ha.push_back(OGR_G_Area(OGRGeometry::ToHandle(feature->GetGeometryRef())) / 1e4);
    }
    return areas_ha;
}

}  // namespace outlines_test

TEST_CASE("Danish Dutch and French parcels keep their areas on the way to the work system") {
    NEEDS_SHARED_DATA(shared);
    struct Case {
        const char *file, *vsi, *field, *system;
    };
    for (const Case& parcels : {Case{"dk_Marker_2026_shp_epsg25832.zip", "/vsizip/", "Journalnr+Marknr", "EPSG:25832"},
                                Case{"nl_brp_2023_epsg28992.gpkg", "", "id", "EPSG:28992"},
                                Case{"fr_rpg_2022_epsg2154.gpkg", "", "id_parcel", "EPSG:2154"}}) {
        INFO(parcels.file);
        const auto file = shared / "data/fields" / parcels.file;
        const auto read = geo::read_outlines(file, {{{"field", parcels.field}}, "", "", {}});
        REQUIRE(read.outlines.size() == 100);
        CHECK(read.refused.empty());
        const auto areas = areas_of(read, parcels.system);
        const auto plane_ha = plane_areas_as_read(parcels.vsi + file.string());
        for (std::size_t i = 0; i < 100; ++i) {
            INFO(read.outlines[i].field);
            CHECK(areas[i].plane_ha == Approx(plane_ha[i]).epsilon(2e-5));
        }
    }
}

TEST_CASE("Danish and French areas agree with what was declared") {
    NEEDS_SHARED_DATA(shared);
    // Farmers declare in the plane of their country's system; the ground differs by its areal scale (at 9 E in UTM zone
    // 32: 1 / 0.9996^2, 0.08 %).
    const auto danish = geo::read_outlines(shared / "data/fields/dk_Marker_2026_shp_epsg25832.zip",
                                           {{{"field", "Journalnr+Marknr"}, {"grower", "Journalnr"}}, "", "", {}});
    const auto danish_areas = areas_of(danish, "EPSG:25832");
    std::vector<double> apart;
    for (std::size_t i = 0; i < danish.outlines.size(); ++i) {
        const double declared_ha = note_as_number(danish.outlines[i], "IMK_areal");
        apart.push_back(std::abs(danish_areas[i].plane_ha / declared_ha - 1.0));
        // Cut off at two decimals, and net of small features.
        CHECK(danish_areas[i].plane_ha - declared_ha > -0.0051);
        CHECK(danish_areas[i].plane_ha - declared_ha < 0.0101);
    }
    CHECK(median(apart) == Approx(0.0025).margin(0.0001).epsilon(0.0));

    const auto french =
        geo::read_outlines(shared / "data/fields/fr_rpg_2022_epsg2154.gpkg", {{{"field", "id_parcel"}}, "", "", {}});
    const auto french_areas = areas_of(french, "EPSG:2154");
    double ground_ha = 0.0, declared_ha = 0.0;
    long wheat = 0;
    for (std::size_t i = 0; i < french.outlines.size(); ++i) {
        const double surf_parc = note_as_number(french.outlines[i], "surf_parc");
        CHECK(french_areas[i].plane_ha == Approx(surf_parc).margin(0.0051).epsilon(0.0));  // written with two decimals
        ground_ha += french_areas[i].ground_ha;
        declared_ha += surf_parc;
        for (const auto& [name, text] : french.outlines[i].notes) wheat += name == "code_cultu" && text == "BTH";
    }
    CHECK(wheat == 10);
    CHECK(ground_ha / declared_ha ==
          Approx(1.0).margin(0.002).epsilon(0.0));  // the plane's scale, up to 0.19 % of area
}

TEST_CASE("a zipped shapefile with another system's leftovers reads like its GeoJSON") {
    NEEDS_SHARED_DATA(shared);
    for (const char* name : {"henrys", "sec35mid"}) {
        const auto zipped = geo::read_outlines(shared / "data/spatial" / (std::string(name) + "_bbox.zip"),
                                               {{{"field", "id"}}, "", "", {}});
        const auto plain = geo::read_outlines(shared / "data/spatial" / (std::string(name) + ".geojson"),
                                              {{{"field", "id"}}, "", "", {}});
        REQUIRE(zipped.outlines.size() == plain.outlines.size());
        for (std::size_t i = 0; i < plain.outlines.size(); ++i) {
            CHECK(zipped.outlines[i].field == plain.outlines[i].field);
            const auto &a = zipped.outlines[i].outline_deg.at(0).outer, &b = plain.outlines[i].outline_deg.at(0).outer;
            REQUIRE(a.size() == b.size());
            for (std::size_t k = 0; k < a.size(); ++k) {
                CHECK(a[k].longitude_deg ==
                      Approx(b[k].longitude_deg).margin(1e-7).epsilon(0.0));  // written with 7 decimals
                CHECK(a[k].latitude_deg == Approx(b[k].latitude_deg).margin(1e-7).epsilon(0.0));
            }
        }
    }
}
