#include <sstream>

#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/bench/bench_words.h"
#include "app/language.h"
#include "app/window/line_entry.h"
#include "geo/check.h"
#include "geo/store/started_strips.h"
#include "geo/store/store.h"
#include "tests/support/app/bench_window.h"

/// The bench in the window: what a hand and a scanner do there, and what the store holds of it.
using namespace app::window;
using Catch::Matchers::Contains;
using tests::BenchWindow;
using tests::WindowDriver;

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

TEST_CASE("who sits down at the bench begins by pressing what the store has") {
    BenchWindow bench;
    bench.open();
    const app::BenchView& view = bench.window->session->bench->view();
    REQUIRE_FALSE(view.choices.kit_lots.empty());
    REQUIRE_FALSE(view.choices.samples.empty());
    CHECK(bench.window->shows("bench start"));
    const std::string lot = view.choices.kit_lots.front(), sample = view.choices.samples.front().sample;
    bench.window->click("kit " + lot);
    CHECK(view.kept.at("kit_lot") == lot);
    CHECK_FALSE(bench.window->shows("kit " + lot));  // it is in use and not asked again
    bench.window->click("start " + sample);
    REQUIRE(view.running.size() == 1);
    CHECK(view.running[0].strip.sample == sample);
    CHECK(view.running[0].strip.kit_lot == lot);
    CHECK_FALSE(bench.window->shows("start " + sample));  // a strip runs
    const std::string who = view.choices.operators.front();
    bench.window->click("operator " + who);  // who tests can still be said
    CHECK(view.kept.at("operator") == who);
    CHECK_FALSE(bench.window->shows("bench start"));  // nothing is left to choose
    CHECK(bench.tests() == bench.tests_before);
}

TEST_CASE("in large type all that a test can begin with is reached, and none of it lies over the caution") {
    BenchWindow bench;
    bench.open();
    WindowDriver& window = *bench.window;
    const auto [width, height] = GENERATE(std::pair{1280, 800}, std::pair{1024, 700});
    CAPTURE(width, height);
    ImGui::GetIO().DisplaySize = {static_cast<float>(width), static_cast<float>(height)};
    window.bake(2.0 * usual_text_px);
    set_style(window.brushes);
    bench.window->line("operator Ada");
    window.frames(4);
    REQUIRE(window.shows("bench start"));
    CHECK(window.shows("more below"));
    const app::BenchChoices& choices = window.session->bench->view().choices;
    std::vector<std::string> wanted;
    for (const std::string& lot : choices.kit_lots) wanted.push_back("kit " + lot);
    for (const models::Sample& sample : choices.samples) wanted.push_back("start " + sample.sample);
    REQUIRE(wanted.size() > 3);
    const int page_down = ImGui::GetIO().KeyMap[ImGuiKey_PageDown];
    for (const std::string& place : wanted) {
        CAPTURE(place);
        bool reached = false;
        for (int pages = 0; pages < 40 && !reached; ++pages) {
            const app::drawing::Rect area = *window.places.find("bench start"), button = *window.places.find(place);
            CHECK(area.y + area.height <= window.places.find("caution")->y + 0.5);
            reached = button.y >= area.y - 1.0 && button.y + button.height <= area.y + area.height + 1.0;
            if (!reached) window.press(page_down);
            window.frames(2);
        }
        CHECK(reached);
    }
    CHECK(window.session->bench->view().running.empty());
}

