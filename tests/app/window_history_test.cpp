#include <filesystem>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <imgui.h>
#include <unistd.h>

#include "app/language.h"
#include "app/window/history.h"
#include "geo/check.h"
#include "geo/export.h"
#include "geo/store/started_strips.h"
#include "geo/store/store.h"
#include "tests/support/app/bench_window.h"

/// Ctrl+Z in the window: choices at once, records by records, and never by a scanner.
using namespace app::window;
using Catch::Matchers::Contains;
using Catch::Matchers::StartsWith;
using tests::BenchWindow;
using tests::WindowDriver;

namespace {

WindowSettings demo_with_room(const char* room) {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = room;
    return settings;
}

void with_ctrl(WindowDriver& window, int key, bool shift = false) {
    if (shift) window.views.keys.pressed_now(GLFW_KEY_LEFT_SHIFT);
    window.views.keys.pressed_now(GLFW_KEY_LEFT_CONTROL);
    window.views.keys.pressed_now(key);
    window.views.keys.released_now(key);
    window.views.keys.released_now(GLFW_KEY_LEFT_CONTROL);
    if (shift) window.views.keys.released_now(GLFW_KEY_LEFT_SHIFT);
    do {
        window.frames(1);
    } while (window.views.keys.any_waiting());
    window.frames(2);
}

/// As long as a person takes between two presses, at 60 frames a second.
void a_moment_later(WindowDriver& window) {
    window.frames(12);
}

void twice_with_ctrl(WindowDriver& window, int key, bool shift = false) {
    with_ctrl(window, key, shift);
    a_moment_later(window);
    with_ctrl(window, key, shift);
}

std::string tests_of(const std::filesystem::path& store) {
    return geo::export_text(geo::Store::open(store, geo::Store::Access::read_only), "tests").text;
}

}  // namespace

TEST_CASE("every choice is taken back and done again in its order") {
    WindowDriver window(demo_with_room("contamination"));
    window.settle();
    Session& session = *window.session;
    const std::string field = session.field, other = session.answer->rank.rows.at(3).field;
    CHECK(session.history.next_back(DeedSort::choice) == nullptr);
    apply(session, ChooseField{other});
    apply(session, ShowLayer{app::drawing::MapShows::exceedance});
    apply(session, EnterRoom{Room::seasons});  // to walk from room to room is nothing to take back
    apply(session, ChooseTheme{app::drawing::ThemeName::dark});
    apply(session, ChooseUnit{app::drawing::ContentUnit::ppb});
    apply(session, ChooseScale{1.5});
    apply(session, ChooseLimit{"1.5"});
    apply(session, ChooseSeason{2024});
    CHECK(session.history.deeds().size() == 7);
    apply(session, ChooseSeason{2024});  // changes nothing, is nothing to take back
    apply(session, ReadAgain{});
    CHECK(session.history.deeds().size() == 7);
    CHECK(session.history.next_back(DeedSort::choice)->what == "season 2024 chosen");
    for (int i = 0; i < 7; ++i) with_ctrl(window, 'Z');
    CHECK(session.season == 2026);
    CHECK(session.limit == "1.0");
    CHECK(session.field == field);
    CHECK(session.room == Room::seasons);
    CHECK(session.layer == app::drawing::MapShows::content);
    CHECK(session.theme == app::drawing::ThemeName::light);
    CHECK(session.unit == app::drawing::ContentUnit::mg_per_kg);
    CHECK_FALSE(session.text_scale);
    CHECK(session.history.next_back(DeedSort::choice) == nullptr);
    with_ctrl(window, 'Z');  // nothing is left
    CHECK(session.history.next_again(DeedSort::choice)->what == "field " + other + " chosen");
    for (int i = 0; i < 4; ++i) with_ctrl(window, 'Z', true);
    for (int i = 0; i < 3; ++i) with_ctrl(window, 'Y');
    CHECK(session.season == 2024);
    CHECK(session.limit == "1.5");
    CHECK(session.field == other);
    CHECK(session.room == Room::seasons);
    CHECK(session.text_scale == 1.5);
    CHECK(session.history.next_again(DeedSort::choice) == nullptr);
    // Something new ends what could be done again.
    with_ctrl(window, 'Z');
    apply(session, EnterRoom{Room::bins});
    CHECK(session.history.next_again(DeedSort::choice) != nullptr);
    apply(session, ChooseTheme{app::drawing::ThemeName::outdoor});
    CHECK(session.history.next_again(DeedSort::choice) == nullptr);
    window.settle();
}

