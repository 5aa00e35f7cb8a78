#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/window/line_entry.h"
#include "geo/check.h"
#include "geo/store/started_strips.h"
#include "geo/store/store.h"
#include "tests/support/app/bench_window.h"

/// The bench in the window: what a hand and a scanner do there, and what the store holds of it.
using namespace app::window;
using Catch::Matchers::Contains;
using tests::BenchWindow;

TEST_CASE("a line that is whole at once is one of the scanner and a typed one is not") {
    LineEntry entry;
    LineEntry::Clock::time_point when{};
    for (const char letter : std::string("S1")) entry.letter(static_cast<unsigned char>(letter), when);
    entry.enter(when);
    entry.letter('S', when);
    entry.letter('2', when);
    entry.enter(when);  // two codes before anybody looks
    entry.letter('y', when);
    entry.enter(when + app::faster_than_a_person);
    const auto first = entry.take(), second = entry.take(), third = entry.take();
    REQUIRE(third);
    CHECK(first->text == "S1");
    CHECK(first->from == app::LineFrom::scanner);
    CHECK(second->text == "S2");
    CHECK(third->text == "y");
    CHECK(third->from == app::LineFrom::keys);
    CHECK_FALSE(entry.take());
    // Whole letters, whatever their bytes; what is no letter is none.
    for (const unsigned code : {0x5AU, 0xFCU, 0x0416U, 0x4E2DU, 0x1F33EU, 0x08U, 0xD800U, 0x110000U})
        entry.letter(code, when);
    CHECK(entry.text() == "Z\u00FC\u0416\u4E2D\U0001F33E");
    for (int i = 0; i < 4; ++i) entry.erase_last();
    CHECK(entry.text() == "Z");
    entry.erase_last();
    entry.erase_last();
    CHECK(entry.text().empty());
    for (int i = 0; i < 5000; ++i) entry.letter('x', when);
    CHECK(entry.text().size() == 1000);
}

TEST_CASE("a test is made at the bench of the window with its clock and its yes") {
    BenchWindow bench;
    bench.open();
    CHECK(bench.window->shows("bench line"));
    CHECK(bench.window->shows("bench in use"));
    CHECK_FALSE(clock_runs(*bench.window->session));
    bench.window->line("kit K7");
    bench.window->line("S901", true);
    REQUIRE(bench.window->session->bench->view().running.size() == 1);
    const std::string strip = bench.window->session->bench->view().running[0].strip.strip;
    CHECK(bench.window->shows("clock " + strip));
    CHECK(clock_runs(*bench.window->session));
    bench.later(375);
    CHECK_THAT(bench.said(), Contains("read now"));  // said by itself
    bench.window->line("0.62");
    CHECK(bench.window->shows("bench yes"));
    CHECK(bench.tests() == bench.tests_before);
    bench.window->line("yes");
    CHECK(bench.tests() == bench.tests_before + 1);
    CHECK_FALSE(bench.window->shows("bench yes"));
    CHECK(bench.window->shows("result " + strip));
    CHECK(bench.window->shows("bench parts"));  // of the result that was just recorded
    CHECK_FALSE(bench.window->shows("bench chart"));
    bench.window->line("kit OM-26-F");
    CHECK(bench.window->shows("bench chart"));  // the demo read controls with that lot
    geo::Store store = geo::Store::open(bench.store());
    for (const auto& finding : geo::check_store(store)) CHECK(finding.good);
}

TEST_CASE("no burst of a scanner confirms a result or leaves the bench") {
    BenchWindow bench;
    bench.open();
    bench.window->line("kit K7");
    bench.window->line("S901", true);
    bench.later(375);
    bench.window->line("0.62");
    REQUIRE(bench.window->shows("bench yes"));
    for (const char* burst : {"yes", "y", "Y", "1", "3", "end"}) {
        bench.window->line(burst, true);
        bench.window->type_at_once({static_cast<unsigned char>(burst[0]), ImGui::GetIO().KeyMap[ImGuiKey_Enter]});
        CHECK(bench.window->session->room == Room::bench);
        CHECK(bench.tests() == bench.tests_before);
    }
    // A hand on the pointer may.
    bench.window->line("result S901 0.62");
    bench.window->click("bench yes");
    CHECK(bench.tests() == bench.tests_before + 1);
}

TEST_CASE("letters and numbers belong to the line of the bench and rooms are left with Alt") {
    BenchWindow bench;
    bench.open();
    bench.window->press('1');
    CHECK(bench.window->session->room == Room::bench);
    bench.window->press('S');
    bench.window->frames(2);
    CHECK_FALSE(bench.window->shows("season 2024"));
    bench.window->line("help");
    CHECK(bench.window->shows("bench help"));
    bench.window->line("end");
    CHECK_THAT(bench.said(), Contains("the bench stays here"));
    bench.window->line("kit K999");
    CHECK(bench.window->session->bench->said().back().refused);
    CHECK_THAT(bench.said(), Contains("K999"));
    bench.window->click("room contamination");
    CHECK(bench.window->session->room == Room::contamination);
    bench.window->press('2');
    CHECK(bench.window->session->room == Room::bench);
}

TEST_CASE("a store that cannot be written shows why and the other rooms go on") {
    BenchWindow bench;
    bench.open();
    CHECK(bench.window->session->bench_problem.empty());
    bench.window->session->bench.reset();
    bench.window->session->store = "/nowhere/season.lodicule";
    apply(*bench.window->session, EnterRoom{Room::bench});
    bench.window->frames(2);
    CHECK_FALSE(bench.window->shows("bench line"));
    CHECK_THAT(bench.window->session->bench_problem, Contains("season.lodicule"));
}
