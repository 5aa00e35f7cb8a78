#include "geo/export.h"

#include <set>

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
        const fs::path out = folder / (kind + ending), again = folder / (kind + "2" + ending);
        const long rows = geo::export_kind(first.store, kind, out);
        CHECK(rows > 0);
        const auto report = geo::import_file(second, kind, out);
        for (const auto& refusal : report.refused) FAIL(geo::to_text(refusal));
        CHECK(report.added + report.unchanged == rows);
        geo::export_kind(second, kind, again);
        CHECK(bytes_of(out) == bytes_of(again));
        CHECK(geo::import_file(first.store, kind, out).added == 0);
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
