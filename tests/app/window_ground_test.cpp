#include <algorithm>
#include <filesystem>
#include <memory>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/walk_files.h"
#include "app/workflow.h"
#include "geo/store/store.h"
#include "tests/support/app/window_driver.h"

using namespace app::window;
using tests::demo_store;
using tests::WindowDriver;

namespace {

WindowSettings ground_at(const char* room, int width = 1440, int height = 900) {
    WindowSettings settings;
    settings.store = demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    settings.width = width;
    settings.height = height;
    return settings;
}

/// Pressed at a place of the world on the map.
void press_at(WindowDriver& window, const models::PointM& place) {
    const app::drawing::Point at = window.views.map->to_px(place, window.views.map_canvas);
    window.places.mark("here", {at.x - 1.0, at.y - 1.0, 2.0, 2.0});
    window.click("here");
}

void hover_at(WindowDriver& window, const models::PointM& place) {
    const app::drawing::Point at = window.views.map->to_px(place, window.views.map_canvas);
    window.places.mark("here", {at.x - 0.5, at.y - 0.5, 1.0, 1.0});
    window.point_at("here");
}

}  // namespace

TEST_CASE("two presses on the map lay a line whose profile names the fields that it crosses") {
    WindowDriver window(ground_at("contamination"));
    window.settle();
    const std::string chosen = window.session->field;
    window.press('T');
    window.frames(2);
    REQUIRE(window.session->ground.panel == GroundPanel::transect);
    CHECK(window.shows("profile"));
    REQUIRE(window.session->ground.line);  // by keys alone there is a line, through the chosen field
    REQUIRE(window.session->ground.transect);
    const auto crosses = [&](const std::string& name) {
        const auto& stretches = window.session->ground.transect->stretches;
        return std::any_of(stretches.begin(), stretches.end(), [&](const auto& one) { return one.field == name; });
    };
    CHECK(crosses(chosen));
    const auto& fields = window.session->answer->content_map.fields;
    const models::PointM a = models::centroid(fields.at(2).outline_m), b = models::centroid(fields.at(9).outline_m);
    press_at(window, a);
    CHECK(window.views.tools.first_end.has_value());
    press_at(window, b);
    CHECK_FALSE(window.views.tools.first_end.has_value());
    const app::TransectLine line = *window.session->ground.line;
    const double px = window.views.map->metres_per_px;
    CHECK_THAT(line.from.x_m, Catch::WithinAbs(a.x_m, 2.0 * px));
    CHECK_THAT(line.to.y_m, Catch::WithinAbs(b.y_m, 2.0 * px));
    CHECK(crosses(fields.at(2).label));
    CHECK(crosses(fields.at(9).label));
    CHECK(window.session->field == chosen);  // the presses were the tool's
    // Shift and the arrows turn it about its middle, and the map stays where it is.
    const app::drawing::MapView before = *window.views.map;
    window.views.keys.pressed_now(GLFW_KEY_LEFT_SHIFT);
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_LeftArrow]);
    window.views.keys.released_now(GLFW_KEY_LEFT_SHIFT);
    window.frames(2);
    const app::TransectLine turned = *window.session->ground.line;
    CHECK_FALSE(turned == line);
    CHECK_THAT(turned.from.x_m + turned.to.x_m, Catch::WithinAbs(line.from.x_m + line.to.x_m, 1e-6));
    CHECK_THAT(models::distance_m(turned.from, turned.to),
               Catch::WithinAbs(models::distance_m(line.from, line.to), 1e-6));
    CHECK(window.views.map->centre_m.x_m == before.centre_m.x_m);
    window.press('T');
    window.frames(2);
    CHECK(window.session->ground.panel == GroundPanel::map_alone);
    CHECK_FALSE(window.shows("profile"));
}

TEST_CASE("pointing at a field and at a test tells what their numbers rest on") {
    WindowDriver window(ground_at("contamination"));
    window.settle();
    finish_work(*window.session);
    window.frames(2);
    CHECK(window.shows("rests on"));  // of the chosen field, without a pointer
    REQUIRE(window.session->ground.facts);
    const auto& map = window.session->answer->content_map;
    const std::string other = map.fields.at(4).label;
    REQUIRE(other != window.session->field);
    hover_at(window, models::centroid(map.fields.at(4).outline_m));
    finish_work(*window.session);
    window.frames(3);
    CHECK(window.shows("card of " + other));
    finish_work(*window.session);
    CHECK(window.session->ground.explained.count(other) == 1);
    // The very steps of `map --explain`.
    const auto& steps = window.session->ground.explained.at(other)->says.steps;
    REQUIRE_FALSE(steps.empty());
    const auto& view = window.session->answer->view;
    const auto field = std::find_if(view.fields.begin(), view.fields.end(),
                                    [&](const app::FieldView& one) { return one.name == other; });
    const models::Explanation same =
        view.probed.explain(*view.contamination.model, *view.contamination.field_season_of[field->crop]);
    CHECK(steps.back().median == same.steps.back().median);
    REQUIRE_FALSE(map.tests.empty());
    const std::size_t t = window.session->ground.facts->tests_on_map.at(0);
    hover_at(window, map.tests.at(0).place_m);
    bool a_test = false;
    for (const auto& [name, rect] : window.places.all()) a_test = a_test || name.starts_with("card of test ");
    CHECK(a_test);
    CHECK(view.data.tests.at(t).don_mg_per_kg == map.tests.at(0).don_mg_per_kg);
}

