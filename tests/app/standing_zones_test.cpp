// Zones of fields that are still to be cut, in a plan of bins ahead.
#include "app/stages/standing_zones.h"

#include <cmath>
#include <filesystem>
#include <fstream>
#include <map>
#include <string>
#include <vector>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/command_line.h"
#include "app/commands/bins_command.h"
#include "models/contamination/grain_of_field.h"
#include "tests/app/captured_output.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;

models::OutlineM zone_of(double x0, double y0, double x1, double y1) {
    return {{{{x0, y0}, {x1, y0}, {x1, y1}, {x0, y1}}, {}}};
}

/// A01 of 12 ha and 8 t/ha beside A02 of 6 ha and 4 t/ha, both standing, each with a composite sample; a food bin S
/// under 1.0 mg/kg and a bin H to hold, with room for all.
struct StandingSeason {
    app::SeasonData data;
    app::ContaminationView view;
    app::BinsSettings settings;

    explicit StandingSeason(double don_of_a01 = 0.4) {
        settings.season = 2026;
        settings.ahead = true;
        settings.draws = 4000;
        data.seasons = {2026};
        models::Limit limit;
        limit.limit_id = "food";
        limit.limit_mg_per_kg = 1.0;
        limit.mixing = models::Mixing::forbidden;
        limit.from = models::day_of(2026, 1, 1);
        data.limits.push_back(limit);
        for (const char* name : {"S", "H"}) {
            models::Bin bin;
            bin.bin = name;
            bin.capacity_t = 500.0;
            bin.purpose = *name == 'S' ? models::Purpose::food : models::Purpose::hold;
            bin.limit_id = *name == 'S' ? "food" : "";
            data.bins.push_back(bin);
        }
        for (std::size_t i = 0; i < 2; ++i) {
            models::Field field;
            field.field = i == 0 ? "A01" : "A02";
            field.outline_m = i == 0 ? zone_of(0.0, 0.0, 400.0, 300.0) : zone_of(400.0, 0.0, 600.0, 300.0);
            field.area_ha = i == 0 ? 12.0 : 6.0;
            data.outline_by_ground[{field.field, ""}] = i;
            data.fields.push_back(field);
            models::CropRecord crop;
            crop.field = field.field;
            crop.season = 2026;
            crop.yield_t_per_ha = i == 0 ? 8.0 : 4.0;
            crop.expected_cut_date = models::day_of(2026, 7, i == 0 ? 20U : 25U);
            data.crops_by_field[crop.field].push_back(i);
            data.crops.push_back(crop);
            models::Sample taken;
            taken.sample = "S" + std::to_string(i);
            taken.kind = models::SampleKind::composite;
            taken.field = field.field;
            data.samples.push_back(taken);
            models::Test test;
            test.test = "T" + std::to_string(i);
            test.sample = taken.sample;
            test.don_mg_per_kg = i == 0 ? don_of_a01 : 1.6;
            test.time = *models::parse_stamp("2026-07-10T12:00:00+02:00");
            data.tests.push_back(test);
            view.field_season_of.push_back(i);
            view.crop_of.push_back(i);
            view.input.field_seasons.push_back({field.field, "", 2026, -1.5});
            models::GrainSample sample;
            sample.sample = taken.sample;
            sample.index = i;
            view.input.samples.push_back(sample);
            models::AssayResult result;
            result.test = test.test;
            result.sample = i;
            result.don_mg_per_kg = test.don_mg_per_kg;
            view.input.results.push_back(result);
        }
        view.model = models::fit_contamination(view.input);
    }

    app::BinsView plan(std::vector<app::DrawnZone> zones) {
        settings.zones = std::move(zones);
        return app::bins_of_season(data, view, settings);
    }
    /// The pieces with what they are against their field.
    std::vector<app::StandingGrain> pieces(std::vector<app::DrawnZone> zones) {
        settings.zones = std::move(zones);
        const app::Moistures moistures(data);
        app::BinsView out;
        return app::cut_in_zones(app::standing_grain(data, view, 2026, moistures), data, view, settings, out);
    }
};

/// Tonnes of each piece of grain of the plan, "zone west" by its kind and name.
std::map<std::string, double> tonnes_of(const app::BinsView& view) {
    std::map<std::string, double> all;
    for (const models::Assignment& a : view.plan.assignments) all[models::in_words(a.kind) + " " + a.name] += a.mass_t;
    for (const models::UnplacedGrain& u : view.plan.unplaced) all[models::in_words(u.kind) + " " + u.name] += u.mass_t;
    return all;
}