TEST_CASE("what the bench offers is what can be used and still waits") {
    const auto day = [](unsigned d) {
        return models::Stamp{std::chrono::sys_days{std::chrono::year{2026} / 7 / std::chrono::day{d}}, {}};
    };
    std::vector<models::KitLot> lots(4);
    const char* lot_names[] = {"K1", "K8", "K7", "K7"};  // the last for another grain
    for (std::size_t i = 0; i < lots.size(); ++i) lots[i].kit_lot = lot_names[i];
    lots[0].expires = day(9).local_day();
    lots[2].expires = lots[3].expires = day(10).local_day();
    std::vector<models::Sample> samples(5);
    const char* names[] = {"S1", "S2", "S3", "C1", "S4"};
    for (std::size_t i = 0; i < samples.size(); ++i) samples[i].sample = names[i];
    samples[0].taken_time = day(3);
    samples[1].taken_time = day(5);
    samples[3].stage = models::Stage::control;
    std::vector<models::Test> tests(4);
    const char* of[] = {"S1", "S4", "S2", "S4"};
    for (std::size_t i = 0; i < tests.size(); ++i) {
        tests[i].sample = of[i];
        tests[i].time = day(static_cast<unsigned>(i) + 6);
        tests[i].kit_lot = i == 0 ? "K1" : "K7";
        tests[i].operator_name = i == 3 ? "Oda" : i == 2 ? "" : "Ivo";
    }
    tests[0].reading = models::Reading::invalid;
    const app::BenchChoices all = app::choices_at_bench(lots, samples, tests, {}, day(10).local_day());
    CHECK(all.kit_lots == std::vector<std::string>{"K7", "K8"});  // the lot of last use first, the expired one not
    CHECK(all.operators == std::vector<std::string>{"Oda", "Ivo"});
    std::vector<std::string> wait;
    for (const models::Sample& sample : all.samples) wait.push_back(sample.sample);
    CHECK(wait == std::vector<std::string>{"S1", "S3"});  // a void test is no result; without a day comes last
    CHECK(all.more_samples == 0);
    const app::BenchChoices one = app::choices_at_bench(lots, samples, tests, {}, day(11).local_day(), 1);
    CHECK(one.kit_lots == std::vector<std::string>{"K8"});
    CHECK(one.operators == std::vector<std::string>{"Oda"});
    REQUIRE(one.samples.size() == 1);
    CHECK(one.more_samples == 1);
    const app::BenchChoices none = app::choices_at_bench({}, {}, {}, {}, day(11).local_day());
    CHECK((none.kit_lots.empty() && none.operators.empty() && none.samples.empty()));
}

TEST_CASE("a kit lot of which the last control failed is offered with the word that says so") {
    BenchWindow bench;
    {
        geo::Store store = geo::Store::open(bench.store());
        geo::add_row(
            store, "controls",
            {{"control", "C1"}, {"assigned_mg_per_kg", "1"}, {"low_mg_per_kg", "0.8"}, {"high_mg_per_kg", "1.2"}});
        geo::add_row(store, "samples", {{"sample", "C1"}, {"stage", "control"}, {"kind", "composite"}});
        geo::add_row(store, "tests",
                     {{"test", "F1"},
                      {"time", "2026-07-16T08:00+02:00"},
                      {"sample", "C1"},
                      {"don", "2.4"},
                      {"unit", "mg/kg"},
                      {"kit_lot", "K7"},
                      {"commodity", "wheat"}});
    }
    bench.open();
    REQUIRE(bench.window->shows("kit K7"));
    CHECK(bench.window->shows("mark of K7"));
    const app::BenchChoices& choices = bench.window->session->bench->view().choices;
    std::size_t right = 0;
    for (const std::string& lot : choices.kit_lots) {
        CHECK(bench.window->shows("mark of " + lot) == (choices.failed_lots.count(lot) != 0));
        right += choices.failed_lots.count(lot) == 0 ? 1 : 0;
    }
    CHECK(right > 0);
    bench.window->click("kit K7");
    CHECK_THAT(bench.said(), Contains("kit lot K7: its last control, C1, failed on 2026-07-16"));
}

TEST_CASE("the help of the bench can be read to its end at any size of type") {
    BenchWindow bench;
    bench.open();
    WindowDriver& window = *bench.window;
    window.places.note_texts();
    const double scale = GENERATE(1.0, 2.0);
    app::window::apply(*window.session, ChooseScale{scale});
    window.bake(usual_text_px * scale);
    window.line("help");
    window.frames(3);
    const auto in_sight = [&](const std::string& words) {
        for (const DrawnText& text : *window.places.texts()) {
            const bool whole = text.box.y >= text.clip.y - 1.0 &&
                               text.box.y + text.box.height <= text.clip.y + text.clip.height + 1.0 &&
                               text.box.y + text.box.height <= 900.0;
            if (whole && text.words.find(words) != std::string::npos) return true;
        }
        return false;
    };
    CHECK(in_sight("Scan or type"));
    const std::string last = "Ctrl+Z";  // takes back what was recorded wrong
    CHECK(in_sight("More below") == (scale > 1.5));
    for (int page = 0; page < 12 && !in_sight(last); ++page) {
        window.press(ImGui::GetIO().KeyMap[ImGuiKey_PageDown]);
        window.frames(2);
    }
    CHECK(in_sight(last));
    CHECK_FALSE(in_sight("More below"));
    CHECK(window.shows("bench line"));
}

