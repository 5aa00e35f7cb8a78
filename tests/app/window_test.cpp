#include "app/window/window.h"

#include <cmath>
#include <cstdlib>
#include <memory>
#include <tuple>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <imgui.h>
#include <unistd.h>

#include "app/drawing/chart.h"
#include "app/window/offscreen.h"
#include "app/window/tools/tools.h"
#include "app/window/triangles.h"
#include "tests/support/app/window_driver.h"

using namespace app::window;
using tests::demo_store;
using tests::WindowDriver;

namespace {

WindowSettings demo_at(const char* room, int width = 1440, int height = 900) {
    WindowSettings settings;
    settings.store = demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    settings.width = width;
    settings.height = height;
    return settings;
}

double area_of(const std::vector<std::array<app::drawing::Point, 3>>& triangles) {
    double area = 0.0;
    for (const auto& t : triangles) {
        area += std::abs((t[1].x - t[0].x) * (t[2].y - t[0].y) - (t[2].x - t[0].x) * (t[1].y - t[0].y)) / 2.0;
    }
    return area;
}

}  // namespace

TEST_CASE("triangles cover exactly the area of an outline without its pond") {
    const std::vector<std::vector<app::drawing::Point>> yard = {{{0, 0}, {100, 10}, {90, 60}, {50, 30}, {10, 70}},
                                                                {{40, 12}, {60, 14}, {50, 24}}};
    // Shoelace by hand: outer 4 000, pond 110.
    CHECK(area_of(triangles_of(yard)) == Approx(4000.0 - 110.0));
    CHECK(triangles_of({}).empty());
}

TEST_CASE("the rooms are entered by word and by key") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    CHECK(window.shows("map"));
    window.click("room where-first");
    CHECK(window.session->room == Room::where_first);
    window.settle();
    CHECK(window.shows("hours"));
    window.press('4');
    CHECK(window.session->room == Room::bins);
    window.press('3');
    CHECK(window.session->room == Room::contamination);
}

TEST_CASE("the map follows the hand that drags it and comes back whole") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    const app::drawing::MapView before = *window.views.map;
    window.drag("map", 120.0, -60.0);
    const app::drawing::MapView after = *window.views.map;
    CHECK(after.centre_m.x_m == Approx(before.centre_m.x_m - 120.0 * before.metres_per_px));
    CHECK(after.centre_m.y_m == Approx(before.centre_m.y_m - 60.0 * before.metres_per_px));
    window.wheel("map", 2.0);
    CHECK(window.views.map->metres_per_px < before.metres_per_px);
    window.click("whole map");
    window.frames(2);
    CHECK(window.views.map->metres_per_px == Approx(before.metres_per_px));
    CHECK(window.views.map->centre_m.x_m == Approx(before.centre_m.x_m));
}

TEST_CASE("where fields lie far apart one group after the other fills the map") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    CHECK_FALSE(window.shows("next group"));  // the demo's fields lie together
    const app::drawing::MapView whole = *window.views.map;
    auto parted = std::make_shared<Answer>(*window.session->answer);
    parted->groups.clear();
    for (const std::size_t f : {std::size_t{0}, std::size_t{1}}) {
        const models::BoxM box = models::bounding_box(parted->content_map.fields.at(f).outline_m);
        parted->groups.push_back({{}, box, {f}});
    }
    window.session->answer = parted;
    window.frames(2);
    CHECK(window.views.map->metres_per_px == Approx(whole.metres_per_px));
    const auto shows_group = [&](std::size_t g) {
        const models::BoxM& box = parted->groups.at(g).box;
        const models::BoxM seen = window.views.map->shown(window.views.map_canvas);
        return seen.x_min_m < box.x_min_m && seen.x_max_m > box.x_max_m && seen.y_min_m < box.y_min_m &&
               seen.y_max_m > box.y_max_m && window.views.map->metres_per_px < 0.5 * whole.metres_per_px;
    };
    window.click("next group");
    window.frames(2);
    CHECK(window.views.group == std::size_t{0});
    CHECK(shows_group(0));
    window.press('G');
    window.frames(2);
    CHECK(window.views.group == std::size_t{1});
    CHECK(shows_group(1));
    window.press('G');
    window.frames(2);
    CHECK(window.views.group == std::size_t{0});
    window.press('0');
    window.frames(2);
    CHECK_FALSE(window.views.group);
    CHECK(window.views.map->metres_per_px == Approx(whole.metres_per_px));
}