TEST_CASE("the line at the bottom names what is taken back and the list shows it") {
    WindowDriver window(demo_with_room("contamination"));
    window.settle();
    CHECK_FALSE(window.shows("sitting words"));
    window.press('V');
    window.settle();
    CHECK(window.shows("sitting words"));
    CHECK_FALSE(window.shows("sitting"));
    window.press(GLFW_KEY_F3);
    CHECK(window.shows("sitting"));
    window.click("take back");
    CHECK(window.session->layer == app::drawing::MapShows::content);
    CHECK(window.session->history.said() == "Taken back: map shows “Chance over”");
    window.click("do again");
    CHECK(window.session->layer == app::drawing::MapShows::exceedance);
    window.press(ImGui::GetIO().KeyMap[ImGuiKey_Escape]);
    window.frames(2);
    CHECK_FALSE(window.shows("sitting"));
    // Ctrl that is let go before Z, all of it before a frame is drawn.
    for (const int key : {GLFW_KEY_LEFT_CONTROL, static_cast<int>('Z')}) window.views.keys.pressed_now(key);
    for (const int key : {GLFW_KEY_LEFT_CONTROL, static_cast<int>('Z')}) window.views.keys.released_now(key);
    do {
        window.frames(1);
    } while (window.views.keys.any_waiting());
    window.frames(2);
    CHECK(window.session->layer == app::drawing::MapShows::content);
    apply(*window.session, ShowLayer{app::drawing::MapShows::exceedance});
    // Z alone is no Ctrl+Z, and a choice whose work was stopped is none.
    window.press('Z');
    CHECK(window.session->layer == app::drawing::MapShows::exceedance);
    apply(*window.session, ChooseLimit{"no such limit"});
    window.settle();
    CHECK(window.session->limit == "1.0");
    with_ctrl(window, 'Z');
    CHECK(window.session->layer == app::drawing::MapShows::content);
}

TEST_CASE("what was done is named in the language that is chosen, also what was done before it was chosen") {
    BenchWindow bench;
    bench.open();
    Session& session = *bench.window->session;
    apply(session, ChooseField{"P06"});
    apply(session, ChooseField{"U01"});
    bench.window->line("new S903 stage=standing field=T07");
    const std::string field = in_words(session.history.deeds().at(1)),
                      sample = in_words(*session.history.next_back(DeedSort::records));
    CHECK(field == "field U01 chosen");
    CHECK(sample == "sample S903 entered");
    // The record goes, and something else is done since.
    apply(session, Undo{});
    bench.window->line("new S904 stage=standing field=T07");
    REQUIRE(session.history.deeds().size() == 4);
    CHECK(why_not_in_words(session.history.deeds()[2]) == "something else was done since");
    apply(session, ChooseLanguage{"de"});
    const app::SpokenIn german("de");
    CHECK(in_words(session.history.deeds()[1]) == "Feld U01 gewählt");
    CHECK(in_words(session.history.deeds()[2]) == "Probe S903 eingetragen");
    CHECK(in_words(session.history.deeds()[3]) == "Probe S904 eingetragen");
    CHECK(why_not_in_words(session.history.deeds()[2]) == "seither geschah anderes");
    // A record that somebody else changed is refused in German, before anything is written.
    geo::Store store = geo::Store::open(bench.store());
    {
        const models::Translated english(nullptr);
        geo::ImportOptions options;
        options.correct_because = "typed again";
        geo::add_row(store, "samples", {{"sample", "S904"}, {"increments", "20"}}, options);
    }
    const std::size_t before = session.history.writes();
    apply(session, Undo{});  // not the language: at the bench records alone are taken back
    CHECK(session.language == "de");
    CHECK_THAT(session.history.deeds()[3].why_not, Catch::StartsWith("Probe S904 hat seither jemand anders geändert"));
    CHECK(session.history.writes() == before);
}