TEST_CASE("a strip that runs asks for its value and one that was read before has its name put into the line") {
    BenchWindow bench;
    bench.open();
    WindowDriver& window = *bench.window;
    window.places.note_texts();
    window.frames(2);
    const auto says = [&](const std::string& words) {
        for (const DrawnText& text : *window.places.texts())
            if (text.words.find(words) != std::string::npos) return true;
        return false;
    };
    CHECK(says("Scan a sample, or type"));
    const std::string sample = window.session->bench->view().choices.samples.front().sample;
    REQUIRE(window.shows("was read " + sample));
    window.click("was read " + sample);
    CHECK(window.session->bench->view().running.empty());  // no clock was started
    CHECK(window.views.line.text() == "result " + sample + " ");
    CHECK(says("Type what " + sample + " reads after its name"));
    window.line("0.62");
    CHECK(window.shows("bench yes"));
    CHECK(bench.tests() == bench.tests_before);
    window.line("yes");
    CHECK(bench.tests() == bench.tests_before + 1);
    CHECK_THAT(bench.said(), Contains("of " + sample) && Contains("0.62 mg/kg"));
    // With its clock: the strip in hand asks for its value, and a number is that.
    window.line("kit K7");
    const std::string other = sample == "S901" ? "S902" : "S901";
    window.line(other, true);
    REQUIRE(window.session->bench->view().running.size() == 1);
    const std::string strip = window.session->bench->view().running[0].strip.strip;
    CHECK(says("Type what strip " + strip + " of " + other + " reads"));
    bench.later(375);
    window.line("0.5");
    CHECK_FALSE(says("Type what strip"));
    CHECK(says("yes records it, no drops it"));
}

TEST_CASE("the bench understands the words of the language that is spoken, and those of English too") {
    BenchWindow bench;
    bench.open();
    WindowDriver& window = *bench.window;
    apply(*window.session, ChooseLanguage{"de"});
    window.frames(2);
    const app::BenchView& view = window.session->bench->view();
    window.line("charge K7");
    CHECK(view.kept.at("kit_lot") == "K7");
    window.line("getreide weizen");
    CHECK(view.kept.at("commodity") == "wheat");  // as tables write it
    window.line("ergebnis S901 0,62");
    CHECK_THAT(bench.said(), Contains("0,62 mg/kg"));
    CHECK(window.shows("bench yes"));
    window.line("nein");
    CHECK_FALSE(window.shows("bench yes"));
    window.line("result S901 0.62");
    CHECK(window.shows("bench yes"));
    window.line("ja");
    CHECK(bench.tests() == bench.tests_before + 1);
    int found = 0;
    for (const models::Test& test : geo::Store::open(bench.store(), geo::Store::Access::read_only).tests()) {
        if (test.sample != "S901") continue;
        CHECK(test.don_mg_per_kg == 0.62);
        CHECK(test.commodity == "wheat");
        ++found;
    }
    CHECK(found == 1);
    window.line("S901");
    CHECK_THAT(bench.said(), Contains("`nochmal S901`"));
    window.line("nochmal S901");
    CHECK(view.running.size() == 1);
    window.line("irrtum falsche Probe");
    CHECK(view.running.empty());
    window.line("neu S903");
    CHECK_THAT(window.session->bench->question(), Contains("Wagen") && Contains("nein: lassen"));
    window.line("nein");
    window.line("hilfe");
    CHECK(window.shows("bench help"));
    for (const char* burst : {"ja", "j", "ende"}) {  // a scanner confirms nothing in any language
        window.line("ergebnis S902 0,5");
        window.line(burst, true);
        CHECK(bench.tests() == bench.tests_before + 1);
    }
}

TEST_CASE("each word that the page of the bench tells to type is understood in each language") {
    for (const std::string& language : app::languages()) {
        const app::SpokenIn spoken_in(language);
        std::istringstream page(app::bench_words_page());
        int told = 0;
        for (std::string line; std::getline(page, line);) {
            if (!line.starts_with("  ") || line[2] == ' ') continue;
            const std::string first = app::benching::words_of(line).front();
            if (std::string("0123456789<>=.").find(first[0]) != std::string::npos || first == "S12" ||
                first == "Enter,")
                continue;
            const std::string word = first.back() == ',' ? first.substr(0, first.size() - 1) : first;
            CAPTURE(language, word);
            CHECK(app::benching::begins_with_a_word(word));
            ++told;
        }
        CHECK(told >= 9);
    }
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