TEST_CASE("a map that is dragged is moved as it is and labelled anew when the hand lets go") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    window.frames(3);
    const int before = window.views.map_scene.times_drawn();
    window.frames(5);
    CHECK(window.views.map_scene.times_drawn() == before);  // nothing changed, nothing was drawn anew
    window.drag("map", 60.0, 40.0);
    CHECK(window.views.map_scene.times_drawn() == before + 1);
    CHECK_FALSE(window.views.dragging);
    // Farther than was kept: once on the way, once at the end.
    window.drag("map", 500.0, 0.0);
    CHECK(window.views.map_scene.times_drawn() > before + 2);
}

TEST_CASE("all that a pointer chooses is chosen by keys") {
    WindowDriver window(demo_at("where-first"));
    window.settle();
    const auto& rows = window.session->answer->rank.rows;
    window.session->field = rows.at(0).field;
    window.press('N');
    CHECK(window.session->field == rows.at(1).field);
    window.press('P');
    window.press('P');
    CHECK(window.session->field == rows.back().field);  // round the end, and its row is in view
    window.frames(2);
    CHECK(window.shows("row " + rows.back().field));
    window.press('3');
    const auto& fields = window.session->answer->content_map.fields;
    window.session->field = fields.at(0).label;
    window.press('N');
    CHECK(window.session->field == fields.at(1).label);
    window.press('V');
    CHECK(window.session->layer == app::drawing::MapShows::exceedance);
    window.press('C');
    CHECK(window.session->layer == app::drawing::MapShows::content);
    const app::drawing::MapView before = *window.views.map;
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_LeftArrow]);
    CHECK(window.views.map->centre_m.x_m < before.centre_m.x_m);
    window.press(GLFW_KEY_F1);
    CHECK(window.shows("keys"));
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_Escape]);
    window.frames(2);
    CHECK_FALSE(window.shows("keys"));
    // A list opens at what is chosen; the arrows move in it and Enter takes.
    window.press('S');
    window.frames(3);
    CHECK(window.shows("season 2024"));
    const double height = window.views.map->centre_m.y_m;
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_UpArrow]);
    window.frames(2);
    CHECK(window.views.map->centre_m.y_m == height);  // not the map's
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_Enter]);
    window.settle();
    CHECK(window.session->answer->view.season != 2026);
    window.press('L');
    window.frames(3);
    CHECK(window.shows("limit " + window.session->limits.fitting.at(0).limit_id));
}

TEST_CASE("no key is lost that is typed faster than frames are drawn") {
    WindowDriver window(demo_at("where-first"));
    window.settle();
    const auto& rows = window.session->answer->rank.rows;
    window.session->field = rows.at(0).field;
    // Three presses and their releases before a single frame: that frame moves three rows.
    for (int i = 0; i < 3; ++i) {
        window.views.keys.pressed_now('N');
        window.views.keys.released_now('N');
    }
    window.frames(1);
    CHECK(window.session->field == rows.at(3).field);
    window.frames(2);
    CHECK_FALSE(window.views.keys.any_waiting());
    CHECK(window.session->field == rows.at(3).field);
    window.type_at_once({'N', 'N', 'P', 'N'});
    CHECK(window.session->field == rows.at(5).field);
    // A room and what is typed into it.
    window.type_at_once({'3', 'V', 'C', 'V'});
    CHECK(window.session->room == Room::contamination);
    CHECK(window.session->layer == app::drawing::MapShows::exceedance);
    // In a list each press counts, though Dear ImGui counts none.
    window.type_at_once({'S'});
    window.frames(3);
    const int down = ImGui::GetIO().KeyMap[ImGuiKey_UpArrow], enter = ImGui::GetIO().KeyMap[ImGuiKey_Enter];
    window.type_at_once({down, down, enter});
    window.settle();
    CHECK(window.session->answer->view.season == 2024);
}

TEST_CASE("the window opens on the field that is to be tested first") {
    WindowDriver window(demo_at("where-first"));
    window.settle();
    CHECK(window.session->field == window.session->answer->rank.rows.at(0).field);
}

TEST_CASE("the window brings weather to a field in the way it was opened with") {
    WindowSettings settings;
    settings.store = demo_store();
    settings.season = 2026;
    settings.weather_by = "distance";
    const std::unique_ptr<Session> session = open_session(settings, {});
    finish_work(*session);
    collect(*session);
    REQUIRE(session->answer);
    CHECK(session->answer->view.how.weather.way == models::WeatherWay::distance);
    settings.weather_by = "nearby";
    CHECK_THROWS_WITH(open_session(settings, {}), Catch::Matchers::Contains("no way \"nearby\" of bringing weather"));
}