TEST_CASE("a test is taken back by a withdrawal with its reason, as the command line makes it") {
    BenchWindow bench;
    bench.open();
    Session& session = *bench.window->session;
    const std::string before = tests_of(bench.store());
    bench.window->line("kit K7");
    bench.window->line("S901", true);
    const std::string strip = session.bench->view().running.at(0).strip.strip;
    bench.later(375);
    bench.window->line("0.62");
    bench.window->line("yes");
    REQUIRE(bench.tests() == bench.tests_before + 1);
    const std::string after = tests_of(bench.store());
    CHECK(session.history.next_back(DeedSort::records)->what == "test " + strip + " entered");
    // Once asks, the second time does it.
    with_ctrl(*bench.window, 'Z');
    CHECK(bench.window->shows("sitting"));
    CHECK(bench.tests() == bench.tests_before + 1);
    a_moment_later(*bench.window);
    with_ctrl(*bench.window, 'Z');
    CHECK(bench.tests() == bench.tests_before);
    CHECK(tests_of(bench.store()) == before);
    CHECK_FALSE(bench.window->shows("result " + strip));  // the bench knows at once
    // Below the line that said it was recorded it says that it stands no more.
    CHECK(session.bench->said().back().sentences.back() == "Taken back: test " + strip + " entered");
    {
        const geo::Store store = geo::Store::open(bench.store());
        REQUIRE_FALSE(store.withdrawals().empty());
        CHECK(store.withdrawals().back().name == strip);
        CHECK(store.withdrawals().back().reason == "taken back in the window");
    }
    twice_with_ctrl(*bench.window, 'Y');
    CHECK(tests_of(bench.store()) == after);
    CHECK(bench.window->shows("result " + strip));
    // The start of a strip that was read stays, and says so beside itself.
    twice_with_ctrl(*bench.window, 'Z');
    CHECK(bench.tests() == bench.tests_before);
    twice_with_ctrl(*bench.window, 'Z');
    CHECK_THAT(session.history.said(), Contains("was read, so it was run: its start stays"));
    CHECK_THAT(session.history.deeds().front().why_not, Contains("its start stays"));
    geo::Store store = geo::Store::open(bench.store());
    for (const auto& finding : geo::check_store(store)) CHECK(finding.good);
}

TEST_CASE("a strip that only runs and a new sample are taken back and a mistake, too") {
    BenchWindow bench;
    bench.open();
    bench.window->line("new S903 stage=combine field=T07");
    bench.window->line("S903", true);
    bench.window->line("mistake wrong bag");
    CHECK(bench.window->session->bench->view().running.empty());
    twice_with_ctrl(*bench.window, 'Z');
    CHECK(bench.window->session->bench->view().running.size() == 1);
    twice_with_ctrl(*bench.window, 'Z');
    CHECK(bench.window->session->bench->view().running.empty());
    CHECK(bench.window->session->history.next_back(DeedSort::records)->what == "sample S903 entered");
    twice_with_ctrl(*bench.window, 'Z');
    const geo::Store store = geo::Store::open(bench.store());
    for (const models::Sample& sample : store.samples()) CHECK(sample.sample != "S903");
    CHECK(store.withdrawals().size() == 2);
}

TEST_CASE("a held key and a scanner that sends control signs take no record back") {
    BenchWindow bench;
    bench.open();
    bench.window->line("S901", true);
    REQUIRE(bench.window->session->bench->view().running.size() == 1);
    bench.window->views.keys.pressed_now(GLFW_KEY_LEFT_CONTROL);
    for (int i = 0; i < 40; ++i) {  // repeats every frame
        bench.window->views.keys.pressed_now('Z');
        bench.window->frames(1);
    }
    bench.window->views.keys.released_now('Z');
    bench.window->views.keys.released_now(GLFW_KEY_LEFT_CONTROL);
    bench.window->frames(3);
    CHECK(bench.window->session->bench->view().running.size() == 1);
    // What the list asks is not answered by a scanner either.
    for (const char* burst : {"yes", "y", "S902"}) bench.window->line(burst, true);
    bench.window->type_at_once({ImGui::GetIO().KeyMap[ImGuiKey_Enter], ImGui::GetIO().KeyMap[ImGuiKey_Space]});
    CHECK(bench.window->session->bench->view().running.size() == 2);  // S902 was a code, and started its strip
    const geo::Store store = geo::Store::open(bench.store());
    CHECK(store.withdrawals().empty());
}

TEST_CASE("a result that waits for its yes is dropped by Ctrl+Z and nothing is recorded of it") {
    BenchWindow bench;
    bench.open();
    bench.window->line("kit K7");
    bench.window->line("S901", true);
    bench.later(375);
    bench.window->line("0.62");
    REQUIRE(bench.window->shows("bench yes"));
    const auto records = geo::end_of_chain(geo::Store::open(bench.store())).records;
    with_ctrl(*bench.window, 'Z');
    CHECK_FALSE(bench.window->shows("bench yes"));
    CHECK_THAT(bench.said(), Contains("not confirmed"));
    CHECK(bench.window->session->bench->view().running.size() == 1);
    CHECK(geo::end_of_chain(geo::Store::open(bench.store())).records == records);
}

