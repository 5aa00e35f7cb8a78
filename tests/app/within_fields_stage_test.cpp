#include "app/stages/within_fields_stage.h"

#include <cmath>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "app/command_line.h"
#include "app/commands/map_command.h"
#include "tests/app/captured_output.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;

std::string said_by_map(std::vector<std::string> words) {
    words.insert(words.begin(),
                 {"lodicule", "map", tests::demo_store().string(), "--season", "2026", "--limit", "1.0"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    REQUIRE(app::run_command_line({app::commands::make_map_command()}, static_cast<int>(bare.size()), bare.data()) ==
            0);
    return out.text();
}

/// How the map refuses what cannot go together.
std::string refused_by_map(std::vector<std::string> words) {
    words.insert(words.begin(),
                 {"lodicule", "map", tests::demo_store().string(), "--season", "2024", "--limit", "1.0"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    CHECK(app::run_command_line({app::commands::make_map_command()}, static_cast<int>(bare.size()), bare.data()) == 1);
    return err.text();
}

/// One field of 300 x 300 m in 2026, sampled on a lattice of 7 x 7 places whose contents fall from west to east.
class LatticeField {
 public:
    app::SeasonData data;

    LatticeField() {
        models::Field field;
        field.field = "A01";
        field.outline_m = {{{{0.0, 0.0}, {300.0, 0.0}, {300.0, 300.0}, {0.0, 300.0}}, {}}};
        data.fields = {field};
        data.outline_by_ground[{"A01", ""}] = 0;
        for (int i = 0; i < 49; ++i) {
            models::Sample sample;
            sample.sample = name_of(i);
            sample.kind = models::SampleKind::point;
            sample.field = "A01";
            sample.place_m = models::PointM{20.0 + 43.0 * (i % 7), 20.0 + 43.0 * static_cast<double>(i / 7)};
            data.samples.push_back(sample);
            geo::SampleJoin join;
            join.sample = sample.sample;
            join.field = "A01";
            join.position_fits = true;
            data.joined.samples.push_back(join);
            // Some scatter of its own: every place differs a little from its column.
            add_test(i, std::exp(0.8 - 0.4 * (i % 7) + 0.1 * ((i * 29) % 7 - 3)));
        }
    }
    /// Samples stand in the order of their names.
    static std::string name_of(int sample) { return (sample < 10 ? "S0" : "S") + std::to_string(sample); }
    void add_test(int sample, double don_mg_per_kg, models::Reading reading = models::Reading::value) {
        models::Test test;
        test.test = "T" + std::to_string(data.tests.size());
        test.sample = name_of(sample);
        test.reading = reading;
        test.don_mg_per_kg = don_mg_per_kg;
        test.time = *models::parse_stamp("2026-07-20T12:00:00+02:00");
        data.tests.push_back(test);
    }
    app::WithinFields look() const {
        app::ContaminationSettings settings;
        settings.season = 2026;
        return app::maps_within_fields(data, settings);
    }
};

}  // namespace

TEST_CASE("the map command says how strong the evidence on structure is and how well places foretell one another") {
    const std::string text = said_by_map({});
    CHECK_THAT(text, Contains("Structure within fields: supported: 8"));  // 85 places in two fields
    CHECK_THAT(text, Contains("to 1 that near") && Contains("skill") && Contains("C02 (60 places)"));
    const auto json = nlohmann::json::parse(said_by_map({"--json"}))["structure_within_fields"];
    CHECK(json["supported"] == true);
    CHECK(json["results"] == 85);
    CHECK(json["evidence_ratio"] > 3.0);
    CHECK(json["leave_one_out_skill"] > 0.0);
    CHECK(json["range_m"]["low90"] < json["range_m"]["high90"]);
    for (const auto& field : json["fields"]) CHECK(field["surface"] == (field["field"] == "C02"));
}

TEST_CASE("tests of one sample count as one placed result and those below range count as what they are") {
    LatticeField field;
    const app::WithinFields once = field.look();
    CHECK(once.structure.results == 49);
    CHECK(once.structure.bounds == 0);
    REQUIRE(once.fields.size() == 1);
    CHECK(once.fields[0].supported);
    for (int i = 0; i < 49; ++i) field.add_test(i, field.data.tests[static_cast<std::size_t>(i)].don_mg_per_kg);
    const app::WithinFields twice = field.look();
    CHECK(twice.structure.results == 49);
    // A third of the places at the low end of the range.
    LatticeField low;
    for (models::Test& test : low.data.tests) {
        if (test.don_mg_per_kg >= 0.4) continue;
        test.reading = models::Reading::below;
        test.don_mg_per_kg = 0.4;
    }
    const app::WithinFields censored = low.look();
    CHECK(censored.structure.results == 49);
    CHECK(censored.structure.bounds > 10);
    REQUIRE(censored.fields.size() == 1);
    REQUIRE(censored.fields[0].supported);
    // The surface falls where nothing could be read, below the end of the range.
    const app::WithinField& surface = censored.fields[0];
    const int middle = surface.grid.rows / 2;
    CHECK(surface.median_mg_per_kg(middle, surface.grid.columns - 4) < 0.35);
    CHECK(surface.median_mg_per_kg(middle, 3) > 1.2);
}

TEST_CASE("a season without placed results says so and its fields carry their mean") {
    app::ContaminationSettings settings;
    settings.season = 2026;
    const app::WithinFields none = app::maps_within_fields({}, settings);
    const app::StructureSentence said = app::structure_of(none);
    CHECK_FALSE(said.supported);
    CHECK(said.reason ==
          "not supported: no field has enough placed results to show structure within it; fields carry their mean");
}

TEST_CASE("the map as of a day refuses hindsight and maps and days that are not over") {
    CHECK_THAT(refused_by_map({"--as-of", "2024-06-25", "--hindsight"}),
               Contains("what came later is known with hindsight, and unknown as of a day"));
    CHECK_THAT(refused_by_map({"--as-of", "2024-06-25", "--out", "nowhere"}), Contains("leave one of the two away"));
    CHECK_THAT(refused_by_map({"--as-of", "2999-01-01"}),
               Contains("what is known at the end of 2999-01-01 is not known yet"));
    CHECK_THAT(refused_by_map({"--as-of", "June"}), Contains("\"June\" is no date"));
}