TEST_CASE("what is recorded while the window is open is read again by itself or on asking") {
    namespace fs = std::filesystem;
    const fs::path folder = fs::temp_directory_path() / ("lodicule-changed-" + std::to_string(::getpid()));
    fs::create_directories(folder);
    fs::copy_file(demo_store(), folder / "s.lodicule");
    WindowSettings settings = demo_at("contamination");
    settings.store = folder / "s.lodicule";
    {
        WindowDriver window(settings);
        window.settle();
        CHECK_FALSE(look_at_store(*window.session, true));
        CHECK_FALSE(window.session->store_changed);
        const std::size_t tests = window.session->answer->view.data.tests.size();
        const std::string command = std::string("\"") + LODICULE_PROGRAM + "\" add \"" + settings.store.string() +
                                    "\" tests test=X1 sample=X1 time=2026-07-20T10:00:00+02:00 don=0.6 unit=mg/kg "
                                    "stage=standing kind=composite field=R02 chosen_because=plan > /dev/null";
        REQUIRE(std::system(command.c_str()) == 0);
        CHECK(look_at_store(*window.session, false));
        CHECK(window.session->store_changed);
        window.frames(1);
        CHECK(window.shows("store has changed"));
        CHECK_FALSE(look_at_store(*window.session, false));  // somebody is choosing: nothing moves under the hand
        CHECK_FALSE(window.session->working);
        CHECK(look_at_store(*window.session, true));
        CHECK(window.session->working);
        window.settle();
        CHECK(window.session->answer->view.data.tests.size() == tests + 1);
        look_at_store(*window.session, true);
        CHECK_FALSE(window.session->store_changed);
        CHECK_FALSE(window.session->working);
        window.press(GLFW_KEY_F5);
        const bool reads = window.session->working != nullptr;
        CHECK(reads);
        window.settle();
    }
    fs::remove_all(folder);
}

TEST_CASE("the limits in force for the grain come first and a number of one's own can be typed") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    const app::LimitsToChoose& limits = window.session->limits;
    REQUIRE(limits.fitting.size() > 4);
    CHECK(limits.fitting.size() < 20);
    for (const models::Limit& limit : limits.fitting) {
        CAPTURE(limit.limit_id);
        CHECK(limit.limit_id.find("until") == std::string::npos);
        CHECK(limit.commodity != "maize");
    }
    const std::string other = limits.others.at(0).limit_id;
    window.click("limit");
    CHECK(window.shows("limit " + limits.fitting.at(0).limit_id));
    CHECK_FALSE(window.shows("limit " + other));
    window.click("all limits");
    CHECK(window.shows("limit " + other));
    window.click("own limit");
    window.write("0,9");
    window.click("take own limit");
    CHECK_FALSE(window.views.limit_refused.empty());
    // It names limits that there are, not that there is none.
    CHECK(window.views.limit_refused.find("there is none yet") == std::string::npos);
    CHECK(window.session->limit == "1.0");
    window.views.own_limit.clear();
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_Escape]);
    window.frames(3);
    // From the keyboard alone: the list opens with the box in hand.
    window.press('L');
    window.frames(3);
    window.write("0.9");
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_Enter]);
    CHECK(window.session->limit == "0.9");
    window.settle();
    CHECK(window.session->answer->view.limit->limit_mg_per_kg == 0.9);
}

TEST_CASE("all bins of the demo are in sight, or in a lower window their first row, where loads go") {
    const auto [width, height] = GENERATE(std::pair{1280, 800}, std::pair{1920, 1080});
    WindowDriver window(demo_at("pit", width, height));
    window.settle();
    CHECK(window.session->answer->bins.bins.size() == 8);
    CHECK(window.shows("more below") == (height < 1000));
    const app::drawing::Rect drawn = *window.places.find("bins"), canvas = *window.places.find("canvas");
    CHECK(drawn.y < canvas.y + 0.5 * canvas.height);
    const app::BinsView& bins = *window.session->answer->view.bins;
    for (const app::drawing::BinDrawing& bin : window.session->answer->bins.bins) {
        const bool next = std::any_of(bins.plan.assignments.begin(), bins.plan.assignments.end(),
                                      [&](const models::Assignment& load) { return load.bin == bin.bin; });
        CHECK(next == !bin.coming.empty());
    }
}