TEST_CASE("any writer that goes through the history has its records taken back") {
    BenchWindow bench;
    bench.open();
    geo::Store store = geo::Store::open(bench.store());
    const std::vector<models::Load> all = store.loads();
    const models::Load& waiting = *std::find_if(
        all.begin(), all.end(), [](const models::Load& load) { return load.status == models::LoadStatus::awaiting; });
    const std::string loads = geo::export_text(store, "loads").text, moves = geo::export_text(store, "moves").text;
    History& history = bench.window->session->history;
    history.write(store,
                  {{"moves",
                    {{"move", "M901"},
                     {"time", "2026-07-20T11:00:00+02:00"},
                     {"from", waiting.load},
                     {"to", "out"},
                     {"mass_t", "1"},
                     {"kind", "rejected"}}},
                   {"loads", {{"load", waiting.load}, {"status", "turned_away"}}, "", "turned away"}},
                  "", "load " + waiting.load + " turned away");
    CHECK(history.next_back(DeedSort::records)->what == "load " + waiting.load + " turned away");
    REQUIRE(geo::export_text(store, "moves").text != moves);
    twice_with_ctrl(*bench.window, 'Z');
    CHECK(history.said() == "Taken back: load " + waiting.load + " turned away");
    CHECK(geo::export_text(store, "moves").text == moves);
    CHECK(geo::export_text(store, "loads").text == loads);
    // What was refused whole is no deed.
    const std::size_t deeds = history.deeds().size();
    CHECK_THROWS_WITH(history.write(store, {{"moves", {{"move", "M902"}, {"time", "never"}}}}), Contains("required"));
    CHECK(history.deeds().size() == deeds);
}

TEST_CASE("at the bench and the pit Ctrl+Z takes back records alone and in the other rooms choices alone") {
    BenchWindow bench;
    bench.open();
    Session& session = *bench.window->session;
    bench.window->line("new S903 stage=standing field=T07");
    apply(session, ChooseTheme{app::drawing::ThemeName::dark});
    apply(session, ChooseField{"P06"});
    CHECK(session.history.next_back(DeedSort::records)->what == "sample S903 entered");
    CHECK(session.history.next_back(DeedSort::choice)->what == "field P06 chosen");
    const auto has_sample = [&] {
        const std::vector<models::Sample> all = geo::Store::open(bench.store()).samples();
        return std::any_of(all.begin(), all.end(), [](const models::Sample& one) { return one.sample == "S903"; });
    };
    // Among maps it is the choice, and the record stays.
    apply(session, EnterRoom{Room::contamination});
    bench.window->settle();
    bench.window->places.note_texts();
    bench.window->frames(2);
    const auto says = [&](const std::string& words) {
        const auto* texts = bench.window->places.texts();
        return std::any_of(texts->begin(), texts->end(),
                           [&](const DrawnText& one) { return one.words.find(words) != std::string::npos; });
    };
    CHECK(says("Ctrl+Z takes back: field P06"));
    with_ctrl(*bench.window, 'Z');
    CHECK(session.field != "P06");
    CHECK(has_sample());
    // At the pit it is the record, though a choice was taken back and another made since.
    apply(session, ChooseUnit{app::drawing::ContentUnit::ppb});
    apply(session, EnterRoom{Room::bins});
    bench.window->settle();
    bench.window->press(GLFW_KEY_F3);
    bench.window->frames(2);
    CHECK(says("Here Ctrl+Z takes back records alone"));
    CHECK(says("Ctrl+Z takes back: sample S903 entered"));
    twice_with_ctrl(*bench.window, 'Z');
    CHECK_FALSE(has_sample());
    CHECK(session.unit == app::drawing::ContentUnit::ppb);
    CHECK(session.theme == app::drawing::ThemeName::dark);
    // A choice that is made since leaves the record to be done again.
    apply(session, ChooseUnit{app::drawing::ContentUnit::ppm});
    REQUIRE(session.history.next_again(DeedSort::records) != nullptr);
    twice_with_ctrl(*bench.window, 'Y');
    CHECK(has_sample());
    bench.window->settle();
}
