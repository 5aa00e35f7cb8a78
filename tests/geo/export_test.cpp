#include "geo/export.h"

#include <algorithm>
#include <set>
#include <string>
#include <vector>

#include "geo/store/database.h"
#include "tests/geo/store_fixture.h"
#include "tests/geo/tables_of_all_kinds.h"

namespace store_tests {

using Catch::Matchers::Contains;

std::string Farm::export_text(const std::string& kind) {
    const fs::path out = folder / ("out_" + kind + (kind == "fields" ? ".geojson" : ".csv"));
    geo::export_kind(store, kind, out);
    return bytes_of(out);
}

TEST_CASE("everything that went in comes out and goes in again to the same bytes for every kind") {
    Farm first;
    for (const auto& [kind, text] : tables_of_all_kinds()) {
        INFO(kind);
        const auto report = first.import_text(kind, text);
        for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
        CHECK(report.added == report.rows);
    }
    Folder folder;
    geo::Store second = geo::Store::create(folder / "again.lodicule");
    std::set<std::string> seen = {"fields", "crops"};
    for (const auto& [kind, text] : tables_of_all_kinds()) seen.insert(kind);
    const auto kinds = geo::importable_kinds();
    CHECK(seen == std::set<std::string>(kinds.begin(), kinds.end()));
    for (const std::string& kind : kinds) {
        INFO(kind);
        const std::string ending = kind == "fields" ? ".geojson" : ".csv";
        const fs::path out = folder / (kind + ending);
        const long rows = geo::export_kind(first.store, kind, out);
        CHECK(rows > 0);
        const auto report = geo::import_file(second, kind, out);
        for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
        CHECK(report.added + report.unchanged == rows);
        CHECK(geo::import_file(first.store, kind, out).added == 0);
    }
    // Looked at only now: what a later kind brings along must leave the earlier ones as they are.
    for (const std::string& kind : kinds) {
        INFO(kind);
        const std::string ending = kind == "fields" ? ".geojson" : ".csv";
        const fs::path again = folder / (kind + "2" + ending);
        geo::export_kind(second, kind, again);
        CHECK(bytes_of(folder / (kind + ending)) == bytes_of(again));
    }
}

TEST_CASE("stations and their weather go into a new store in either order and lose no column of the user") {
    Farm first;
    for (const auto& [kind, text] : tables_of_all_kinds()) {
        if (kind == "stations" || kind == "weather") first.import_text(kind, text);
    }
    const std::string stations = first.export_text("stations"), weather = first.export_text("weather");
    CHECK_THAT(stations, Contains("height m,owner") && Contains("Hill,9.5,56,41,Coop"));
    const std::vector<std::vector<std::string>> orders = {{"stations", "weather"}, {"weather", "stations"}};
    for (const auto& order : orders) {
        INFO(order.front() << " first");
        Farm second(false);
        for (const std::string& kind : order) {
            const auto report = second.import_text(kind, kind == "stations" ? stations : weather);
            for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
            CHECK(report.rows == 2);
        }
        CHECK(second.export_text("stations") == stations);
        CHECK(second.export_text("weather") == weather);
    }
    // Another place, or another owner, is a contradiction as before.
    CHECK_THAT(first.refusal("stations", "station,longitude_deg,latitude_deg\nHill,9.51,56\n"),
               Contains("station Hill is there already, with other content: longitude_deg is 9.5 there, here 9.51"));
    CHECK_THAT(first.refusal("stations", "station,longitude_deg,latitude_deg,owner\nHill,9.5,56,Mill\n"),
               Contains("note owner is \"Coop\" there, here \"Mill\""));
}

TEST_CASE("a column that a table does not have is no difference to what is there") {
    Farm farm;
    for (const auto& [kind, text] : tables_of_all_kinds()) farm.import_text(kind, text);
    const std::string before = farm.export_text("samples");
    const auto fewer = farm.import_text("samples", "sample,stage,kind,field\nS1,standing,point,Fen\n");
    CHECK(fewer.unchanged == 1);
    CHECK(farm.export_text("samples") == before);
    CHECK_THAT(farm.refusal("samples", "sample,stage,kind,field,mass_g\nS1,standing,point,Fen,\n"),
               Contains("mass_g is 500 there, here empty"));
    CHECK_THAT(farm.refusal("samples", "sample,stage,kind,field,colour\nS1,standing,point,Fen,\n"),
               Contains("note colour is") && Contains("here empty"));
    geo::ImportOptions mended;
    mended.correct_because = "weighed again";
    farm.import_text("samples", "sample,stage,kind,field,mass_g\nS1,standing,point,Fen,510\n", mended);
    std::string after = before;
    after.replace(after.find("500,,,risk"), 3, "510");
    CHECK(farm.export_text("samples") == after);
}

TEST_CASE("a row may name another row of its own table that stands below it") {
    Farm farm;
    farm.import_text("samples", "sample,stage,kind,field\nS1,standing,composite,Fen\n");
    const std::string header = "test,time,sample,don,unit,supersedes\n";
    const auto report = farm.import_text("tests", header +
                                                      "T3,2025-07-20T10:20:00+02:00,S1,0.5,mg/kg,T2\n"
                                                      "T2,2025-07-20T10:10:00+02:00,S1,0.6,mg/kg,T1\n"
                                                      "T5,2025-07-20T10:10:00+02:00,S1,0.6,mg/kg,T4\n"
                                                      "T1,2025-07-20T10:00:00+02:00,S1,0.7,mg/kg,\n"
                                                      "T6,2025-07-20T10:00:00+02:00,S9,0.7,mg/kg,\n");
    CHECK(report.added == 3);
    REQUIRE(report.refused.size() == 2);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("row 4, column supersedes: there is no test \"T4\""));
    CHECK_THAT(geo::to_text(report.refused[1]), Contains("row 6, column sample: there is no sample \"S9\""));
    REQUIRE(farm.store.tests().size() == 1);
    CHECK(farm.store.tests()[0].test == "T3");
}

