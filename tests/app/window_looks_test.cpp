#include <algorithm>
#include <map>
#include <tuple>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <imgui.h>

#include "app/language.h"
#include "app/words.h"
#include "tests/support/app/window_driver.h"

/// How the window is drawn: themes, units, and that no letter is cut off or lies on another at any size.
using namespace app::window;
using app::FieldView;
using app::LimitsToChoose;
using app::drawing::Rect;
using Catch::Matchers::Contains;
using tests::WindowDriver;

namespace {

WindowSettings looks_at(const char* room, int width, int height, double scale = 1.0) {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    settings.width = width;
    settings.height = height;
    settings.text_scale = scale;
    return settings;
}

bool any_text(Places& places, const std::string& words) {
    return std::any_of(places.texts()->begin(), places.texts()->end(),
                       [&](const DrawnText& text) { return text.words.find(words) != std::string::npos; });
}

bool lies_in(const Rect& inner, const Rect& outer, double by) {
    return inner.x >= outer.x - by && inner.y >= outer.y - by && inner.x + inner.width <= outer.x + outer.width + by &&
           inner.y + inner.height <= outer.y + outer.height + by;
}

Rect common(const Rect& a, const Rect& b) {
    const double x = std::max(a.x, b.x), y = std::max(a.y, b.y);
    return {x, y, std::max(0.0, std::min(a.x + a.width, b.x + b.width) - x),
            std::max(0.0, std::min(a.y + a.height, b.y + b.height) - y)};
}

/// Every text of the room is whole at its sides, and none lies on another.
void check_no_text_is_cut(const WindowSettings& settings) {
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    finish_work(*window.session);
    window.frames(3);
    const std::vector<DrawnText> texts = *window.places.texts();
    REQUIRE(texts.size() > 10);
    std::string wrong;
    std::vector<const DrawnText*> seen;
    for (const DrawnText& text : texts) {
        const Rect shown = common(text.box, text.clip);
        if (shown.height < 0.5 * text.box.height || shown.width <= 0.0) continue;  // scrolled out of sight
        if (shown.width < text.box.width - 1.5)
            wrong += fmt::format("cut: \"{}\" by {:.0f} of {:.0f} px\n", text.words, text.box.width - shown.width,
                                 text.box.width);
        seen.push_back(&text);
    }
    for (std::size_t i = 0; i < seen.size(); ++i) {
        for (std::size_t j = i + 1; j < seen.size(); ++j) {
            const Rect both = common(seen[i]->box, seen[j]->box);
            const double lower = std::min(seen[i]->box.height, seen[j]->box.height);
            const double narrower = std::min(seen[i]->box.width, seen[j]->box.width);
            if (both.height > 0.3 * lower && both.width > std::max(2.0, 0.05 * narrower))
                wrong += fmt::format("on one another: \"{}\" and \"{}\"\n", seen[i]->words, seen[j]->words);
        }
    }
    INFO(settings.room << " " << settings.language << " " << settings.width << " x " << settings.height << " at "
                       << *settings.text_scale);
    CHECK(wrong == "");
    const Rect screen{0.0, 0.0, static_cast<double>(settings.width), static_cast<double>(settings.height)};
    for (const char* place : {"canvas", "caution", "season", "looks"}) {
        if (!window.shows(place)) continue;
        CAPTURE(place);
        CHECK(lies_in(*window.places.find(place), screen, 1.0));
    }
}

}  // namespace

TEST_CASE("no text is cut at its side and none lies on another at small and large type in every room") {
    const auto [width, height] = GENERATE(std::pair{1440, 900}, std::pair{1024, 700});
    const double scale = GENERATE(0.75, 1.0, 2.0);
    const char* room = GENERATE("where-first", "bench", "contamination", "bins", "past-seasons");
    check_no_text_is_cut(looks_at(room, width, height, scale));
}

TEST_CASE("no text is cut at its side and none lies on another in German") {
    const auto [width, height] = GENERATE(std::pair{1440, 900}, std::pair{1024, 700});
    const double scale = GENERATE(0.75, 1.0, 2.0);
    const char* room = GENERATE("where-first", "bench", "contamination", "bins", "past-seasons");
    WindowSettings settings = looks_at(room, width, height, scale);
    settings.language = "de";
    check_no_text_is_cut(settings);
}

TEST_CASE("at twice the size of type the order still says what its tests are worth and which are not") {
    WindowSettings settings = looks_at("where-first", 1440, 900, 2.0);
    settings.language = GENERATE("", "de");
    const bool german = !settings.language.empty();
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    finish_work(*window.session);
    window.frames(3);
    CHECK(any_text(window.places, german ? "Erwarteter Verlust" : "Expected loss"));
    CHECK(any_text(window.places, german ? "lohnt nicht" : "not worth it"));
}

