// What areas drawn on the map hold.
#include "app/stages/zone_stage.h"

#include <cmath>
#include <map>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "app/command_line.h"
#include "app/commands/map_command.h"
#include "tests/app/captured_output.h"
#include "tests/app/demo_tables.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;

std::string said_of_zones(std::vector<std::string> words, int code = 0) {
    words.insert(words.begin(),
                 {"lodicule", "map", tests::demo_store().string(), "--season", "2026", "--limit", "1.0"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    REQUIRE(app::run_command_line({app::commands::make_map_command()}, static_cast<int>(bare.size()), bare.data()) ==
            code);
    return code == 0 ? out.text() : err.text();
}

models::OutlineM zone_box(double x0, double y0, double x1, double y1) {
    return {{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {}}};
}

/// Fields A01 and A02 of 12 and 6 ha side by side, each with a test, and yields of 8 and 4 t/ha.
class NeighbourFields {
 public:
    app::SeasonView view;

    NeighbourFields() {
        view.season = 2026;
        view.limit = models::Limit{};
        view.limit->limit_mg_per_kg = 1.0;
        models::ContaminationInput input;
        for (int i = 0; i < 2; ++i) {
            models::Field field;
            field.field = i == 0 ? "A01" : "A02";
            field.outline_m = i == 0 ? zone_box(0.0, 0.0, 400.0, 300.0) : zone_box(400.0, 0.0, 600.0, 300.0);
            field.area_ha = i == 0 ? 12.0 : 6.0;
            view.data.fields.push_back(field);
            models::CropRecord crop;
            crop.field = field.field;
            crop.season = 2026;
            crop.yield_t_per_ha = i == 0 ? 8.0 : 4.0;
            view.data.crops.push_back(crop);
            view.contamination.field_season_of.push_back(static_cast<std::size_t>(i));
            view.contamination.crop_of.push_back(static_cast<std::size_t>(i));
            input.field_seasons.push_back({field.field, "", 2026, -1.5});
            models::GrainSample sample;
            sample.sample = "S" + std::to_string(i);
            sample.index = static_cast<std::size_t>(i);
            input.samples.push_back(sample);
            models::AssayResult result;
            result.test = "T" + std::to_string(i);
            result.sample = static_cast<std::size_t>(i);
            result.don_mg_per_kg = i == 0 ? 0.4 : 1.6;
            input.results.push_back(result);
        }
        view.contamination.input = input;
        view.contamination.model = models::fit_contamination(input);
        for (std::size_t i = 0; i < 2; ++i) {
            app::FieldView field;
            field.crop = i;
            field.name = view.data.crops[i].field;
            field.outline = &view.data.fields[i];
            field.content = view.contamination.model->field_season(i);
            view.fields.push_back(field);
        }
    }
    NeighbourFields(const NeighbourFields&) = delete;  // its rows point at its outlines
    NeighbourFields& operator=(const NeighbourFields&) = delete;
};

}  // namespace

TEST_CASE("a zone drawn as a whole field has the field's number") {
    const auto outlines = tests::demo_data::folder() / "fields.geojson";
    const auto told = nlohmann::json::parse(said_of_zones({"--zones", outlines.string(), "--json"}));
    std::map<std::string, nlohmann::json> fields;
    for (const auto& field : told["fields"]) fields[field["field"]] = field;
    int compared = 0;
    for (const auto& zone : told["zones"]["zones"]) {
        if (zone["fields"].size() != 1 || zone["fields"][0]["share_of_field"].get<double>() < 0.999) continue;
        const auto& field = fields.at(zone["fields"][0]["field"].get<std::string>());
        // Zones are told without the probes of bins, and the field with them.
        if (!field["bin_probes"].empty()) continue;
        CHECK(zone["exceedance"].get<double>() == Approx(field["exceedance"].get<double>()).epsilon(1e-9));
        CHECK(zone["median_mg_per_kg"].get<double>() == Approx(field["median_mg_per_kg"].get<double>()).epsilon(1e-9));
        ++compared;
    }
    CHECK(compared > 15);
    CHECK(nlohmann::json::parse(said_of_zones({"--json"}))["zones"].is_null());
    CHECK_THAT(said_of_zones({"--zones", outlines.string()}), Contains("Zones:") && Contains("each zone's grain"));
}

TEST_CASE("a zone of two fields holds their grain by area and yield") {
    const NeighbourFields season;
    // A quarter of the first (3 ha, 24 t) and half of the second (3 ha, 12 t).
    const app::ZonesOfSeason told =
        app::contents_of_zones(season.view, {{"middle", zone_box(300.0, 0.0, 500.0, 300.0)}}, {});
    const app::ZoneContent& zone = told.zones.at(0);
    REQUIRE(zone.fields.size() == 2);
    CHECK(zone.fields[0].share_of_field == Approx(0.25).margin(0.01).epsilon(0.0));
    CHECK(zone.fields[1].share_of_field == Approx(0.5).margin(0.02).epsilon(0.0));
    CHECK(zone.area_ha == Approx(6.0));
    CHECK(*zone.tonnes == Approx(36.0).epsilon(0.03));
    const double share = 24.0 / 36.0;
    CHECK(zone.content->mean ==
          Approx(share * season.view.fields[0].content->mean + (1.0 - share) * season.view.fields[1].content->mean)
              .epsilon(0.02));
    CHECK(zone.note.empty());
}

TEST_CASE("a zone where structure is supported has what its own places say") {
    NeighbourFields season;
    // Placed results of field A01 rise eastward.
    models::WithinFieldStructure told;
    told.supported = true;
    models::WithinFieldStructure::Field mapped;
    models::WithinFieldPoint point{1.0, {0.5, 0.95, 150.0}, {}, {}};
    for (int i = 0; i < 48; ++i) {
        models::Sample sample;
        sample.sample = (i < 10 ? "P0" : "P") + std::to_string(i);
        sample.kind = models::SampleKind::point;
        sample.field = "A01";
        sample.place_m = models::PointM{25.0 + 50.0 * (i % 8), 25.0 + 50.0 * static_cast<double>(i / 8)};
        season.view.data.samples.push_back(sample);
        geo::SampleJoin join;
        join.sample = sample.sample;
        join.field = "A01";
        join.position_fits = true;
        season.view.data.joined.samples.push_back(join);
        models::Test test;
        test.test = "P" + std::to_string(100 + i);
        test.sample = sample.sample;
        test.don_mg_per_kg = std::exp(-1.5 + 0.2 * (i % 8));
        test.time = *models::parse_stamp("2026-07-20T12:00:00+02:00");
        season.view.data.tests.push_back(test);
        point.log_content.push_back(std::log(test.don_mg_per_kg));
        point.error_variance.push_back(0.02);
        mapped.results.push_back(static_cast<std::size_t>(i));
    }
    season.view.data.outline_by_ground[{"A01", ""}] = 0;
    mapped.points.push_back(point);
    told.by_field.push_back(mapped);
    const std::vector<app::DrawnZone> halves = {{"west", zone_box(0.0, 0.0, 200.0, 300.0)},
                                                {"east", zone_box(200.0, 0.0, 400.0, 300.0)}};
    const app::ZonesOfSeason plain = app::contents_of_zones(season.view, halves, {});
    CHECK_FALSE(plain.by_structure);
    const double field = season.view.fields[0].content->mean;
    CHECK(plain.zones[0].content->mean == Approx(field).epsilon(1e-9));
    CHECK(plain.zones[1].content->mean == Approx(field).epsilon(1e-9));
    season.view.evidence = told;
    const app::ZonesOfSeason seen = app::contents_of_zones(season.view, halves, {});
    CHECK(seen.by_structure);
    CHECK(seen.zones[1].content->mean > 1.5 * seen.zones[0].content->mean);
    CHECK(*seen.zones[1].exceedance > *seen.zones[0].exceedance);
    // Both halves together are the field.
    CHECK(0.5 * (seen.zones[0].content->mean + seen.zones[1].content->mean) == Approx(field).epsilon(0.02));
}

TEST_CASE("a zone outside every field says so and one partly outside says how much") {
    const NeighbourFields season;
    const app::ZonesOfSeason told = app::contents_of_zones(
        season.view, {{"far", zone_box(5000.0, 0.0, 5100.0, 100.0)}, {"edge", zone_box(-200.0, 0.0, 200.0, 300.0)}},
        {});
    CHECK_FALSE(told.zones[0].content.has_value());
    CHECK(told.zones[0].note == "it lies in no field of the season with a number");
    CHECK(told.zones[1].note == "50 % of it lies in no such field");
    CHECK(told.zones[1].content.has_value());
}

TEST_CASE("zones in a file that is none are refused by its name") {
    CHECK_THAT(said_of_zones({"--zones", "/nowhere/zones.gpkg"}, 1), Contains("zones.gpkg"));
}