TEST_CASE("an exported table without a row goes in again as no row") {
    Farm farm(false);
    for (const std::string& kind : geo::importable_kinds()) {
        if (kind == "fields" || kind == "limits") continue;  // which every store has
        INFO(kind);
        const std::string text = farm.export_text(kind);
        CHECK(std::count(text.begin(), text.end(), '\n') == 1);
        const auto report = farm.import_text(kind, text);
        CHECK(report.rows + report.added + report.unchanged == 0);
        CHECK(report.refused.empty());
        CHECK(report.notes.size() == 1);
    }
}

TEST_CASE("fields go out as a GeoPackage and come in again unchanged") {
    Farm farm;
    geo::export_kind(farm.store, "fields", farm.folder / "fields.gpkg");
    const auto report = geo::import_file(farm.store, "fields", farm.folder / "fields.gpkg");
    for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
    CHECK(report.unchanged == 4);
}

TEST_CASE("an outline that went out as GeoJSON is known again although it was rounded to a centimetre") {
    Folder folder;
    geo::Store store = geo::Store::create(folder / "exact.lodicule");
    // Clockwise, from another corner than the smallest, with more digits than GeoJSON keeps.
    const std::string outlines =
        R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"field":"Fen"},"geometry":)"
        R"({"type":"Polygon","coordinates":[[[9.51234567891,56.0123456789],[9.51234567891,56.0023456789],)"
        R"([9.5023456789123,56.0023456789],[9.5023456789123,56.0123456789],[9.51234567891,56.0123456789]],)"
        R"([[9.505,56.005],[9.506,56.005],[9.506,56.006],[9.505,56.005]]]}}]})";
    geo::import_file(store, "fields", folder.write("in.geojson", outlines));
    geo::export_kind(store, "fields", folder / "out.geojson");
    const std::string text = bytes_of(folder / "out.geojson");
    CHECK_THAT(text, Contains("9.5123457") && !Contains("9.51234567"));
    CHECK(text == geo::export_text(store, "fields").text);
    const auto again = geo::import_file(store, "fields", folder / "out.geojson");
    CHECK(again.unchanged == 1);
    CHECK(again.refused.empty());
    // A corner moved by two centimetres is another outline.
    std::string moved = text;
    moved.replace(moved.find("9.5023457"), 9, "9.5023460");
    const auto other = geo::import_file(store, "fields", folder.write("moved.geojson", moved));
    REQUIRE(other.refused.size() == 1);
    CHECK_THAT(geo::to_text(other.refused[0]), Contains("field Fen is there already, with other content: the outline "
                                                        "is another one"));
}

TEST_CASE("a table as text is the table as a file") {
    Farm farm;
    const geo::ExportedText exported = geo::export_text(farm.store, "crops");
    CHECK(exported.rows == 5);
    CHECK(exported.text == farm.export_text("crops"));
}

TEST_CASE("an export that cannot be written says so and leaves no half of a file") {
    Farm farm;
    CHECK_THAT(refusal_of([&] { geo::export_kind(farm.store, "crops", farm.folder / "no/such/crops.csv"); }),
               Contains("there is no folder"));
    CHECK_THAT(refusal_of([&] { geo::export_kind(farm.store, "crops", farm.folder.path()); }),
               Contains("this is a folder"));
    CHECK_THAT(refusal_of([&] { geo::export_kind(farm.store, "weeds", farm.folder / "x.csv"); }),
               Contains("no kind of table"));
    CHECK_FALSE(fs::exists(farm.folder / "x.csv"));
}

}  // namespace store_tests