TEST_CASE("the names in the list of looks stand free of what is chosen beside them") {
    WindowSettings settings = looks_at("where-first", 1440, 900);
    settings.language = "de";
    WindowDriver window(settings);
    window.settle();
    window.click("looks");
    const app::SpokenIn german("de");
    const double from = window.places.find("looks list")->x;
    for (const auto& [name, first] :
         {std::pair{&app::words::looks_theme, "theme light"}, std::pair{&app::words::looks_unit, "unit mg/kg"},
          std::pair{&app::words::looks_language, "language en"},
          std::pair{&app::words::looks_scale, "scale by the screen"}}) {
        CAPTURE(first);
        CHECK(window.places.find(first)->x > from + static_cast<double>(ImGui::CalcTextSize(app::spoken(*name)).x));
    }
}

TEST_CASE("letters of Greek and Cyrillic are baked when the first of them is drawn, and not before") {
    const auto has = [](const WindowDriver& window, ImWchar letter) {
        return window.brushes.fonts.face(16.0, app::drawing::Weight::regular)->FindGlyphNoFallback(letter) != nullptr;
    };
    WindowSettings settings = looks_at("where-first", 1440, 900);
    settings.language = GENERATE("", "de");
    WindowDriver window(settings);
    window.settle();
    window.frames(2);
    CHECK(has(window, 0x0219));  // Romanian
    CHECK(has(window, 0x017E));  // Czech
    CHECK_FALSE(has(window, 0x0416));
    CHECK_FALSE(window.brushes.fonts.is_missing_letters());
    // A widget draws what the figures' painter never sees.
    window.session->problem = "Поле, χωράφι, ș";
    window.frames(1);
    CHECK(has(window, 0x0416));
    CHECK(has(window, 0x03C7));
    window.frames(2);
    CHECK_FALSE(window.brushes.fonts.is_missing_letters());
}

TEST_CASE("the thin space between thousands is a sign that the window can draw") {
    WindowDriver window(looks_at("bins", 1440, 900));
    for (const auto weight : {app::drawing::Weight::regular, app::drawing::Weight::bold})
        CHECK(window.brushes.fonts.face(16.0, weight)->FindGlyphNoFallback(0x202F) != nullptr);
}

TEST_CASE("colours and unit and size are chosen in the window and by keys") {
    WindowDriver window(looks_at("contamination", 1440, 900));
    window.places.note_texts();
    window.settle();
    CHECK(any_text(window.places, "DON, mg/kg (median)"));
    window.click("looks");
    REQUIRE(window.shows("looks list"));
    CHECK(lies_in(*window.places.find("looks list"), {0.0, 0.0, 1440.0, 900.0}, 1.0));
    window.click("theme dark");
    CHECK(window.session->theme == app::drawing::ThemeName::dark);
    CHECK(window.brushes.theme.paper.red == app::drawing::dark_theme().paper.red);
    window.click("unit ug/kg");
    CHECK(window.session->unit == app::drawing::ContentUnit::ug_per_kg);
    window.click("scale 125");
    CHECK(window.session->text_scale == 1.25);
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_Escape]);
    window.frames(2);
    CHECK_FALSE(window.shows("looks list"));
    CHECK(any_text(window.places, "DON, µg/kg (median)"));
    CHECK_FALSE(any_text(window.places, "DON, mg/kg (median)"));
    window.press(GLFW_KEY_F2);
    window.frames(3);
    CHECK(window.shows("looks list"));
    window.press(GLFW_KEY_F2);
    window.frames(3);
    CHECK_FALSE(window.shows("looks list"));
    // The size by Ctrl and the keys of zooming, which leave the map alone then.
    const double before = window.views.map->metres_per_px;
    const auto with_ctrl = [&](int key) {
        window.views.keys.pressed_now(GLFW_KEY_LEFT_CONTROL);
        window.press(key);
        window.views.keys.released_now(GLFW_KEY_LEFT_CONTROL);
        window.frames(3);
    };
    with_ctrl('=');
    CHECK(window.session->text_scale == 1.5);
    with_ctrl('-');
    with_ctrl('-');
    CHECK(window.session->text_scale == 1.1);
    with_ctrl('0');
    CHECK_FALSE(window.session->text_scale);
    CHECK(window.views.map->metres_per_px == before);
}

TEST_CASE("the legend of the map speaks of the colours that are there") {
    WindowSettings settings = looks_at("contamination", 1440, 900);
    settings.theme = GENERATE("light", "dark", "outdoor");
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    const bool dark = settings.theme == "dark";
    CHECK(any_text(window.places, "dark rim") == dark);
    CHECK(any_text(window.places, "almost black") == dark);
    CHECK(any_text(window.places, "pale rim") != dark);
    CHECK(any_text(window.places, "almost white") != dark);
}

TEST_CASE("limits, legends, axes and intervals follow the unit in every room but the bench") {
    const char* room = GENERATE("where-first", "contamination", "bins", "past-seasons");
    WindowSettings settings = looks_at(room, 1440, 900);
    settings.units = "ug/kg";
    WindowDriver window(settings);
    window.places.note_texts();
    window.settle();
    finish_work(*window.session);
    window.frames(3);
    // What names mg/kg was made beside the window, as a sentence with its own numbers; no legend, axis or limit does.
    for (const DrawnText& text : *window.places.texts()) {
        CAPTURE(text.words);
        CHECK(text.words.find("DON, mg/kg") == std::string::npos);
        CHECK(text.words.find("mg/kg (logarithmic)") == std::string::npos);
        CHECK(text.words.find("e+") == std::string::npos);
        CHECK(text.words != "Limit 1.5 mg/kg");
    }
    const bool names_limit = std::string(room) != "bins";
    if (names_limit) CHECK(any_text(window.places, "limit 1000 µg/kg"));
    if (!names_limit) CHECK(any_text(window.places, "Limit 1500 µg/kg"));
    if (std::string(room) == "past-seasons") CHECK(any_text(window.places, "1000."));
    CHECK(window.session->limit == "1.0");  // as everything is kept
}

