#include <algorithm>

#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/window/tips.h"
#include "tests/support/app/what_is_seen.h"
#include "tests/support/app/window_driver.h"

/// Where sentences lie that explain what the pointer is on.
using namespace app::window;
using app::drawing::Rect;
using tests::lie_apart;
using tests::lies_in;
using tests::tip_of_last_frame;
using tests::WindowDriver;

TEST_CASE("a tip lies in the window and never on its thing, wherever one side of the thing has room for it") {
    const Rect screen{0.0, 0.0, 1000.0, 600.0};
    const double gap = 4.0;
    int placed = 0;
    for (const TipSide first : {TipSide::below, TipSide::right, TipSide::above})
        for (double x = 0.0; x <= 1000.0; x += 125.0)
            for (double y = 0.0; y <= 600.0; y += 75.0)
                for (const double width : {20.0, 300.0, 900.0})
                    for (const double height : {20.0, 150.0, 500.0}) {
                        const Rect thing{x, y, std::min(width, 1000.0 - x), std::min(height, 600.0 - y)};
                        for (const auto& [tip_width, tip_height] :
                             {std::pair{80.0, 30.0}, std::pair{400.0, 120.0}, std::pair{950.0, 40.0}}) {
                            const Rect tip = place_of_tip(thing, tip_width, tip_height, screen, gap, first);
                            CHECK(tip.width == tip_width);
                            CHECK(lies_in(tip, screen));
                            const bool some_side = thing.y - gap >= tip_height || thing.x - gap >= tip_width ||
                                                   600.0 - gap - thing.y - thing.height >= tip_height ||
                                                   1000.0 - gap - thing.x - thing.width >= tip_width;
                            if (!some_side) continue;
                            ++placed;
                            if (!lie_apart(tip, thing)) FAIL(x << " " << y << " " << width << " " << height);
                        }
                    }
    CHECK(placed > 1000);
}

TEST_CASE("a tip stands below its thing, above it at the foot of the window, and beside a list on request") {
    const Rect screen{0.0, 0.0, 1000.0, 600.0};
    const Rect at_top = place_of_tip({100.0, 50.0, 80.0, 20.0}, 200.0, 60.0, screen, 5.0);
    CHECK((at_top.x == 100.0 && at_top.y == 75.0));
    const Rect at_foot = place_of_tip({100.0, 570.0, 80.0, 20.0}, 200.0, 60.0, screen, 5.0);
    CHECK((at_foot.x == 100.0 && at_foot.y == 505.0));
    const Rect at_edge = place_of_tip({950.0, 50.0, 40.0, 20.0}, 200.0, 60.0, screen, 5.0);
    CHECK((at_edge.x == 800.0 && at_edge.y == 75.0));
    const Rect beside = place_of_tip({100.0, 50.0, 300.0, 20.0}, 200.0, 60.0, screen, 5.0, TipSide::right);
    CHECK((beside.x == 405.0 && beside.y == 50.0));
    const Rect before = place_of_tip({600.0, 50.0, 390.0, 20.0}, 200.0, 60.0, screen, 5.0, TipSide::right);
    CHECK((before.x == 395.0 && before.y == 50.0));
}

TEST_CASE("the tip of a button leaves the button free at every size of type") {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = "where-first";
    const auto [width, height] = GENERATE(std::pair{1440, 900}, std::pair{1024, 700});
    settings.width = width;
    settings.height = height;
    settings.text_scale = GENERATE(0.75, 1.0, 2.0);
    settings.language = GENERATE("", "de");
    WindowDriver window(settings);
    window.settle();
    window.press('W');
    window.settle();
    const Rect screen{0.0, 0.0, static_cast<double>(width), static_cast<double>(height)};
    int seen = 0;
    for (const char* place :
         {"walk button", "save walk", "save walks", "budget", "room bench", "room pit", "row T07", "row U02, main"}) {
        CAPTURE(place, width, height, *settings.text_scale, settings.language);
        if (!window.shows(place) || !lies_in(*window.places.find(place), screen)) continue;
        window.point_at(place);
        window.frames(4);
        const auto tip = tip_of_last_frame();
        if (!tip) continue;  // below what is in sight of its column
        CHECK(lie_apart(*tip, *window.places.find(place)));
        CHECK(lies_in(*tip, screen));
        ++seen;
    }
    CHECK(seen >= 5);
}

TEST_CASE(
    "a tip of the head of the order lies below all of it, and the room that one is in has none over its heading") {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = "where-first";
    settings.text_scale = GENERATE(1.0, 2.0);
    WindowDriver window(settings);
    window.settle();
    double first_row = 1e9;
    for (const auto& [name, rect] : window.places.all())
        if (name.starts_with("row ")) first_row = std::min(first_row, rect.y);
    for (const char* head : {"head 0", "head 3"}) {
        REQUIRE(window.shows(head));
        window.point_at(head);
        window.frames(4);
        const auto tip = tip_of_last_frame();
        REQUIRE(tip);
        CHECK(tip->y >= first_row - 0.5 * ImGui::GetFontSize());
    }
    window.point_at("room where-first");
    window.frames(4);
    CHECK_FALSE(tip_of_last_frame());
    window.point_at("room pit");
    window.frames(4);
    CHECK(tip_of_last_frame());
}
