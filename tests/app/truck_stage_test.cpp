// One truck beside its field: what the map says of it.
#include "app/stages/truck_stage.h"

#include <cmath>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "app/command_line.h"
#include "app/commands/map_command.h"
#include "models/error.h"
#include "tests/app/captured_output.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;

std::string said_of_trucks(std::vector<std::string> words, int code = 0) {
    words.insert(words.begin(),
                 {"lodicule", "map", tests::demo_store().string(), "--season", "2026", "--limit", "1.0"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    REQUIRE(app::run_command_line({app::commands::make_map_command()}, static_cast<int>(bare.size()), bare.data()) ==
            code);
    return code == 0 ? out.text() : err.text();
}

/// Two fields of 10 and 3 ha in 2026, one test in the first, no yields, and nothing known of structure.
class TwoFieldSeason {
 public:
    app::SeasonView view;

    TwoFieldSeason() {
        view.season = 2026;
        view.limit = models::Limit{};
        view.limit->limit_mg_per_kg = 1.0;
        models::ContaminationInput input;
        for (int i = 0; i < 2; ++i) {
            models::Field field;
            field.field = i == 0 ? "A01" : "A02";
            const double length = i == 0 ? 400.0 : 120.0;
            field.outline_m = {{{{0.0, 0.0}, {length, 0.0}, {length, 250.0}, {0.0, 250.0}}, {}}};
            field.area_ha = length * 250.0 * 1e-4;
            view.data.fields.push_back(field);
            models::CropRecord crop;
            crop.field = field.field;
            crop.season = 2026;
            view.data.crops.push_back(crop);
            view.contamination.field_season_of.push_back(static_cast<std::size_t>(i));
            view.contamination.crop_of.push_back(static_cast<std::size_t>(i));
            input.field_seasons.push_back({field.field, "", 2026, -1.5});
        }
        models::GrainSample sample;
        sample.sample = "S1";
        input.samples.push_back(sample);
        models::AssayResult result;
        result.test = "T1";
        result.don_mg_per_kg = 0.6;
        input.results.push_back(result);
        view.contamination.input = input;
        view.contamination.model = models::fit_contamination(input);
        for (std::size_t i = 0; i < 2; ++i) {
            app::FieldView field;
            field.crop = i;
            field.name = view.data.crops[i].field;
            field.outline = &view.data.fields[i];
            field.content = view.contamination.model->field_season(i);
            field.exceedance = view.contamination.model->exceedance(i, 1.0);
            view.fields.push_back(field);
        }
    }
    TwoFieldSeason(const TwoFieldSeason&) = delete;  // its rows point at its outlines
    TwoFieldSeason& operator=(const TwoFieldSeason&) = delete;
};

}  // namespace

TEST_CASE("the map gives the chance of one truck beside that of the field's mean") {
    const auto told = nlohmann::json::parse(said_of_trucks({"--truck", "25t", "--json"}));
    CHECK(told["truck"]["tonnes"] == 25.0);
    CHECK(told["truck"]["by_structure_within_fields"] == true);
    int trucks = 0, more = 0;
    for (const auto& field : told["fields"]) {
        const auto& truck = field["truck"];
        if (truck["exceedance"].is_null()) {
            CHECK_FALSE(truck["note"].get<std::string>().empty());
            continue;
        }
        // Trucks are told without the probes of bins, and the field with them.
        if (!field["bin_probes"].empty()) continue;
        ++trucks;
        CHECK(truck["ground_ha"].get<double>() <= truck["field_ha"].get<double>());
        CHECK(truck["mean_mg_per_kg"].get<double>() == Approx(field["mean_mg_per_kg"].get<double>()).epsilon(1e-9));
        if (truck["note"] == "it all fits into one truck")
            CHECK(truck["exceedance"].get<double>() == Approx(field["exceedance"].get<double>()).epsilon(1e-9));
        // Wider by the spread inside the field, to either side.
        CHECK(truck["high90_mg_per_kg"].get<double>() >= 0.999 * field["high90_mg_per_kg"].get<double>());
        CHECK(truck["low90_mg_per_kg"].get<double>() <= 1.001 * field["low90_mg_per_kg"].get<double>());
        more += truck["exceedance"].get<double>() > field["exceedance"].get<double>() ? 1 : 0;
    }
    CHECK(trucks > 10);
    CHECK(more > 5);
    const auto plain = nlohmann::json::parse(said_of_trucks({"--json"}));
    CHECK(plain["truck"].is_null());
    CHECK(plain["fields"][0]["truck"].is_null());
}

TEST_CASE("the map's table and its explanation say what one truck may hold") {
    const std::string table = said_of_trucks({"--truck", "25"});
    CHECK_THAT(table, Contains("one truck") && Contains("one truck of 25 t from the field"));
    const std::string why = said_of_trucks({"--truck", "25", "--explain", "C02"});
    CHECK_THAT(why, Contains("the field's mean has a chance of") && Contains("one truck of 25 t ("));
    CHECK_THAT(why, Contains("How a truck differs from its field: "));
}

TEST_CASE("a truck that is none is refused by the map") {
    CHECK_THAT(said_of_trucks({"--truck", "lots"}, 1), Contains("\"lots\" is no number of tonnes"));
    CHECK_THAT(said_of_trucks({"--truck", "0"}, 1), Contains("a truck of 0 t is none"));
    CHECK_THAT(said_of_trucks({"--truck", "900"}, 1), Contains("a truck of 900 t is none"));
    CHECK_THAT(said_of_trucks({"--yield", "7"}, 1), Contains("add --truck 25"));
    CHECK_THAT(said_of_trucks({"--truck", "25", "--yield", "80"}, 1), Contains("80 t/ha is no yield of wheat"));
}

TEST_CASE("without any yield a truck has no ground and the refusal says how to mend it") {
    const TwoFieldSeason season;
    app::TruckSettings settings;
    CHECK_THROWS_WITH(app::truck_from_each_field(season.view, settings),
                      Contains("no field of 2026 has a yield") && Contains("--yield 7.5"));
    settings.yield_t_per_ha = 8.0;
    const app::TrucksFromFields trucks = app::truck_from_each_field(season.view, settings);
    REQUIRE(trucks.notes.size() == 1);
    CHECK(trucks.notes[0] == "2 fields without a yield: 8 t/ha was given for them");
    CHECK_FALSE(trucks.by_structure);
    CHECK_THAT(trucks.rests_on, Contains("patches of 0.4 ha"));
    // 25 t are 3.125 ha: a part of the first field and all of the second.
    CHECK(trucks.fields[0].truck_ha == Approx(3.125));
    CHECK(trucks.fields[0].yield_assumed);
    CHECK(*trucks.fields[0].exceedance > *season.view.fields[0].exceedance);
    CHECK(trucks.fields[1].note == "it all fits into one truck");
    CHECK(*trucks.fields[1].exceedance == Approx(*season.view.fields[1].exceedance).epsilon(1e-9));
    CHECK_THAT(app::in_words(trucks.fields[0], 25.0),
               Contains("one truck of 25 t (3.1 of its 10.0 ha, at 8.0 t/ha assumed)"));
}

TEST_CASE("the season's median yield serves the fields that do not say theirs") {
    TwoFieldSeason season;
    season.view.data.crops[1].yield_t_per_ha = 5.0;
    const app::TrucksFromFields trucks = app::truck_from_each_field(season.view, {});
    CHECK(trucks.fields[0].yield_t_per_ha == 5.0);
    CHECK(trucks.fields[0].yield_assumed);
    CHECK_FALSE(trucks.fields[1].yield_assumed);
    REQUIRE(trucks.notes.size() == 1);
    CHECK_THAT(trucks.notes[0], Contains("1 field without a yield: the season's median"));
    // Less grain a hectare fills a truck from more ground, which is nearer to the whole field.
    season.view.data.crops[1].yield_t_per_ha = 10.0;
    const app::TrucksFromFields richer = app::truck_from_each_field(season.view, {});
    CHECK(*richer.fields[0].exceedance > *trucks.fields[0].exceedance);
}

TEST_CASE("a field without an outline has no truck and says so") {
    TwoFieldSeason season;
    season.view.data.crops[0].yield_t_per_ha = season.view.data.crops[1].yield_t_per_ha = 8.0;
    season.view.fields[1].outline = nullptr;
    const app::TrucksFromFields trucks = app::truck_from_each_field(season.view, {});
    CHECK(trucks.notes.empty());
    CHECK_FALSE(trucks.fields[1].content.has_value());
    CHECK_THAT(trucks.fields[1].note, Contains("no outline"));
    CHECK(trucks.fields[0].exceedance.has_value());
}

TEST_CASE("places alike inside the fields make a truck vary by that and not by patches") {
    TwoFieldSeason season;
    season.view.data.crops[0].yield_t_per_ha = season.view.data.crops[1].yield_t_per_ha = 8.0;
    const app::TrucksFromFields patches = app::truck_from_each_field(season.view, {});
    // As if other fields of the season showed a structure of some 150 m, nearly all shared.
    models::WithinFieldStructure told;
    told.supported = true;
    models::WithinFieldStructure::Field other;
    other.field = 7;
    other.points.push_back({1.0, {0.4, 0.95, 150.0}, {}, {}});
    told.by_field.push_back(other);
    season.view.evidence = told;
    const app::TrucksFromFields alike = app::truck_from_each_field(season.view, {});
    CHECK(alike.by_structure);
    CHECK_THAT(alike.rests_on, Contains("near places are alike"));
    CHECK(*alike.fields[0].exceedance > *season.view.fields[0].exceedance);
    CHECK(alike.fields[0].content->mean == Approx(season.view.fields[0].content->mean).epsilon(1e-9));
    CHECK(*alike.fields[0].exceedance != *patches.fields[0].exceedance);
    app::TruckSettings two_threads;
    two_threads.threads = 2;
    CHECK(*app::truck_from_each_field(season.view, two_threads).fields[0].exceedance == *alike.fields[0].exceedance);
}