TEST_CASE("a limit that is typed is of the unit that is shown") {
    WindowSettings settings = looks_at("contamination", 1440, 900);
    settings.units = "ppb";
    WindowDriver window(settings);
    window.settle();
    window.click("limit");
    window.click("own limit");
    window.write("750");
    window.click("take own limit");
    CHECK(window.session->limit == "0.75");
    window.settle();
    CHECK(window.session->answer->view.limit->limit_mg_per_kg == 0.75);
}

TEST_CASE("the bench is in mg/kg whatever the unit for that is what it records") {
    WindowSettings settings = looks_at("bench", 1440, 900);
    settings.units = "ug/kg";
    WindowDriver window(settings);
    window.places.note_texts();
    window.frames(3);
    CHECK(any_text(window.places, "Last tests of any season, mg/kg"));
}

TEST_CASE("the help of the keys calls each room by the question of its tab, in every language") {
    for (const std::string& language : app::languages()) {
        const app::SpokenIn spoken_in(language);
        std::map<std::string, int> lines;
        for (const auto& [key, what] : app::words::keys) {
            const std::string english = what.original, said = app::spoken(what);
            CAPTURE(language, english, said);
            // Rooms have no other names than those above them.
            for (const char* other : {"at the pit", "the bench", "map:", "where first:", "past seasons"})
                CHECK(english.find(other) == std::string::npos);
            const auto dash = said.find(" – ");
            CHECK((dash == std::string::npos) == (english.find(" – ") == std::string::npos));
            if (dash == std::string::npos) continue;
            bool is_room = false;
            for (const Room room : {Room::where_first, Room::bench, Room::contamination, Room::bins, Room::seasons})
                is_room = is_room || said.substr(0, dash) == name_of_room(room);
            CHECK(is_room);
            ++lines[said.substr(0, dash)];
        }
        CHECK(lines.size() == 3);  // what is seen anywhere, or in two rooms, is said without one
    }
}

TEST_CASE("limits from memory carry a star, and what it means stands once above them") {
    WindowDriver window(looks_at("where-first", 1440, 900));
    window.places.note_texts();
    window.settle();
    window.click("limit");
    window.frames(2);
    const LimitsToChoose& limits = window.session->limits;
    const auto unsure = std::find_if(limits.fitting.begin(), limits.fitting.end(),
                                     [](const models::Limit& limit) { return !limit.confirmed; });
    REQUIRE(unsure != limits.fitting.end());
    CHECK(window.shows("limits from memory"));
    const app::SpokenIn english("en");
    CHECK(std::string(app::spoken(app::words::limits_from_memory)) == "* from memory");
    int with_star = 0, without = 0;
    for (const models::Limit& limit : limits.fitting) {
        const std::string begin = limit.limit_id + " ";
        CAPTURE(begin);
        const auto line = std::find_if(window.places.texts()->begin(), window.places.texts()->end(),
                                       [&](const DrawnText& text) { return text.words.starts_with(begin); });
        REQUIRE(line != window.places.texts()->end());
        // The numbers that somebody looked up have none.
        CHECK(line->words.ends_with("*") == !limit.confirmed);
        ++(limit.confirmed ? without : with_star);
    }
    CHECK((with_star > 0 && without > 0));
}

TEST_CASE("a field of durum names the limit of durum beside the one that all fields are judged by") {
    for (const char* room : {"contamination", "where-first"}) {
        WindowSettings settings = looks_at(room, 1440, 900);
        settings.field = "V04";
        WindowDriver window(settings);
        window.places.note_texts();
        window.settle();
        finish_work(*window.session);
        window.frames(3);
        const FieldView* field = chosen_field(*window.session);
        REQUIRE(field != nullptr);
        REQUIRE(field->of_its_grain);
        CHECK(field->of_its_grain->limit.limit_id == "eu-food-durum");
        CHECK(field->of_its_grain->exceedance < *field->exceedance);  // 1.5 against 1.0
        CHECK(any_text(window.places, "It is durum: the chances here go by"));
        CHECK(any_text(window.places, "eu-food-durum"));
        apply(*window.session, ChooseField{"T07"});
        finish_work(*window.session);
        window.frames(3);
        CHECK_FALSE(any_text(window.places, "eu-food-durum"));  // that one is wheat
        apply(*window.session, ChooseLimit{"eu-food-durum"});
        window.settle();
        apply(*window.session, ChooseField{"V04"});
        finish_work(*window.session);
        window.frames(3);
        CHECK_FALSE(any_text(window.places, "It is durum"));
    }
}