bool noted(const app::BinsView& view, const std::string& words) {
    for (const std::string& note : view.notes)
        if (note.find(words) != std::string::npos) return true;
    return false;
}

std::string bins_of_demo(std::vector<std::string> words, int code) {
    words.insert(words.begin(), {"lodicule", "bins", tests::demo_store().string(), "--season", "2026"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    REQUIRE(app::run_command_line({app::commands::make_bins_command()}, static_cast<int>(bare.size()), bare.data()) ==
            code);
    return code == 0 ? out.text() : err.text();
}

const std::vector<app::DrawnZone> west_and_middle = {{"west", zone_of(0.0, 0.0, 100.0, 300.0)},
                                                     {"middle", zone_of(100.0, 0.0, 300.0, 300.0)}};

}  // namespace

TEST_CASE("a field with zones in it is planned as them and its rest and none of its tonnes are lost") {
    StandingSeason season;
    const app::BinsView plan = season.plan(west_and_middle);
    const std::map<std::string, double> tonnes = tonnes_of(plan);
    REQUIRE(tonnes.size() == 4);
    // Ground is measured by 23 x 17 cells with 25 places each, no two of a cell in one line: between two edges across
    // the field one of 575 lines of 0.17 t may be missed or counted too much.
    CHECK(tonnes.at("zone west") == Approx(24.0).epsilon(0.0).margin(0.3));
    CHECK(tonnes.at("zone middle") == Approx(48.0).epsilon(0.0).margin(0.3));
    CHECK(tonnes.at("zone A01, rest") == Approx(24.0).epsilon(0.0).margin(0.3));
    CHECK(tonnes.at("zone west") + tonnes.at("zone middle") + tonnes.at("zone A01, rest") ==
          Approx(96.0).epsilon(0.0).margin(1e-9));
    CHECK(tonnes.at("field A02") == Approx(24.0).epsilon(0.0).margin(1e-9));
    CHECK(plan.standing == std::vector<std::string>{"west", "middle", "A01, rest", "A02"});
    REQUIRE(plan.zones.size() == 3);
    CHECK(plan.zones[2].zone == "A01, rest");
    CHECK(plan.zones[2].field == "A01");
    CHECK(plan.zones[2].share_of_field == Approx(0.25).epsilon(0.0).margin(0.003));
    CHECK(
        noted(plan, "A01 is cut in 3 pieces: west (25 %), middle (50 %), A01, rest (25 %); results of its composite"));
    CHECK(tonnes_of(season.plan({})).count("field A01") == 1);
}

TEST_CASE("pieces of a field have its mean in every draw and each varies as the law of its ground says") {
    StandingSeason season;
    const auto pieces = season.pieces(west_and_middle);
    REQUIRE(pieces.size() == 4);
    const Eigen::MatrixXd drawn = season.view.model->draws(season.settings.draws, season.settings.seed);
    Eigen::VectorXd together = Eigen::VectorXd::Zero(drawn.rows());
    for (int k = 0; k < 3; ++k) together += pieces[k].grain.mass_t / 96.0 * pieces[k].relative;
    CHECK((together.array() - 1.0).abs().maxCoeff() < 1e-9);
    CHECK(pieces[3].relative.size() == 0);  // A02 is as it was
    // The law of grain of a quarter of the field has a closed form; 4000 draws know a chance to 0.8 %.
    models::GrainFromField from;
    from.field_ha = 12.0;
    from.share_of_field = 0.25;
    const models::GrainLaw law = models::law_of_grain(season.view.model->fields_together({0}), {from});
    for (const double limit : {0.3, 0.5, 0.8}) {
        const auto over = (drawn.col(0).array() * pieces[0].relative.array() > limit).count();
        CHECK(static_cast<double>(over) / 4000.0 == Approx(law.exceedance(limit)).epsilon(0.0).margin(0.024));
    }
    // No structure is known: no piece is better than another.
    for (int k = 0; k < 3; ++k) CHECK(pieces[k].relative.mean() == Approx(1.0).epsilon(0.0).margin(0.02));
    CHECK((pieces[0].relative.array() - 1.0).abs().maxCoeff() > 0.1);
}

TEST_CASE("results of a field's composite count for each of its zones") {
    StandingSeason season(1.8);
    const app::BinsView plan = season.plan(west_and_middle);
    int over = 0;
    for (const models::UnplacedGrain& u : plan.plan.unplaced)
        if (u.kind == models::GrainKind::zone) {
            CHECK(u.state == models::ClearingState::over);
            CHECK_THAT(u.reason, Contains("1.8"));
            ++over;
        }
    for (const models::Assignment& a : plan.plan.assignments)
        if (a.kind == models::GrainKind::zone) {
            CHECK(a.bin == "H");
            CHECK_THAT(a.reason, Contains("1.8"));
            ++over;
        }
    CHECK(over == 3);
    // That of a single place says what it says to the model alone.
    season.data.samples[0].kind = models::SampleKind::point;
    const app::BinsView by_model = season.plan(west_and_middle);
    for (const models::Assignment& a : by_model.plan.assignments)
        if (a.name == "west") CHECK_THAT(a.reason, !Contains("own strip"));
    CHECK_FALSE(noted(by_model, "results of its composite samples"));
}

TEST_CASE("zones where structure is supported have what their own places say") {
    StandingSeason season;
    models::WithinFieldStructure told;
    told.supported = true;
    models::WithinFieldStructure::Field mapped;
    models::WithinFieldPoint point{1.0, {0.5, 0.95, 150.0}, {}, {}};
    for (int i = 0; i < 48; ++i) {  // they rise eastward
        models::Sample sample;
        sample.sample = (i < 10 ? "X0" : "X") + std::to_string(i);
        sample.kind = models::SampleKind::point;
        sample.field = "A01";
        sample.place_m = models::PointM{25.0 + 50.0 * (i % 8), 25.0 + 50.0 * static_cast<double>(i / 8)};
        season.data.samples.push_back(sample);
        geo::SampleJoin join;
        join.sample = sample.sample;
        join.field = "A01";
        join.position_fits = true;
        if (i == 0) season.data.joined.samples.resize(2);
        season.data.joined.samples.push_back(join);
        models::Test test;
        test.test = "X" + std::to_string(100 + i);
        test.sample = sample.sample;
        test.don_mg_per_kg = std::exp(-1.5 + 0.2 * (i % 8));
        test.time = *models::parse_stamp("2026-07-20T12:00:00+02:00");
        season.data.tests.push_back(test);
        point.log_content.push_back(std::log(test.don_mg_per_kg));
        point.error_variance.push_back(0.02);
        mapped.results.push_back(static_cast<std::size_t>(i));
    }
    mapped.points.push_back(point);
    told.by_field.push_back(mapped);
    season.settings.structure = told;
    const auto pieces = season.pieces({{"west half", zone_of(0.0, 0.0, 200.0, 300.0)}});
    REQUIRE(pieces.size() == 3);
    CHECK(pieces[1].grain.name == "A01, rest");
    CHECK(pieces[1].relative.mean() > 1.5 * pieces[0].relative.mean());
    CHECK((0.5 * (pieces[0].relative + pieces[1].relative).array() - 1.0).abs().maxCoeff() < 0.02);
}

TEST_CASE("loads that name their zone are taken off that zone") {
    StandingSeason season;
    models::Load load;
    load.load = "L1";
    load.net_t = 10.0;
    load.time = *models::parse_stamp("2026-07-12T12:00:00+02:00");
    load.status = models::LoadStatus::turned_away;
    load.parts.push_back({"A01", "", "west", 1.0});
    season.data.load_by_name["L1"] = 0;
    season.data.loads.push_back(load);
    season.view.load_of.push_back(std::nullopt);
    auto pieces = season.pieces(west_and_middle);
    CHECK(pieces[0].grain.mass_t == Approx(14.0).epsilon(0.0).margin(0.3));
    CHECK(pieces[1].grain.mass_t == Approx(48.0).epsilon(0.0).margin(0.3));
    // Of a load that names none, each gives its share.
    season.data.loads[0].parts[0].zone.clear();
    pieces = season.pieces(west_and_middle);
    CHECK(pieces[0].grain.mass_t == Approx(21.5).epsilon(0.0).margin(0.3));
    CHECK(pieces[1].grain.mass_t == Approx(43.0).epsilon(0.0).margin(0.3));
    CHECK(noted(season.plan(west_and_middle), "10.0 t of it were delivered from nobody knows where in it"));
}

TEST_CASE("zones that cannot be cut as they are drawn are refused with what is wrong and how to mend it") {
    StandingSeason season;
    CHECK_THROWS_WITH(
        season.plan({{"both", zone_of(300.0, 0.0, 500.0, 300.0)}}),
        Contains("zone \"both\" lies in two fields: 3.0 ha in A0") && Contains("draw a zone of its own in each field"));
    CHECK_THROWS_WITH(
        season.plan({{"west", zone_of(0.0, 0.0, 200.0, 300.0)}, {"east", zone_of(100.0, 0.0, 400.0, 300.0)}}),
        Contains("zones \"west\" and \"east\" lie over one another in A01: 3.0") &&
            Contains("ha would be cut with both") && Contains("draw them side by side"));
    CHECK_THROWS_WITH(
        season.plan({{"west", zone_of(0.0, 0.0, 100.0, 300.0)}, {"west", zone_of(100.0, 0.0, 200.0, 300.0)}}),
        Contains("two zones are called \"west\"") && Contains("give each a name of its own"));
    season.data.crops[0].part = "north";
    CHECK_THROWS_WITH(season.plan({{"west", zone_of(0.0, 0.0, 100.0, 300.0)}}),
                      Contains("zone \"west\" lies in A01, north, without an outline of its own") &&
                          Contains("import the outlines of the parts"));
}

TEST_CASE("zones that are no piece of a standing field leave it as it is and say so") {
    StandingSeason season;
    const auto left = [&](const app::DrawnZone& zone, const std::string& note) {
        const app::BinsView plan = season.plan({zone});
        INFO(note);
        CHECK(plan.zones.empty());
        CHECK(noted(plan, note));
        CHECK(tonnes_of(plan).count("field A01") == 1);
    };
    left({"far", zone_of(5000.0, 0.0, 5100.0, 100.0)},
         "zone \"far\" lies in no wheat field that is still to be cut and is left out");
    left({"spot", zone_of(200.0, 150.0, 201.0, 151.0)}, "zone \"spot\" is too small to be cut apart: 0.0 t of A01");
    left({"corner", zone_of(0.0, 0.0, 70.0, 70.0)}, "zone \"corner\" is too small to be cut apart: 3.9 t of A01");
    left({"all", zone_of(-2.0, 0.0, 402.0, 299.0)}, "zone \"all\" is all of A01 and is planned as that field");
    // Past the field's edge only what lies in it counts.
    const app::BinsView edge = season.plan({{"edge", zone_of(-200.0, 0.0, 200.0, 300.0)}});
    CHECK(noted(edge, "50 % of zone \"edge\" lie outside A01: only what lies in it counts"));
    CHECK(tonnes_of(edge).at("zone edge") == Approx(48.0).epsilon(0.0).margin(0.3));
    // Once a field is cut its zones are no matter of a plan ahead.
    season.data.crops[0].status = models::FieldStatus::cut;
    CHECK(noted(season.plan({{"west", zone_of(0.0, 0.0, 100.0, 300.0)}}), "zone \"west\" lies in no wheat field"));
}

TEST_CASE("a map file of zones goes into the plan ahead by the command line") {
    const std::filesystem::path file =
        std::filesystem::temp_directory_path() / ("standing_zones" + std::to_string(::getpid()) + ".geojson");
    std::ofstream(file) << R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"sand"},
        "geometry":{"type":"Polygon","coordinates":[[[17.3450,47.4280],[17.3480,47.4280],[17.3480,47.4295],
        [17.3450,47.4295],[17.3450,47.4280]]]}}]})";
    const auto told = nlohmann::json::parse(bins_of_demo({"--ahead", "--zones", file.string(), "--json"}, 0));
    std::map<std::string, double> tonnes;
    for (const char* list : {"assignments", "unplaced"})
        for (const auto& row : told[list]) {
            CHECK(row.value("field", "") != "C02");
            if (row.contains("zone")) tonnes[row["zone"].get<std::string>()] += row["mass_t"].get<double>();
        }
    REQUIRE(tonnes.size() == 2);
    CHECK(tonnes.count("sand") == 1);
    CHECK(tonnes.count("C02, rest") == 1);
    REQUIRE(told["zones"].size() == 2);
    CHECK(told["zones"][0]["zone"] == "sand");
    CHECK(told["zones"][0]["field"] == "C02");
    const std::string table = bins_of_demo({"--ahead", "--zones", file.string()}, 0);
    CHECK_THAT(table, Contains("and 2 zones, by the day of their expected cut") && Contains("load, field, zone") &&
                          Contains("C02, rest"));
    std::filesystem::remove(file);
    CHECK_THAT(bins_of_demo({"--zones", file.string()}, 1),
               Contains("zones are of fields that are still to be cut") && Contains("give --ahead, too"));
    CHECK_THAT(bins_of_demo({"--ahead", "--zones", file.string()}, 1), Contains(file.filename().string()));
}
