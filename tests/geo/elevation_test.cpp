#include <algorithm>

#include <catch2/catch.hpp>

#include "geo/export.h"
#include "tests/geo/store_fixture.h"

using namespace store_tests;
using Catch::Matchers::Contains;

namespace {

const models::Station& station_named(const std::vector<models::Station>& stations, const std::string& name) {
    const auto found =
        std::find_if(stations.begin(), stations.end(), [&](const auto& station) { return station.station == name; });
    REQUIRE(found != stations.end());
    return *found;
}

geo::ImportOptions correcting(const char* reason) {
    geo::ImportOptions options;
    options.correct_because = reason;
    return options;
}

}  // namespace

TEST_CASE("the elevation of a station comes from its own table and goes out as it came in") {
    Farm farm;
    const std::string table =
        "station,longitude_deg,latitude_deg,elevation_m,owner\nHill,9.5,56,212.50,Coop\nDale,9.52,56,,\n";
    const auto report = farm.import_text("stations", table);
    CHECK(report.added == 2);
    for (const std::string& note : report.notes) CHECK_THAT(note, !Contains("elevation_m"));
    const auto stations = farm.store.stations();
    CHECK(station_named(stations, "Hill").elevation_m == 212.5);
    CHECK_FALSE(station_named(stations, "Dale").elevation_m.has_value());
    CHECK_THAT(farm.export_text("stations"), Contains("station,longitude_deg,latitude_deg,elevation_m,owner\n") &&
                                                 Contains("Hill,9.5,56,212.50,Coop"));
    CHECK(farm.import_text("stations", table).unchanged == 2);
    // The other is told later, the first corrected.
    CHECK(farm.import_text("stations", "station,longitude_deg,latitude_deg,elevation_m\nDale,9.52,56,64\n")
              .refused.empty());
    CHECK(station_named(farm.store.stations(), "Dale").elevation_m == 64.0);
    const std::string other = "station,longitude_deg,latitude_deg,elevation_m\nHill,9.5,56,221\n";
    CHECK_THAT(farm.refusal("stations", other), Contains("note elevation_m is \"212.50\" there, here \"221\""));
    farm.import_text("stations", other, correcting("levelled again"));
    CHECK(station_named(farm.store.stations(), "Hill").elevation_m == 221.0);
    CHECK_THAT(farm.export_text("stations"), Contains("Hill,9.5,56,221,Coop"));
}

TEST_CASE("an elevation that is none is refused in words") {
    Farm farm;
    const std::string header = "station,longitude_deg,latitude_deg,elevation_m\n";
    CHECK_THAT(farm.refusal("stations", header + "Hill,9.5,56,high\n"), Contains("column elevation_m"));
    CHECK_THAT(farm.refusal("stations", header + "Hill,9.5,56,21200\n"),
               Contains("column elevation_m") && Contains("6000"));
    CHECK(farm.store.stations().empty());
    const std::string weather =
        "station,longitude_deg,latitude_deg,elevation_m,time,temperature_degc,relative_humidity_pct\n";
    CHECK_THAT(farm.refusal("weather", weather + "Hill,9.5,56,9000,2025-06-10T12:00:00+02:00,18,80\n"),
               Contains("an elevation of 9000 m lies under or over all farmed ground"));
    const auto moved = farm.import_text("weather", weather +
                                                       "Hill,9.5,56,120,2025-06-10T12:00:00+02:00,18,80\n"
                                                       "Hill,9.5,56,320,2025-06-10T13:00:00+02:00,18,80\n");
    CHECK(moved.added == 1);
    REQUIRE(moved.refused.size() == 1);
    CHECK_THAT(geo::to_text(moved.refused[0]), Contains("the station stood at 120 m above the sea in earlier rows"));
}