TEST_CASE("bins that do not fit are said to go on below") {
    WindowSettings settings = demo_at("bins", 1280, 800);
    settings.text_scale = 2.0;
    WindowDriver window(settings);
    window.settle();
    CHECK(window.shows("more below"));
}

TEST_CASE("text grows with the picture where nobody sets its size") {
    CHECK(text_scale_for(1280, 800) == 1.0);
    CHECK(text_scale_for(1920, 1080) == 1.0);
    CHECK(text_scale_for(2560, 1440) == 1.25);
    CHECK(text_scale_for(3840, 2160) == 2.0);
    CHECK(text_scale_for(1080, 3840) == 1.0);
    CHECK(text_scale_for(15360, 8640) == 3.0);
}

TEST_CASE("the room of the bins states the limits of the bins and offers no other") {
    WindowDriver window(demo_at("bins"));
    window.settle();
    CHECK_FALSE(window.shows("limit"));
    CHECK(window.shows("limits of bins"));
    CHECK(window.shows("season"));
    window.press('1');
    window.frames(2);
    CHECK(window.shows("limit"));
    CHECK_FALSE(window.shows("limits of bins"));
}

TEST_CASE("large type leaves eight fields and two loads in sight") {
    const double scale = GENERATE(1.0, 1.5, 2.0);
    WindowSettings settings = demo_at("where-first", 1280, 800);
    settings.text_scale = scale;
    WindowDriver window(settings);
    window.settle();
    const auto in_sight = [&](const std::string& kind, const app::drawing::Rect& room) {
        int count = 0;
        for (const auto& [name, rect] : window.places.all())
            count += name.starts_with(kind) && rect.y >= room.y && rect.y + rect.height <= room.y + room.height;
        return count;
    };
    const app::drawing::Rect order = *window.places.find("order"), caution = *window.places.find("caution");
    CHECK(in_sight("row ", order) >= 8);
    // What is left of the loss is said above the fields, and that there are more of them below, never on the slider.
    const app::drawing::Rect slider = *window.places.find("budget"), loss = *window.places.find("loss");
    double first_row = order.y + order.height;
    for (const auto& [name, rect] : window.places.all())
        if (name.starts_with("row ")) first_row = std::min(first_row, rect.y);
    CHECK(loss.y + loss.height <= first_row);
    CHECK(window.shows("more fields") == (scale > 1.0));
    if (const app::drawing::Rect* more = window.places.find("more fields")) {
        CHECK_FALSE(app::drawing::overlap(*more, slider));
        CHECK_FALSE(app::drawing::overlap(*more, loss));
        CHECK(more->y + more->height <= caution.y);
        CHECK(in_sight("row ", {order.x, order.y, order.width, more->y - order.y}) >= 8);
    }
    CHECK(order.y + order.height <= caution.y);
    window.press('4');
    window.settle();
    const app::drawing::Rect canvas = *window.places.find("canvas"), foot = *window.places.find("caution");
    CHECK(in_sight("load ", {canvas.x, canvas.y, canvas.width, foot.y - canvas.y}) >= 2);
}

TEST_CASE("in low windows and large type the last fields of the order can be reached and nothing is cut at its foot") {
    WindowSettings settings = demo_at("where-first", 1024, 700);
    settings.text_scale = 2.0;
    WindowDriver window(settings);
    window.settle();
    REQUIRE(window.shows("more fields"));
    for (int page = 0; page < 12; ++page) {
        window.press(ImGui::GetIO().KeyMap[ImGuiKey_PageDown]);
        window.frames(2);
    }
    CHECK_FALSE(window.shows("more fields"));  // there are none any more
    CHECK(window.shows("row " + window.session->answer->rank.rows.back().field));
}

TEST_CASE("the help of the keys lies in the window at any size of type and is read to its end") {
    WindowSettings settings = demo_at("where-first", 1024, 700);
    settings.text_scale = GENERATE(1.0, 2.0, 3.0);
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    window.press(GLFW_KEY_F1);
    window.frames(2);
    const app::drawing::Rect canvas = *window.places.find("canvas");
    const auto shows_last = [&] {
        return std::any_of(window.places.texts()->begin(), window.places.texts()->end(), [](const DrawnText& text) {
            return text.words == "close the window" && text.box.y >= text.clip.y - 1.0 &&
                   text.box.y + text.box.height <= text.clip.y + text.clip.height + 1.0;
        });
    };
    const app::drawing::Rect keys = *window.places.find("keys");
    CHECK(keys.y >= canvas.y);
    CHECK(keys.y + keys.height <= canvas.y + canvas.height + 0.5);
    CHECK(shows_last() != window.shows("more keys"));
    for (int page = 0; page < 20 && !shows_last(); ++page) {
        window.press(ImGui::GetIO().KeyMap[ImGuiKey_PageDown]);
        window.frames(2);
    }
    CHECK(shows_last());
}

