// Fields cut in zones along lines that a combine drives.
#include "app/stages/split_stage.h"

#include <cmath>
#include <filesystem>
#include <limits>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/command_line.h"
#include "app/commands/map_command.h"
#include "models/contamination/counter_random.h"
#include "tests/app/captured_output.h"
#include "tests/support/app/window_driver.h"

namespace split_stage_test {

using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

std::string said_of_split(std::vector<std::string> words, int code = 0) {
    words.insert(words.begin(),
                 {"lodicule", "map", tests::demo_store().string(), "--season", "2026", "--limit", "1.0"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    REQUIRE(app::run_command_line({app::commands::make_map_command()}, static_cast<int>(bare.size()), bare.data()) ==
            code);
    return code == 0 ? out.text() : err.text();
}

/// Field A01, 400 m from west to east and 300 m from south to north, with results of 48 single places: 0.35 mg/kg west
/// of 200 m, 2.2 east of it, and what they tell of its pattern; and A02 beside it with a single result.
class SteppedField {
 public:
    app::SeasonView view;

    SteppedField() {
        view.season = 2026;
        view.limit = models::Limit{};
        view.limit->limit_mg_per_kg = 1.0;
        view.limit->mixing = models::Mixing::forbidden;
        models::ContaminationInput input;
        models::WithinFieldStructure told;
        told.supported = true;
        models::WithinFieldStructure::Field mapped;
        mapped.mapped = true;
        models::WithinFieldPoint point{1.0, {0.9, 0.95, 150.0}, {}, {}};
        for (int i = 0; i < 2; ++i) {
            models::Field field;
            field.field = i == 0 ? "A01" : "A02";
            const double x = i == 0 ? 0.0 : 400.0, w = i == 0 ? 400.0 : 200.0;
            field.outline_m = {{{{x, 0.0}, {x + w, 0.0}, {x + w, 300.0}, {x, 300.0}}, {}}};
            field.area_ha = w * 0.03;
            view.data.fields.push_back(field);
            models::CropRecord crop;
            crop.field = field.field;
            crop.season = 2026;
            crop.yield_t_per_ha = 8.0;
            view.data.crops.push_back(crop);
            view.contamination.field_season_of.push_back(static_cast<std::size_t>(i));
            view.contamination.crop_of.push_back(static_cast<std::size_t>(i));
            view.data.outline_by_ground[{field.field, ""}] = static_cast<std::size_t>(i);
            input.field_seasons.push_back({field.field, "", 2026, -1.5});
            for (int k = 0; k < (i == 0 ? 4 : 1); ++k) {
                models::GrainSample sample;
                sample.sample = "S" + std::to_string(10 * i + k);
                sample.index = static_cast<std::size_t>(i);
                models::AssayResult result;
                result.test = "T" + std::to_string(10 * i + k);
                result.sample = input.samples.size();
                result.don_mg_per_kg = 1.2;
                input.samples.push_back(sample);
                input.results.push_back(result);
            }
        }
        for (int i = 0; i < 48; ++i) {
            models::Sample sample;
            sample.sample = (i < 10 ? "P0" : "P") + std::to_string(i);
            sample.kind = models::SampleKind::point;
            sample.field = "A01";
            sample.place_m = models::PointM{25.0 + 50.0 * (i % 8), 25.0 + 50.0 * static_cast<double>(i / 8)};
            view.data.samples.push_back(sample);
            add_test("P" + std::to_string(100 + i), i % 8 < 4 ? 0.35 : 2.2);
            point.log_content.push_back(std::log(i % 8 < 4 ? 0.35 : 2.2));
            point.error_variance.push_back(0.02);
            mapped.results.push_back(static_cast<std::size_t>(i));
        }
        mapped.points.push_back(point);
        told.by_field.push_back(mapped);
        view.evidence = told;
        app::WithinField surface;
        surface.field = "A01";
        surface.points = 48;
        surface.supported = true;
        view.within.push_back(surface);
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
    SteppedField(const SteppedField&) = delete;  // its rows point at its outlines
    SteppedField& operator=(const SteppedField&) = delete;

    /// Of the sample added last.
    void add_test(const std::string& name, double don_mg_per_kg) {
        geo::SampleJoin join;
        join.sample = view.data.samples.back().sample;
        join.field = "A01";
        join.position_fits = true;
        view.data.joined.samples.push_back(join);
        models::Test test;
        test.test = name;
        test.sample = join.sample;
        test.don_mg_per_kg = don_mg_per_kg;
        test.time = *models::parse_stamp("2026-07-20T12:00:00+02:00");
        view.data.tests.push_back(test);
    }
    app::FieldSplit split(const app::SplitSettings& how) const { return app::split_fields(view, how).fields.at(0); }
};

app::SplitSettings driven_north() {
    app::SplitSettings how;
    how.field = "A01";
    how.heading_deg = 0.0;
    how.header_m = 10.0;
    return how;
}

}  // namespace split_stage_test

TEST_CASE("a field with a step is cut along it within a header, and the sides are what they hold") {
    using namespace split_stage_test;
    const SteppedField season;
    const app::FieldSplit split = season.split(driven_north());
    INFO(split.why_not);
    REQUIRE(split.zones.size() == 2);
    const app::SplitZone &west = split.zones[0], &east = split.zones[1];
    CHECK(west.where == "west side");
    CHECK(east.where == "east side");
    CHECK_THAT(west.width_m, WithinAbs(200.0, 10.0 + 1e-9));
    CHECK_THAT(std::fmod(west.width_m + 1e-9, 10.0), WithinAbs(0.0, 1e-6));
    CHECK_THAT(west.width_m + east.width_m, WithinAbs(400.0, 1e-9));
    CHECK_THAT(west.content.area_ha + east.content.area_ha, WithinAbs(12.0, 1e-6));
    CHECK(west.use == models::ZoneUse::taken);
    CHECK(east.use == models::ZoneUse::kept_apart);
    CHECK(west.clearing.state == models::ClearingState::cleared);
    CHECK(*east.content.exceedance > 0.95);
    CHECK(split.whole_use == models::ZoneUse::kept_apart);
    // The whole field would be kept apart: what is gained is about the good side, 48 t, less 5 t for the line.
    REQUIRE(split.worth);
    CHECK_THAT(split.worth->mean, WithinAbs(43.0, 8.0));
    CHECK(split.worth->low90 <= split.worth->high90);
    CHECK(split.worth->chance_it_pays > 0.9);
    CHECK(split.notes.empty());
}

TEST_CASE("lines are along what is driven: the long side where no heading is given, and then a step across it stays") {
    using namespace split_stage_test;
    const SteppedField season;
    app::SplitSettings how = driven_north();
    how.heading_deg.reset();
    const app::FieldSplit along = season.split(how);
    CHECK_THAT(along.heading_deg, WithinAbs(90.0, 1e-6));
    CHECK(along.zones.empty());
    CHECK(along.why_not == "no division along its lines is worth what its lines cost");
    how.heading_deg = 180.0;  // there and back is one
    CHECK(season.split(how).zones.size() == 2);
}

TEST_CASE("a split is not made where it costs more than it earns, or where the field is too narrow") {
    using namespace split_stage_test;
    const SteppedField season;
    app::SplitSettings how = driven_north();
    how.line_cost = 60.0;
    CHECK(season.split(how).why_not == "no division along its lines is worth what its lines cost");
    how = driven_north();
    how.header_m = 40.0;
    how.least_headers = 6;
    CHECK(season.split(how).why_not ==
          "it is 400 m wide across the driving, and two zones of 6 headers of 40 m do not fit");
    how.least_headers = 5;
    const app::FieldSplit fits = season.split(how);
    REQUIRE(fits.zones.size() == 2);
    CHECK_THAT(fits.zones[0].width_m, WithinAbs(200.0, 1e-9));
    how = driven_north();
    how.most_zones = 1;
    CHECK(season.split(how).zones.empty());
}

TEST_CASE("a field without a surface is cut as one, and how to find out is said") {
    using namespace split_stage_test;
    SteppedField season;
    app::SplitSettings how = driven_north();
    how.field = "all";
    const app::SplitsOfSeason both = app::split_fields(season.view, how);
    REQUIRE(both.fields.size() == 2);
    CHECK(both.fields[0].zones.size() == 2);
    CHECK(both.fields[1].why_not ==
          "nothing shows where in it grain is better or worse: it has no results of single places");
    CHECK_THAT(both.fields[1].how_to_find_out, Contains("at least 10") && Contains("kind point"));
    CHECK_FALSE(both.in_money);
    // One field asked for alone is what it is among all.
    const app::FieldSplit alone = season.split(driven_north());
    CHECK(alone.worth->mean == both.fields[0].worth->mean);
    CHECK(alone.zones[0].content.content->median == both.fields[0].zones[0].content.content->median);
    season.view.within[0].supported = false;
    season.view.within[0].reason = "not supported: it does not show";
    CHECK(season.split(driven_north()).why_not ==
          "nothing shows where in it grain is better or worse (not supported: it does not show)");
    season.view.data.crops[0].yield_t_per_ha.reset();
    season.view.data.crops[1].yield_t_per_ha.reset();
    CHECK_THAT(season.split(driven_north()).why_not, Contains("its yield is not known") && Contains("--yield"));
}

TEST_CASE("worth is in money where both costs of wrong decisions are known, a line then an hour") {
    using namespace split_stage_test;
    SteppedField season;
    season.view.data.costs = {{"wrong_acceptance_per_t", 40.0}, {"wrong_rejection_per_t", 20.0}, {"hour", 30.0}};
    app::SplitsOfSeason told = app::split_fields(season.view, driven_north());
    CHECK(told.in_money);
    CHECK(told.costs.line == 30.0);
    CHECK_THAT(told.fields[0].worth->mean, WithinAbs(20.0 * 48.0 - 30.0, 200.0));
    season.view.data.costs.pop_back();
    told = app::split_fields(season.view, driven_north());
    CHECK(told.costs.line == 100.0);  // 5 t at 20
    CHECK_THAT(told.costs_in_words, Contains("each further zone 100 (5 t kept apart: ours"));
}

TEST_CASE("a mixed sample of the whole field over the limit keeps the model from clearing a zone of it") {
    using namespace split_stage_test;
    SteppedField season;
    models::Sample sample;
    sample.sample = "Q1";  // after the others by name
    sample.kind = models::SampleKind::composite;
    sample.field = "A01";
    season.view.data.samples.push_back(sample);
    season.add_test("Q1", 1.4);
    const app::FieldSplit split = season.split(driven_north());
    REQUIRE(split.zones.size() == 2);
    CHECK(split.zones[0].clearing.state == models::ClearingState::undecided);
    CHECK_THAT(split.zones[0].clearing.reason,
               Contains("of the whole field") && Contains("1.4") && Contains("a result of the zone itself decides"));
    app::SplitSettings how = driven_north();
    how.upper_cap = 0.9;
    CHECK(season.split(how).zones[1].clearing.state == models::ClearingState::over);
}

TEST_CASE("a split that cannot be asked for is refused by its option") {
    using namespace split_stage_test;
    SteppedField season;
    const auto refused = [&](auto change) {
        app::SplitSettings how = driven_north();
        change(how);
        return how;
    };
    const double nan = std::numeric_limits<double>::quiet_NaN();
    const auto asked = [&](const app::SplitSettings& how) { return app::split_fields(season.view, how); };
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.header_m = -9.0; })),
                      Contains("--header") && Contains("a header of -9 m is none") && Contains("--header 9"));
    CHECK_THROWS_WITH(asked(refused([&](auto& s) { s.header_m = nan; })), Contains("a header of nan m is none"));
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.least_headers = 0; })), Contains("at least 0 headers"));
    CHECK_THROWS_WITH(asked(refused([&](auto& s) { s.heading_deg = nan; })), Contains("a heading of nan degrees"));
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.heading_deg = 1000.0; })), Contains("--heading"));
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.most_zones = 0; })), Contains("0 zones in a field"));
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.line_cost = -1.0; })), Contains("a line that costs -1 is none"));
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.upper_cap = 0.01; })), Contains("an upper cap of 1 %"));
    CHECK_THROWS_WITH(asked(refused([&](auto& s) { s.yield_t_per_ha = nan; })), Contains("nan t/ha is no yield"));
    CHECK_THROWS_WITH(asked(refused([](auto& s) { s.field = "A1"; })),
                      Contains("season 2026 has no field \"A1\"") && Contains("A01"));
    season.view.limit.reset();
    CHECK_THROWS_WITH(asked(driven_north()), Contains("none is given") && Contains("--limit 1.0"));
    CHECK_THAT(said_of_split({"--header", "9"}, 1),
               Contains("--header speaks of how a field is split, and none is asked for") && Contains("--split all"));
    CHECK_THAT(said_of_split({"--split", "all", "--zone-format", "kml"}, 1),
               Contains("\"kml\" is no format of zones") && Contains("gpkg, geojson, shp"));
}

