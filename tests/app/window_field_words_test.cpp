#include <algorithm>

#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/figures_of_ground.h"
#include "app/window/window.h"
#include "tests/support/app/window_driver.h"

/// What the rooms of the order, the map and the past seasons say of the chosen field, and that they show it whole.
using namespace app::window;
using app::drawing::Rect;
using tests::demo_store;
using tests::WindowDriver;

namespace {

WindowSettings demo_at(const char* room, int season = 2026) {
    WindowSettings settings;
    settings.store = demo_store();
    settings.season = season;
    settings.limit = "1.0";
    settings.room = room;
    settings.width = 1440;
    settings.height = 900;
    return settings;
}

std::string words_drawn(const WindowDriver& window) {
    std::string said;
    for (const DrawnText& text : *window.places.texts()) said += text.words + " ";
    return said;
}

void choose(WindowDriver& window, const std::string& field) {
    apply(*window.session, ChooseField{field});
    window.settle();
    finish_work(*window.session);
    window.frames(3);
}

}  // namespace

TEST_CASE("the map and past seasons say that two readings of one sample do not agree and on which side the number is") {
    const std::string says =
        "Tests S25-023 (1.5) and S25-024 (below 0.34 mg/kg) of one sample do not agree; the estimate lies nearer the "
        "lower one.";
    SECTION("the map") {
        WindowDriver window(demo_at("contamination", 2025));
        window.places.note_texts();
        window.settle();
        choose(window, "U01");
        CHECK(window.shows("readings apart"));
        CHECK_THAT(words_drawn(window), Catch::Contains(says));
        CHECK_THAT(words_drawn(window), Catch::Contains("U01, Pond Field"));
        choose(window, "T06");
        CHECK_FALSE(window.shows("readings apart"));
    }
    SECTION("past seasons") {
        WindowDriver window(demo_at("past-seasons"));
        window.places.note_texts();
        window.settle();
        choose(window, "U01");
        CHECK(window.shows("why apart 2025"));
        CHECK_FALSE(window.shows("why apart 2026"));
        CHECK_THAT(words_drawn(window), Catch::Contains(says));
    }
}

TEST_CASE("the limit stands over the years of every field, with its number, and within the axis") {
    WindowDriver window(demo_at("past-seasons"));
    window.places.note_texts();
    window.settle();
    for (const char* field : {"U01", "U08", "T07"}) {
        CAPTURE(field);
        choose(window, field);
        REQUIRE(window.shows("limit over the years"));
        const Rect limit = *window.places.find("limit over the years"), year = *window.places.find("year 2026");
        CHECK(limit.x > year.x + 0.1 * year.width);
        CHECK(limit.x < year.x + year.width - 5.0);
        const auto& texts = *window.places.texts();
        CHECK(std::any_of(texts.begin(), texts.end(), [&](const DrawnText& text) {
            return text.words == "limit 1" && text.box.y < year.y && text.box.y > limit.y - 5.0;
        }));
        // A number and its percent sign stand on one line.
        CHECK(std::none_of(texts.begin(), texts.end(),
                           [](const DrawnText& text) { return text.words.starts_with("%"); }));
    }
}

TEST_CASE(
    "past seasons name the fields that the strips moved, and say of the chosen one what was foretold and is known") {
    WindowDriver window(demo_at("past-seasons"));
    window.places.note_texts();
    window.settle();
    choose(window, "U08");
    const app::SeasonOfStrips& last = window.session->taught->strips.back();
    REQUIRE(last.to_within == static_cast<int>(last.to_within_names.size()));
    REQUIRE(last.to_within > 0);
    for (const std::string& name : last.to_within_names) CHECK_THAT(words_drawn(window), Catch::Contains(name));
    CHECK_THAT(words_drawn(window),
               Catch::Contains("U08, Sunny Corner in 2026: over the limit with a chance of 94 % as "
                               "foretold afterwards as of 30 Jun, before a result of its own or "
                               "of its loads; over 99 % with 2 tests of the field, 2 of its "
                               "loads."));
    choose(window, "U01");
    CHECK_THAT(words_drawn(window), Catch::Contains("U01, Pond Field in 2026: no result of its own or of its loads"));
}

