#include <algorithm>

#include "tests/geo/store_fixture.h"

/// What an import takes and tells about, and where it stops taking.
namespace store_tests {

using Catch::Matchers::Contains;

namespace {

std::string told(const geo::ImportReport& report) {
    std::string text;
    for (const std::string& note : report.notes) text += note + "\n";
    return text;
}

}  // namespace

TEST_CASE("a sample far from the field it names is kept and told with its row and distance") {
    Farm farm;
    // Long Acre is the square from 9.5 E 56.0 N to 9.51 E 56.01 N; a degree of latitude at 56 N on WGS 84 is
    // 111.34 km, so 0.2245 of it are 25.0 km.
    const auto report = farm.import_text("samples",
                                         "sample,stage,kind,field,longitude_deg,latitude_deg\n"
                                         "S1,standing,point,Long Acre,9.505,56.005\n"
                                         "S2,standing,point,Long Acre,9.505,56.2345\n"
                                         "S3,standing,point,Long Acre,9.525,56.002\n"
                                         "S4,standing,point,,9.505,56.2345\n"
                                         "S5,truck,composite,Long Acre,9.505,56.2345\n");
    CHECK(report.added == 5);
    CHECK(report.notes.size() == 3);
    CHECK_THAT(told(report), Contains("row 3 is kept, but sample \"S2\" is named field \"Long Acre\", but its position "
                                      "lies 25.0 km from it, in no field") &&
                                 Contains("row 4 is kept") && Contains("in field \"Mill Piece\"") &&
                                 Contains("row 5 is kept, but sample \"S4\" lies in no field"));
    CHECK(farm.store.samples().size() == 5);
}

TEST_CASE("a tests table that carries its samples tells of far positions too") {
    Farm farm;
    CHECK_THAT(told(farm.import_text("tests",
                                     "test,time,sample,don,unit,stage,kind,field,longitude_deg,latitude_deg\n"
                                     "T1,2025-07-20T10:00:00+02:00,S1,0.4,mg/kg,standing,point,Fen,9.505,56.2345\n")),
               Contains("row 2 is kept, but sample \"S1\" is named field \"Fen\""));
}

TEST_CASE("swapped longitude and latitude are refused even where both lie near the store") {
    Folder folder;
    geo::Store store = geo::Store::create(folder / "diagonal.lodicule");
    // Near 45 E 45 N a swapped position is still within the same district.
    const std::string outlines = R"({"type":"FeatureCollection","features":[)" +
                                 square(R"("field":"Low")", 45.10, 45.00, 0.01) + "," +
                                 square(R"("field":"High")", 45.30, 45.20, 0.01) + "]}";
    geo::import_file(store, "fields", folder.write("outlines.geojson", outlines));
    const auto report = geo::import_file(store, "samples",
                                         folder.write("samples.csv",
                                                      "sample,stage,kind,field,longitude_deg,latitude_deg\n"
                                                      "S1,standing,point,Low,45.105,45.005\n"
                                                      "S2,standing,point,Low,45.005,45.105\n"
                                                      "S3,standing,point,,45.205,45.305\n"));
    CHECK(report.added == 1);
    REQUIRE(report.refused.size() == 2);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("row 3") &&
                                                    Contains("in it only when longitude and latitude are swapped") &&
                                                    Contains("swap longitude_deg and latitude_deg"));
    CHECK_THAT(geo::to_text(report.refused[1]), Contains("row 4") && Contains("but in field \"High\" when longitude"));
}

TEST_CASE("many samples far away and many unknown columns are told by the first five and a count") {
    Farm farm;
    std::string header = "sample,stage,kind,field,longitude_deg,latitude_deg", rows;
    for (int i = 0; i < 300; ++i) header += ",extra" + std::to_string(i);
    for (int i = 0; i < 12; ++i) {
        rows += "S" + std::to_string(i) + ",standing,point,Fen,9.5,56.3" + std::string(300, ',') + "\n";
    }
    const auto report = farm.import_text("samples", header + "\n" + rows);
    CHECK(report.added == 12);
    CHECK(report.notes.size() == 12);
    CHECK_THAT(told(report),
               Contains("column \"extra4\" is kept as a note\nand 295 more columns are kept as notes\n") &&
                   Contains("and 7 more samples lie elsewhere than they say\n"));
}

TEST_CASE("a cell is a note and not a document") {
    Farm farm;
    const std::string header = "sample,stage,kind,field,remark\n", most(65536, 'a');
    CHECK(farm.import_text("samples", header + "S1,standing,composite,Fen," + most + "\n").added == 1);
    CHECK_THAT(farm.refusal("samples", header + "S2,standing,composite,Fen," + most + "a\n"),
               Contains("row 2, column remark: the cell holds 65537 bytes, and 65536 (64 KiB) are the most") &&
                   Contains("keep long texts in a file beside"));
    CHECK_THAT(farm.refusal("samples", header + most + "a,standing,composite,Fen,\n"), Contains("column sample"));
    const auto report = geo::import_file(
        farm.store, "fields",
        farm.folder.write("long.geojson", R"({"type":"FeatureCollection","features":[)" +
                                              square(R"("field":"Moor","soil":")" + most + R"(a")", 9.6, 56.0, 0.01) +
                                              "]}"));
    REQUIRE(report.refused.size() == 1);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("column soil") && Contains("64 KiB"));
    CHECK_THAT(refusal_of([&] {
                   geo::add_row(farm.store, "samples",
                                {{"sample", "S3"},
                                 {"stage", "standing"},
                                 {"kind", "composite"},
                                 {"field", "Fen"},
                                 {"taken_by", most + "a"}});
               }),
               Contains("column taken_by") && Contains("64 KiB"));
}

TEST_CASE("a column map for outlines names our attributes and is told where it does not") {
    Farm farm;
    geo::ImportOptions options;
    options.column_map =
        farm.folder.write("parcels.toml", "layer = \"outlines\"\n[columns]\nfeild = \"nr\"\n").string();
    CHECK_THAT(
        refusal_of([&] { geo::import_file(farm.store, "fields", farm.folder / "outlines.geojson", options); }),
        Contains("parcels.toml, line 3: the column map speaks of \"feild\"") && Contains("did you mean \"field\"?"));
}

TEST_CASE("a folder is no file of outlines") {
    Farm farm;
    CHECK_THAT(refusal_of([&] { geo::import_file(farm.store, "fields", farm.folder.path()); }),
               Contains("this is a folder, not a file of outlines") && Contains("the one ending in .shp"));
}

}  // namespace store_tests