TEST_CASE("the line of the bench lies whole above the foot whatever stands above it") {
    for (const auto& [width, height] : {std::pair{1440, 900}, std::pair{1280, 800}, std::pair{1024, 700}})
        for (const double scale : {1.0, 2.0}) {
            WindowSettings settings = demo_at("bench", width, height);
            settings.text_scale = scale;
            WindowDriver window(settings);
            window.settle();
            const app::drawing::Rect line = *window.places.find("bench line"), foot = *window.places.find("caution");
            const app::drawing::Rect in_use = *window.places.find("bench in use");
            CAPTURE(width, height, scale, line.y, line.height, foot.y);
            CHECK(line.y + line.height <= foot.y);
            CHECK(in_use.y + in_use.height <= line.y);
            CHECK(in_use.height > 0.0);
            // What the bench answers lies between the line and the foot, and some of it is seen.
            window.places.note_texts();
            window.line("kit K999");
            window.frames(2);
            double seen = 0.0;
            for (const DrawnText& text : *window.places.texts()) {
                if (text.words.find("K999") == std::string::npos) continue;
                const double top = std::max(text.box.y, text.clip.y);
                const double end = std::min(text.box.y + text.box.height, text.clip.y + text.clip.height);
                CHECK(std::max(top, end) <= foot.y + 1.0);
                seen = std::max(seen, end - top);
            }
            CHECK(seen > 0.0);
            CHECK(window.places.find("bench line")->y + window.places.find("bench line")->height <= foot.y);
        }
}

TEST_CASE("choosing a row of the ranking chooses the field and shows its hours") {
    WindowDriver window(demo_at("where-first"));
    window.settle();
    const std::string third = window.session->answer->rank.rows.at(2).field;
    REQUIRE(third != "T07");  // nobody knows when that one flowered
    window.click("row " + third);
    window.settle();
    CHECK(window.session->field == third);
    REQUIRE(window.session->hours);
    CHECK(window.session->hours->field == third);
    CHECK_FALSE(window.session->hours->figure.hours.empty());
}

TEST_CASE("another season is worked out beside the window while the last answer stays") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    window.click("season");
    window.click("season 2024");
    CHECK(window.session->season == 2024);
    CHECK(window.session->answer);
    window.settle();
    CHECK(window.session->answer->view.season == 2024);
}

TEST_CASE("work that is stopped leaves the last answer and says so") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    apply(*window.session, ChooseSeason{2025});
    apply(*window.session, StopWork{});
    window.settle();
    REQUIRE(window.session->answer);
    CHECK(window.session->season == window.session->answer->view.season);
    if (window.session->answer->view.season == 2026) {
        CHECK(window.session->problem == "Stopped. What is shown is the answer before.");
    } else {
        CHECK(window.session->answer->view.season == 2025);  // it was done before it could be stopped
    }
}

TEST_CASE("numbers of another season than the chosen one are never shown without saying so") {
    WindowDriver window(demo_at(GENERATE("where-first", "contamination", "bins")));
    window.settle();
    CHECK_FALSE(window.shows("still"));
    CHECK(still_shown(*window.session).empty());
    apply(*window.session, ChooseSeason{2024});
    CHECK(still_shown(*window.session) == "Still season 2026, limit 1.0 mg/kg: working out season 2024");
    // A frame as a user sees it while the work runs, whether or not it is done by then.
    ImGui::NewFrame();
    draw_frame(*window.session, window.views, window.brushes, window.places);
    ImGui::Render();
    CHECK(window.shows("still"));
    CHECK(window.places.find("still")->y >= window.places.find("canvas")->y);
    window.settle();
    CHECK_FALSE(window.shows("still"));
    CHECK(window.session->answer->view.season == 2024);
}

TEST_CASE("after work that fails the choices say again what the numbers are of") {
    WindowDriver window(demo_at("contamination"));
    window.settle();
    apply(*window.session, ChooseLimit{"no such limit"});
    CHECK_FALSE(still_shown(*window.session).empty());
    window.settle();
    CHECK(window.session->limit == "1.0");
    CHECK_THAT(window.session->problem, Catch::Contains("no such limit"));
    CHECK(still_shown(*window.session).empty());
}