TEST_CASE("past seasons offer the fields of the season as a list with their names") {
    WindowDriver window(demo_at("past-seasons"));
    window.settle();
    choose(window, "T07");
    window.click("field list");
    window.frames(2);
    REQUIRE(window.shows("choose field T04"));
    window.click("choose field T04");
    window.frames(2);
    CHECK(window.session->field == "T04");
}

TEST_CASE("no panel cuts a line of text in two at its foot, and says that it goes on") {
    struct Looks {
        const char *room, *language;
        int season, width, height;
        double scale;
    };
    const Looks looks =
        GENERATE(Looks{"contamination", "de", 2026, 1440, 870, 1.0}, Looks{"contamination", "en", 2026, 1280, 800, 2.0},
                 Looks{"contamination", "en", 2026, 1440, 900, 1.0}, Looks{"where-first", "en", 2026, 1280, 800, 2.0},
                 Looks{"past-seasons", "en", 2026, 1440, 900, 1.0}, Looks{"past-seasons", "de", 2026, 1280, 800, 2.0});
    CAPTURE(looks.room, looks.language, looks.height, looks.scale);
    WindowSettings settings = demo_at(looks.room, looks.season);
    settings.language = looks.language;
    settings.width = looks.width;
    settings.height = looks.height;
    settings.text_scale = looks.scale;
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    choose(window, "T07");
    CHECK(window.shows("more below"));
    std::string cut;
    for (const DrawnText& text : *window.places.texts()) {
        const double floor_y = text.clip.y + text.clip.height;
        const double below = text.box.y + text.box.height - floor_y;
        if (below > 1.0 && below < text.box.height - 1.0 && floor_y < looks.height - 1.0) cut += text.words + "\n";
    }
    CHECK(cut == "");
}

TEST_CASE("nothing below the number of tests moves when it is changed, and the arrows change it once it is chosen") {
    const double scale = GENERATE(1.0, 2.0);
    WindowSettings settings = demo_at("where-first");
    settings.text_scale = scale;
    WindowDriver window(settings);
    window.settle();
    const double before = window.places.find("row T07")->y;
    for (const int tests : {3, 1, 17, 10}) {
        CAPTURE(tests);
        apply(*window.session, OnTheGround{PlaceTests{tests}});
        window.frames(2);
        CHECK(window.places.find("row T07")->y == before);  // while it is worked out
        window.settle();
        CHECK(window.places.find("row T07")->y == before);
    }
    window.click("budget");
    window.settle();
    const int pressed = window.session->ground.tests;
    const std::string field = window.session->field;
    const int right = ImGui::GetIO().KeyMap[ImGuiKey_RightArrow], left = ImGui::GetIO().KeyMap[ImGuiKey_LeftArrow];
    window.press(right);
    window.press(right);
    CHECK(window.session->ground.tests == pressed + 2);
    window.press(left);
    CHECK(window.session->ground.tests == pressed + 1);
    CHECK(window.session->field == field);
}

TEST_CASE("the gain stands in the list of fields at large type, and says with the saving where it comes from") {
    WindowSettings settings = demo_at("where-first");
    settings.width = 1280;
    settings.height = 800;
    settings.text_scale = 2.0;
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    CHECK(window.shows("head 4"));  // number, field, interval, chance, gain
    choose(window, "T07");
    CHECK(window.shows("name of the field"));
    CHECK_THAT(words_drawn(window), Catch::Contains("T07, Heavy Break"));
    CHECK_THAT(words_drawn(window), Catch::Contains("A test here saves about 260 and costs 20: gain 240"));
}
