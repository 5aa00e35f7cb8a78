#include "app/window/painted_frame.h"

#include <catch2/catch.hpp>
#include <imgui.h>

#include "tests/support/app/window_driver.h"

/// A frame that would look the same as the one on the screen is known to, and one that would not never is.
using namespace app::window;
using tests::WindowDriver;

namespace {

WindowSettings at_where_first() {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = "where-first";
    return settings;
}

}  // namespace

TEST_CASE("a frame in which nothing has changed stands on the screen already, and one with anything new does not") {
    WindowDriver window(at_where_first());
    window.settle();
    window.frames(3);
    PaintedFrame painted;
    PaintedFrame::Beside beside{1440, 900, window.brushes.theme.paper, 0, 0};
    const auto stands_there = [&] { return painted.stands_there(*ImGui::GetDrawData(), beside); };
    CHECK_FALSE(stands_there());  // nothing was painted yet
    CHECK(stands_there());
    window.frames(2);  // laid out anew
    CHECK(stands_there());
    window.point_at("room pit");  // it is lit, and says what it is
    window.frames(4);
    CHECK_FALSE(stands_there());
    window.frames(2);
    CHECK(stands_there());
    painted.forget();
    CHECK_FALSE(stands_there());
    // What is in no list of the frame: the window's size, what is below all, the map's picture, other pictures.
    const auto differs = [&](auto change) {
        CHECK(stands_there());
        change();
        CHECK_FALSE(stands_there());
    };
    differs([&] { beside.width = 1441; });
    differs([&] { beside.height = 901; });
    differs([&] { beside.paper.green = static_cast<std::uint8_t>(beside.paper.green ^ 1U); });
    differs([&] { ++beside.map_looks; });
    differs([&] { ++beside.textures_made; });
    CHECK(stands_there());
}