TEST_CASE("the evidence takes the place of the map and shows pairs, foretold results and both verdicts") {
    for (const auto& [width, height] : {std::pair{1440, 900}, std::pair{1024, 700}}) {
        WindowDriver window(ground_at("contamination", width, height));
        window.settle();
        window.press('E');
        finish_work(*window.session);
        window.frames(3);
        for (const char* place : {"evidence", "pairs between", "pairs within", "foretold"}) CHECK(window.shows(place));
        const app::drawing::Rect between = *window.places.find("pairs between"),
                                 within = *window.places.find("pairs within");
        CHECK((between.x + between.width <= within.x || between.y + between.height <= within.y));
        const app::drawing::EvidenceFigure& figure = window.session->ground.facts->evidence;
        CHECK_FALSE(figure.between.classes.empty());
        CHECK(figure.between.says.size() == 2);
        CHECK_FALSE(figure.foretold.results.empty());
        // The map under it hears nothing.
        const app::drawing::MapView before = *window.views.map;
        window.wheel("pairs between", 3.0);
        CHECK(window.views.map->metres_per_px == before.metres_per_px);
        window.click("tool evidence");
        CHECK_FALSE(window.shows("evidence"));
    }
}

TEST_CASE("stepping through the seasons brings back at once what was worked out before") {
    WindowDriver window(ground_at("contamination"));
    window.settle();
    const auto newest = window.session->answer;
    window.press(',');
    window.settle();
    CHECK(window.session->answer->view.season == 2025);
    CHECK(is_kept(*window.session, 2024));  // ahead, in the background
    window.press('.');
    CHECK(window.session->answer == newest);
    CHECK_FALSE(window.session->working);
    window.click("season at 2024");
    CHECK_FALSE(window.session->working);
    CHECK(window.session->answer->view.season == 2024);
    CHECK(still_shown(*window.session).empty());
    // A colour means the same content in every season.
    CHECK(app::drawing::content_scale_of(window.session->answer->content_map).low_mg_per_kg ==
          app::drawing::content_scale_of(newest->content_map).low_mg_per_kg);
    apply(*window.session, ChooseLimit{"2.0"});
    CHECK(window.session->working);  // another limit is another answer
    window.settle();
    CHECK(window.session->answer->limit == "2.0");
}

TEST_CASE("the zones of a field are those of the command line, beside the window and with a way to stop") {
    WindowDriver window(ground_at("contamination"));
    window.settle();
    apply(*window.session, ChooseField{"C02"});
    window.settle();
    window.press('Z');
    window.settle();
    CHECK(window.shows("zones"));
    REQUIRE(window.session->ground.zones);
    app::SplitSettings settings;
    settings.field = "C02";
    const app::SplitsOfSeason same = app::split_fields(window.session->answer->view, settings);
    const auto& shown = window.session->ground.zones->splits;
    REQUIRE(shown.fields.size() == 1);
    REQUIRE(shown.fields[0].zones.size() == same.fields[0].zones.size());
    CHECK(shown.fields[0].why_not == same.fields[0].why_not);
    for (std::size_t z = 0; z < same.fields[0].zones.size(); ++z) {
        CHECK(shown.fields[0].zones[z].content.content->median == same.fields[0].zones[z].content.content->median);
        CHECK(window.shows("zone " + same.fields[0].zones[z].drawn.name));
    }
    // Stopped, it says so and leaves nothing half.
    apply(*window.session, ChooseField{window.session->answer->content_map.fields.at(0).label});
    collect(*window.session);
    REQUIRE(window.session->ground.dividing);
    apply(*window.session, StopWork{});
    finish_work(*window.session);
    CHECK((window.session->ground.zones == nullptr || window.session->ground.zones->field == window.session->field));
}