TEST_CASE("zones written are the fields cut without a rest, and read back they hold the same") {
    using namespace split_stage_test;
    namespace fs = std::filesystem;
    const fs::path folder = fs::temp_directory_path() / ("split_stage_" + std::to_string(::getpid()));
    for (const std::string format : {"gpkg", "geojson", "shp"}) {
        fs::remove_all(folder);
        const auto told =
            nlohmann::json::parse(said_of_split({"--split", "all", "--line-cost", "0", "--header", "6", "--out",
                                                 folder.string(), "--zone-format", format, "--json"}));
        std::vector<nlohmann::json> zones;
        for (const auto& field : told["split"]["fields"])
            for (const auto& zone : field["zones"]) zones.push_back(zone);
        REQUIRE(zones.size() >= 4);  // of the parts at least
        CHECK(fs::file_size(folder / "zones.png") > 10000);
        const auto again = nlohmann::json::parse(
            said_of_split({"--zones", (folder / ("zones." + format)).string(), "--json"}))["zones"]["zones"];
        REQUIRE(again.size() == zones.size());
        // GeoJSON has seven decimals of a degree, 1 cm: a place of 2,500 in a field may lie on the other side then.
        const double share = format == "geojson" ? 2e-3 : 1e-9;
        for (std::size_t z = 0; z < zones.size(); ++z) {
            INFO(format << ", " << zones[z]["zone"]);
            CHECK(again[z]["zone"] == zones[z]["zone"]);
            for (const char* key :
                 {"area_ha", "tonnes", "median_mg_per_kg", "mean_mg_per_kg", "low90_mg_per_kg", "high90_mg_per_kg"})
                CHECK(again[z][key].get<double>() == Approx(zones[z][key].get<double>()).epsilon(share));
            CHECK_THAT(again[z]["exceedance"].get<double>(), WithinAbs(zones[z]["exceedance"].get<double>(), share));
        }
    }
    fs::remove_all(folder);
}

TEST_CASE("parts with records of their own are zones as they are drawn") {
    using namespace split_stage_test;
    const auto told = nlohmann::json::parse(said_of_split({"--split", "C06", "--json"}));
    const auto& field = told["split"]["fields"].at(0);
    CHECK(field["by_parts"] == true);
    REQUIRE(field["zones"].size() == 2);
    int compared = 0;
    for (const auto& zone : field["zones"])
        for (const auto& row : told["fields"])
            // Zones are told without the probes of bins, and the part with them.
            if (row["field"] == zone["zone"] && row["bin_probes"].empty()) {
                ++compared;
                CHECK(zone["median_mg_per_kg"].get<double>() == Approx(row["median_mg_per_kg"].get<double>()));
                CHECK_THAT(zone["exceedance"].get<double>(), WithinAbs(row["exceedance"].get<double>(), 1e-9));
            }
    CHECK(compared == 1);  // grain of the near half lay in a probed bin
    CHECK(told["split"]["worth_unit"] == "money");
    CHECK_THAT(said_of_split({"--split", "C06"}), Contains("Zones to cut apart:") && Contains("C06, by its parts"));
    CHECK(nlohmann::json::parse(said_of_split({"--json"}))["split"].is_null());
}