TEST_CASE("the elevation of a station comes with its weather and is added to a station that is there") {
    Farm farm;
    const std::string header =
        "station,longitude_deg,latitude_deg,elevation_m,time,temperature_degc,relative_humidity_pct\n";
    farm.import_text("weather", header + "Hill,9.5,56,120,2025-06-10T12:00:00+02:00,18,80\n");
    CHECK(station_named(farm.store.stations(), "Hill").elevation_m == 120.0);
    farm.import_text("stations", "station,longitude_deg,latitude_deg,owner\nDale,9.52,56,Mill\n");
    const auto later = farm.import_text(
        "weather",
        "station,elevation_m,time,temperature_degc,relative_humidity_pct\nDale,64,2025-06-10T12:00:00+02:00,18,80\n");
    CHECK(later.refused.empty());
    CHECK(station_named(farm.store.stations(), "Dale").elevation_m == 64.0);
    CHECK_THAT(farm.export_text("stations"), Contains("Dale,9.52,56,64,Mill"));
    // Weather without elevations takes none away.
    farm.import_text("weather",
                     "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n"
                     "Hill,9.5,56,2025-06-11T12:00:00+02:00,18,80\n");
    CHECK(station_named(farm.store.stations(), "Hill").elevation_m == 120.0);
    // A corrected one is told, though no hour is new.
    geo::ImportOptions mended;
    mended.correct_because = "read from the map";
    const auto corrected = farm.import_text(
        "weather",
        "station,elevation_m,time,temperature_degc,relative_humidity_pct\nDale,66,2025-06-10T12:00:00+02:00,18,80\n",
        mended);
    CHECK(station_named(farm.store.stations(), "Dale").elevation_m == 66.0);
    CHECK(std::count(corrected.notes.begin(), corrected.notes.end(), "station Dale now stands at 66 m") == 1);
}

TEST_CASE("outlines that come again with an elevation say how it is added and keep what they do not tell") {
    Farm farm;
    const auto outlines = [](const std::string& more) {
        return R"({"type":"FeatureCollection","features":[)" +
               square(R"("field":"Mill Piece")" + more, 9.52, 56.0, 0.01) + "," +
               square(R"("field":"Long Acre")" + more, 9.5, 56.0, 0.01) + "]}";
    };
    const auto import_outlines = [&](const std::string& text, const geo::ImportOptions& options = {}) {
        return geo::import_file(farm.store, "fields", farm.folder.write("again.geojson", text), options);
    };
    // The names, the grower and the soil that this file does not have are no difference.
    CHECK(import_outlines(outlines("")).unchanged == 2);
    const auto refused = import_outlines(outlines(R"(,"elevation_m":40)"));
    REQUIRE(refused.refused.size() == 2);
    CHECK_THAT(geo::to_text(refused.refused[0]),
               Contains("field Mill Piece is there already and less was said of it: note elevation_m is empty there, "
                        "here \"40\"") &&
                   Contains("to add it, import the same file with a reason, such as --correct \"more is known\"; what "
                            "the file does not tell stays as it is"));
    const auto added = import_outlines(outlines(R"(,"elevation_m":40)"), correcting("more is known"));
    CHECK(added.corrected == 2);
    const auto fields = farm.store.fields();
    const auto field = std::find_if(fields.begin(), fields.end(),
                                    [](const auto& one) { return one.field == "Long Acre" && one.part.empty(); });
    REQUIRE(field != fields.end());
    CHECK(field->elevation_m == 40.0);
    CHECK_THAT(farm.export_text("fields"),
               Contains("Long Acre by the lane") && Contains("Ada Holt") && Contains("loam"));
    CHECK_THAT(geo::to_text(import_outlines(outlines(R"(,"elevation_m":44)")).refused.at(0)),
               Contains("is there already, with other content: note elevation_m is \"40\" there, here \"44\"") &&
                   Contains("if this is a correction, give its reason (--correct REASON)"));
}

TEST_CASE("the elevation of a field is an attribute of its outline under our name or the file's") {
    Folder folder;
    geo::Store store = geo::Store::create(folder / "heights.lodicule");
    const std::string outlines = R"({"type":"FeatureCollection","features":[)" +
                                 square(R"("field":"Fen","Elevation_m":12.5,"hoehe":"40")", 9.54, 56.0, 0.008) + "," +
                                 square(R"("field":"Lea","hoehe":"38")", 9.56, 56.0, 0.008) + "," +
                                 square(R"("field":"Top","elevation_m":"steep")", 9.58, 56.0, 0.008) + "]}";
    const auto report = geo::import_file(store, "fields", folder.write("outlines.geojson", outlines));
    CHECK(report.added == 2);
    REQUIRE(report.refused.size() == 1);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("\"steep\""));
    const auto fields = store.fields();
    REQUIRE(fields.size() == 2);
    CHECK(fields[0].elevation_m == 12.5);
    CHECK_FALSE(fields[1].elevation_m.has_value());

    geo::Store renamed = geo::Store::create(folder / "renamed.lodicule");
    geo::ImportOptions options;
    options.column_map = folder.write("heights.toml", "[columns]\nelevation_m = \"hoehe\"\n").string();
    const std::string lea = R"({"type":"FeatureCollection","features":[)" +
                            square(R"("field":"Lea","hoehe":"38")", 9.56, 56.0, 0.008) + "]}";
    CHECK(geo::import_file(renamed, "fields", folder.write("lea.geojson", lea), options).added == 1);
    CHECK(renamed.fields()[0].elevation_m == 38.0);
}
