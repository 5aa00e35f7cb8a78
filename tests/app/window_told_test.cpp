#include <algorithm>
#include <sstream>

#include <catch2/catch.hpp>

#include "app/window/told_frame.h"
#include "tests/support/app/window_driver.h"

/// What a script is told of a frame: the places that a hand presses, and the words that are to be seen.
using namespace app::window;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using tests::WindowDriver;

namespace {

WindowDriver window_at(const std::string& room) {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    return WindowDriver(settings);
}

}  // namespace

TEST_CASE("a place that is told is where a hand presses it and what is told is what is chosen") {
    WindowDriver window = window_at("where-first");
    window.places.note_texts();
    window.settle();
    CHECK(nothing_works(*window.session));
    const std::string told = text_of({7, 12, true}, *window.session, window.places);
    CHECK_THAT(told, StartsWith("frame\t7\nheard\t12\nsettled\tyes\nroom\twhere-first\nseason\t2026\nlimit\t1.0\n"));
    std::istringstream lines(told);
    std::string line, row;
    while (std::getline(lines, line))
        if (line.starts_with("place\t") && line.ends_with("\trow R01")) row = line;
    const app::drawing::Rect* there = window.places.find("row R01");
    REQUIRE(there != nullptr);
    std::istringstream parts(row);
    std::string kind;
    double x = 0, y = 0, width = 0, height = 0;
    parts >> kind >> x >> y >> width >> height;
    CHECK(x == Approx(there->x).epsilon(0.0).margin(0.5));
    CHECK(y == Approx(there->y).epsilon(0.0).margin(0.5));
    CHECK(width == Approx(there->width).epsilon(0.0).margin(0.5));
    CHECK(height == Approx(there->height).epsilon(0.0).margin(0.5));
    CHECK_THAT(told, Contains("\t1. T07, Heavy Break\n"));
    window.click("row R01");
    window.settle();
    CHECK_THAT(text_of({}, *window.session, window.places), Contains("field\tR01\n") && Contains("settled\tno\n"));
}

TEST_CASE("a text that is scrolled out of sight is not told") {
    WindowDriver window = window_at("pit");
    window.places.note_texts();
    window.settle();
    const std::string told = text_of({}, *window.session, window.places);
    const auto& texts = *window.places.texts();
    const auto hidden = std::find_if(texts.begin(), texts.end(), [](const DrawnText& text) {
        return text.words.starts_with("Dumped or turned away");  // below all trucks that wait
    });
    REQUIRE(hidden != texts.end());
    CHECK_THAT(told, Contains("W26-26") && !Contains(hidden->words));
}