TEST_CASE("the caution stands in every room at every size of window and text") {
    const auto [width, height, scale] =
        GENERATE(std::tuple{1440, 900, 1.0}, std::tuple{1000, 700, 1.0}, std::tuple{1000, 700, 2.0});
    WindowSettings settings = demo_at(GENERATE("where-first", "contamination", "bins"), width, height);
    settings.text_scale = scale;
    WindowDriver window(settings);
    window.settle();
    REQUIRE(window.shows("caution"));
    const app::drawing::Rect caution = *window.places.find("caution"), canvas = *window.places.find("canvas");
    CHECK(caution.height > 20.0);
    CHECK(caution.y >= canvas.y);
    CHECK(caution.y + caution.height <= canvas.y + canvas.height);
}

TEST_CASE("the figures of the demo show its mapped field and its closed bins and the hours of a tested field") {
    WindowSettings settings = demo_at("where-first");
    settings.field = "C02";
    WindowDriver window(settings);
    window.settle();
    const Answer& answer = *window.session->answer;
    // The one field of the demo whose structure is supported, and no other.
    for (const app::drawing::MapField& field : answer.content_map.fields)
        CHECK(field.carries_surface == (field.label == "C02"));
    CHECK_FALSE(answer.content_surface.on_light.rgba.empty());
    REQUIRE(answer.content_map.contours.size() == 1);
    CHECK(answer.content_map.contours[0].level_mg_per_kg == 1.0);
    std::string closed;
    for (const app::drawing::BinDrawing& bin : answer.bins.bins) closed += bin.bin + " " + bin.closed + "; ";
    CHECK_THAT(closed, Catch::Contains("S1 16.7 t of load W26-11 lie in it"));
    for (const app::drawing::RankRow& row : answer.rank.rows) CHECK(row.field != "C02");
    CHECK(window.shows("hours"));
    REQUIRE(window.session->hours);
    CHECK(window.session->hours->field == "C02");
}

TEST_CASE("an unknown room or season is refused before anything opens") {
    CHECK_THROWS_WITH(open_session(demo_at("kitchen"), {}),
                      Catch::Contains("the rooms are where-first, bench, contamination"));
    WindowSettings settings = demo_at("bins");
    settings.season = 1999;
    CHECK_THROWS_WITH(open_session(settings, {}), Catch::Contains("no crop records of season 1999"));
    settings.season = 2026;
    settings.field = "C2";
    CHECK_THROWS_WITH(open_session(settings, {}),
                      Catch::Contains("season 2026 has no field \"C2\"") && Catch::Contains("C02"));
    settings.field = "U02";  // has parts: the first of them
    CHECK_THAT(open_session(settings, {})->field, Catch::StartsWith("U02, "));
}

TEST_CASE("a picture of every room is drawn without a display") {
    const std::string room = GENERATE("where-first", "contamination", "bins");
    const std::filesystem::path png =
        std::filesystem::temp_directory_path() / ("lodicule-picture-" + room + std::to_string(::getpid()) + ".png");
    save_picture(demo_at(room.c_str(), 1200, 760), png);
    // The header of a PNG holds its size at byte 16.
    std::FILE* file = std::fopen(png.c_str(), "rb");
    REQUIRE(file != nullptr);
    unsigned char header[24] = {};
    REQUIRE(std::fread(header, 1, sizeof header, file) == sizeof header);
    std::fclose(file);
    CHECK(header[18] * 256 + header[19] == 1200);
    CHECK(header[22] * 256 + header[23] == 760);
    CHECK(std::filesystem::file_size(png) > 20000);
    std::filesystem::remove(png);
}

TEST_CASE("a picture that cannot be written is refused in words") {
    CHECK_THROWS_WITH(save_picture(demo_at("bins", 800, 600), "/nowhere/at/all.png"),
                      Catch::Contains("the file cannot be written"));
    CHECK_THROWS_WITH(save_picture(demo_at("bins", 10, 10), "x.png"), Catch::Contains("choose 320 x 240"));
    CHECK_THROWS_WITH(save_picture(demo_at("bins", 800, 600), "x.jpg"), Catch::Contains("end the name in .png"));
    WindowSettings settings = demo_at("bins", 800, 600);
    settings.text_scale = 9.0;
    CHECK_THROWS_WITH(save_picture(settings, "x.png"), Catch::Contains("a text scale of 9 cannot be read"));
}