TEST_CASE("the order of so many tests is that of the command line, and more tests leave less to lose") {
    WindowDriver window(ground_at("where-first"));
    window.settle();
    CHECK(window.shows("budget"));
    CHECK(order_shown(*window.session).tests == 10);
    for (int i = 0; i < 8; ++i) window.press('-');
    window.settle();
    const OrderShown shown = order_shown(*window.session);
    REQUIRE(shown.tests == 2);
    app::Question question;
    question.season = 2026;
    question.limit = "1.0";
    question.upto = app::Upto::first;
    question.order.tests = 2;
    const geo::Store store = geo::Store::open(demo_store(), geo::Store::Access::read_only);
    const app::SeasonView same = app::look_at_season(store, question);
    REQUIRE(shown.order->fields.size() == same.order->fields.size());
    for (std::size_t f = 0; f < same.order->fields.size(); ++f)
        CHECK(shown.order->fields[f].field == same.order->fields[f].field);
    CHECK(shown.order->expected_loss_after == same.order->expected_loss_after);
    CHECK(shown.order->expected_loss_after < shown.order->expected_loss_now);
    const double with_two = shown.order->expected_loss_after;
    apply(*window.session, OnTheGround{PlaceTests{3}});
    window.settle();
    CHECK(order_shown(*window.session).order->expected_loss_after <= with_two);
    // By hand: the end of the slider is the most.
    window.drag("budget", 400.0, 0.0);
    window.settle();
    CHECK(window.session->ground.tests > 10);
}

TEST_CASE("the walk of the chosen field is shown and written as the command line writes it") {
    const std::filesystem::path folder = std::filesystem::temp_directory_path() / "lodicule-window-walk";
    std::filesystem::remove_all(folder);
    std::filesystem::create_directories(folder);
    std::filesystem::copy_file(demo_store(), folder / "demo.lodicule");
    WindowSettings settings = ground_at("where-first");
    settings.store = folder / "demo.lodicule";
    WindowDriver window(settings);
    window.settle();
    window.press('W');
    window.settle();
    CHECK(window.shows("walk"));
    CHECK_FALSE(window.shows("hours"));
    REQUIRE(window.session->ground.walk);
    REQUIRE(window.session->ground.walk->walks.walks.size() == 1);
    app::WalkSettings how;
    how.fields = 1;
    const app::FieldWalks first = app::walks_of_order(window.session->answer->view, how);
    // On paper as in the list: a field that is not worth a test has a dash for its place.
    const app::OrderList paper = app::order_list(window.session->answer->view, first);
    const auto& ranked = window.session->answer->view.order->fields;
    REQUIRE(paper.places.size() == ranked.size());
    std::size_t dashes = 0;
    for (std::size_t r = 0; r < ranked.size(); ++r) {
        CHECK(paper.places[r] == (ranked[r].expected_gain > 0.0 ? std::to_string(ranked[r].rank) : "–"));
        dashes += paper.places[r] == "–" ? 1 : 0;
    }
    CHECK((dashes > 0 && dashes < ranked.size()));
    CHECK(paper.samples[0] == first.walks.at(0).sample);
    const app::FieldWalk& shown = window.session->ground.walk->walks.walks[0];
    CHECK(shown.name == first.walks.at(0).name);
    CHECK(shown.sample == first.walks.at(0).sample);
    CHECK(shown.walk.stops == first.walks.at(0).walk.stops);
    window.press('X');
    window.settle();
    CHECK_THAT(window.session->ground.walk_saved, Catch::StartsWith("Written to "));
    const std::filesystem::path out = folder / "walks-2026";
    // With its place, and as long as that field is the chosen one.
    CHECK_THAT(window.session->ground.walk_saved, Catch::Contains(out.string()));
    CHECK(out.is_absolute());
    window.frames(2);
    CHECK(window.shows("walk saved"));
    const auto files_of = [&out](const char* kind) {
        int count = 0;
        for (const auto& file : std::filesystem::directory_iterator(out))
            count += file.path().extension() == kind ? 1 : 0;
        return count;
    };
    for (const char* kind : {".gpx", ".geojson", ".pdf"}) CHECK(files_of(kind) == 1);
    // The walk of another field takes nothing of the first away.
    const int worth = walks_worth_it(*window.session);
    REQUIRE(worth >= 2);
    apply(*window.session, ChooseField{order_shown(*window.session).order->fields.at(1).field});
    window.settle();
    CHECK_FALSE(window.shows("walk saved"));
    window.press('X');
    window.settle();
    for (const char* kind : {".gpx", ".geojson", ".pdf"}) CHECK(files_of(kind) == 2);
    // All that are worth a test in one go: one page and one map of them, and a GPX file each.
    window.click("save walks");
    window.settle();
    CHECK(files_of(".gpx") == worth);
    CHECK(std::filesystem::exists(out / "walks.geojson"));
    CHECK(std::filesystem::exists(out / "walks.pdf"));
    CHECK_THAT(window.session->ground.walk_saved, Catch::Contains("walks.pdf"));
    // A field that is cut has no walk, and says so.
    apply(*window.session, ChooseField{"C05"});
    window.settle();
    REQUIRE(window.session->ground.walk);
    CHECK(window.session->ground.walk->walks.walks.empty());
    CHECK_THAT(window.session->ground.walk->problem, Catch::Contains("C05: it is cut"));
    CHECK_THAT(window.session->ground.walk->problem, Catch::Contains("test its loads instead"));
    window.press('W');
    CHECK(window.shows("hours"));
    std::filesystem::remove_all(folder);
}
