#include <filesystem>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "app/commands/add_command.h"
#include "app/commands/bins_command.h"
#include "tests/app/pit_at_window.h"

/// The pit in the window: what a hand does there, what a scanner may not, and that the store then holds what the
/// command line would have made of the same story.
using namespace app::window;
using Catch::Matchers::Contains;
using pit_tests::AtThePit;
using pit_tests::PitFarm;
using pit_tests::run_command;
using pit_tests::written;
using std::chrono::milliseconds;
using tests::WindowDriver;
namespace fs = std::filesystem;

TEST_CASE("a truck is found by its name, its ticket or its sample and stands on the scale with its answer") {
    const PitFarm farm;
    AtThePit at(farm.store());
    CHECK(at.pit().load == "T1");  // it waits longest
    CHECK(at.window->shows("answer"));
    CHECK(at.window->shows("load T8"));
    at.window->scan("9004", GLFW_KEY_ENTER);
    CHECK(at.pit().load == "T4");
    at.window->scan("ST2", GLFW_KEY_ENTER);
    at.window->settle();
    CHECK(at.pit().load == "T2");
    CHECK(at.pit().truck->state == models::ClearingState::over);
    CHECK(at.pit().truck->next->advised == "R1");
    // Its layer is drawn where it is advised, and nowhere else.
    for (const auto& bin : at.pit().truck->figure.bins) CHECK(bin.would_be.has_value() == (bin.bin == "R1"));
    for (const auto& bin : at.pit().truck->figure_with("H1").bins) CHECK(bin.would_be.has_value() == (bin.bin == "H1"));
    at.window->scan("t7", 0);
    CHECK(at.pit().load == "T7");
    at.window->scan("W26-99", GLFW_KEY_ENTER);
    CHECK_THAT(at.pit().refused, Contains("no load, ticket or sample is called") && Contains("“A truck has come”"));
    CHECK(at.window->shows("refused"));
    at.window->click("load T6");
    at.window->settle();
    CHECK(at.pit().load == "T6");
    CHECK(at.pit().truck->state == models::ClearingState::undecided);
    CHECK(at.window->shows("no strips"));
    at.window->press('N');
    CHECK(at.pit().load == "T7");
}

TEST_CASE("no burst of a scanner records anything at the pit, whatever is open there") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.window->click("load T1");
    at.window->settle();
    const std::string before = at.last_record();
    at.window->click("record");
    REQUIRE(at.pit().asks);
    CHECK(at.window->shows("question yes"));
    const PitQuestion asked = *at.pit().asks;
    for (const char* burst : {"y", "yes", "1", "3", "R", "RRR", "E", "T2", "9002", "M1", "", " ", "   ", "B1B"}) {
        for (const int last : {GLFW_KEY_ENTER, GLFW_KEY_KP_ENTER, GLFW_KEY_TAB, GLFW_KEY_F9, 0}) {
            if (last == 0 && std::string(burst).size() < 2) continue;  // one key alone may be a hand's
            CAPTURE(burst, last);
            at.window->scan(burst, last);
            at.window->settle();
            CHECK(at.last_record() == before);
            CHECK(at.window->session->room == Room::bins);
            CHECK(at.pit().load == "T1");
            if (!at.pit().asks) at.window->click("record");
            REQUIRE(at.pit().asks);
        }
    }
    CHECK_THAT(at.pit().refused, Contains("while a question is open"));
    CHECK(*at.pit().asks == asked);
    at.window->click("question");  // out of the box that a Tab has led to
    // A key that was down before the question, or not for long enough, is no yes; nor is one that another key joins.
    at.window->hold(GLFW_KEY_F9, milliseconds(700));
    CHECK(at.last_record() == before);
    at.window->hold(GLFW_KEY_ENTER, milliseconds(3000));
    CHECK(at.last_record() == before);
    at.window->hold(GLFW_KEY_F9, milliseconds(1200));
    CHECK(at.last_record() != before);
    CHECK_FALSE(at.pit().asks);
    CHECK_THAT(at.pit().said, Contains("load T1, 12 t, into bin M1"));
}

TEST_CASE("no room listens to a scanner but those that have a place for its codes") {
    WindowSettings settings;
    settings.store = tests::demo_store();
    settings.season = 2026;
    settings.limit = "1.0";
    settings.room = "contamination";
    WindowDriver window(settings);
    window.settle();
    for (const Room room : {Room::contamination, Room::where_first, Room::seasons, Room::bins}) {
        apply(*window.session, EnterRoom{room});
        window.settle();
        const std::string field = window.session->field;
        const app::drawing::MapShows layer = window.session->layer;
        for (const char* burst : {"W26-99", "1", "2345", "NNN", "PS3", "VCV", "L0.5", "y", "G26-1x"}) {
            CAPTURE(room_word(room), burst);
            window.scan(burst, GLFW_KEY_ENTER);
            CHECK(window.session->room == room);
            CHECK(window.session->field == field);
            CHECK(window.session->layer == layer);
            CHECK(window.session->season == 2026);
            CHECK(window.session->limit == "1.0");
            CHECK_FALSE(window.shows("season 2024"));
            CHECK_FALSE(window.session->pit.asks);
        }
        window.hold('3', milliseconds(60));  // a hand is heard
        CHECK(window.session->room == Room::contamination);
    }
}

TEST_CASE("eight trucks are worked through in the window as on the command line") {
    const PitFarm of_the_window, of_the_line;
    const fs::path by_hand = of_the_window.store(), by_line = of_the_line.store();
    AtThePit at(by_hand);
    const std::vector<app::Command> commands{app::commands::make_bins_command(), app::commands::make_add_command()};
    const auto line = [&](std::vector<std::string> words) {
        words.insert(words.begin() + 1, by_line.string());
        return run_command(commands, std::move(words));
    };
    const auto record = [&](const std::string& load, const std::string& bin, const std::string& time,
                            const std::vector<std::string>& more = {}) {
        std::vector<std::string> words{"bins",
                                       "--season",
                                       "2025",
                                       "--next",
                                       load,
                                       "--record",
                                       bin,
                                       "--operator",
                                       "Ada",
                                       "--at",
                                       "2025-08-01T" + time + ":00+02:00"};
        words.insert(words.end(), more.begin(), more.end());
        return line(std::move(words));
    };
    apply(*at.window->session, DecidesAtPit{"Ada"});

    // T1 is cleared and goes where it is advised, by the pointer.
    at.choose("T1");
    at.at("10:01");
    at.window->click("record");
    CHECK(question_in_words(*at.window->session, *at.pit().asks) == "Load T1, 12 t, goes into bin M1, as advised.");
    at.window->click("question yes");
    at.window->settle();
    record("T1", "M1", "10:01");
    CHECK(written(by_hand) == written(by_line));

    // T2 is over and T3 too: to the bin for what may not be food, by keys.
    for (const auto& [load, time] : {std::pair{"T2", "10:05"}, std::pair{"T3", "10:09"}}) {
        at.choose(load);
        CHECK(at.pit().truck->state == models::ClearingState::over);
        at.at(time);
        at.window->press('R');
        at.window->hold(GLFW_KEY_F9, milliseconds(1100));
        at.window->settle();
        record(load, "R1", time);
    }
    CHECK(written(by_hand) == written(by_line));

    // T5 reads over; a second sample is taken, its label scanned, and reads low: it is still over.
    at.choose("T5");
    at.at("10:15");
    at.window->click("take sample");
    at.window->scan("LABEL-77", GLFW_KEY_ENTER);
    REQUIRE(at.pit().asks);
    CHECK(at.pit().asks->sample == "LABEL-77");
    at.window->click("question yes");
    at.window->settle();
    CHECK_THAT(at.pit().said, Contains("sample LABEL-77 of load T5"));
    line({"add", "samples", "sample=LABEL-77", "stage=truck", "kind=composite", "load=T5",
          "taken_time=2025-08-01T10:15:00+02:00", "taken_by=Ada"});
    CHECK(written(by_hand) == written(by_line));
    for (const fs::path& store : {by_hand, by_line}) PitFarm::read(store, "LABEL-77", "", "0.3");
    at.reread();
    at.choose("T5");
    CHECK(at.pit().truck->state == models::ClearingState::over);

    // The power goes while a question is open: nothing of it was written, and all before it was.
    at.window->click("record");
    REQUIRE(at.pit().asks);
    at.open();
    CHECK_FALSE(at.pit().asks);
    CHECK(written(by_hand) == written(by_line));
    apply(*at.window->session, DecidesAtPit{"Ada"});

    // T4 is of two fields; it goes as advised, whatever that is.
    at.choose("T4");
    const std::string advised = at.pit().truck->next->advised;
    REQUIRE_FALSE(advised.empty());
    at.at("10:20");
    at.window->press('R');
    at.window->click("question yes");
    at.window->settle();
    record("T4", advised, "10:20");

    // No strips: T6 goes on hold without a result; that comes later, and says where its grain lies.
    at.choose("T6");
    CHECK(at.window->shows("no strips"));
    at.at("10:25");
    at.window->press('B');
    CHECK_THAT(why_not_yet(*at.window->session, *at.pit().asks), Contains("choose a bin"));
    at.window->click("bin H1");
    at.window->click("question yes");
    at.window->settle();
    record("T6", "H1", "10:25");
    CHECK(written(by_hand) == written(by_line));
    for (const fs::path& store : {by_hand, by_line}) {
        geo::Store late = geo::Store::open(store);
        geo::add_row(late, "samples", {{"sample", "ST6"}, {"stage", "truck"}, {"kind", "composite"}, {"load", "T6"}});
        geo::add_row(late, "tests",
                     {{"test", "RST6"},
                      {"time", "2025-08-01T12:00:00+02:00"},
                      {"sample", "ST6"},
                      {"don", "2.2"},
                      {"unit", "mg/kg"}});
    }
    at.reread();
    REQUIRE(at.pit().plan->queue.late.size() == 1);
    CHECK(at.pit().plan->queue.late[0].load == "T6");
    CHECK(at.pit().plan->queue.late[0].bin == "H1");
    CHECK(at.window->shows("look at"));

    // T7 was meant for the food bin and lies with what may not be food: recorded as it happened, and why.
    at.choose("T7");
    CHECK(at.pit().truck->next->advised == "M1");
    at.at("12:10");
    at.window->press('B');
    at.window->click("bin R1");
    at.window->click("question reason");
    at.window->write("slide stuck");
    at.window->click("question");  // out of the box
    at.window->click("question yes");
    at.window->settle();
    record("T7", "R1", "12:10", {"--reason", "slide stuck"});
    CHECK(written(by_hand) == written(by_line));
    REQUIRE(at.pit().plan->queue.other_bins.size() == 1);
    CHECK(at.pit().plan->queue.other_bins[0].advised == "M1");

    // T5, over, lies in the food bin already: refused without a reason, recorded with one.
    at.choose("T5");
    at.at("12:20");
    at.window->press('B');
    at.window->click("bin M1");
    const std::string before = at.last_record();
    at.window->click("question yes");
    CHECK(at.last_record() == before);
    CHECK_THAT(at.pit().refused, Contains("it breaks a rule: say why it lies there"));
    CHECK_THAT(rule_against(*at.window->session, *at.pit().asks), Contains("over 1.0"));
    at.window->click("question reason");
    at.window->write("taken for T7");
    at.window->click("question yes");
    at.window->settle();
    CHECK_THAT(at.pit().cautions.at(0), Contains("load T5 (12.0 t) lies in bin M1 uncleared"));
    record("T5", "M1", "12:20", {"--happened", "--reason", "taken for T7"});
    CHECK(written(by_hand) == written(by_line));

    // T8 is turned away; then no truck waits, and the pit says what to do.
    at.choose("T8");
    at.at("12:30");
    at.window->press('X');
    CHECK(question_in_words(*at.window->session, *at.pit().asks) == "Load T8, 12 t, is turned away.");
    at.window->click("question yes");
    at.window->settle();
    record("T8", "out", "12:30");
    CHECK(written(by_hand) == written(by_line));
    CHECK(at.window->shows("no trucks"));
    CHECK(at.window->shows("gone T8"));
    geo::Store checked = geo::Store::open(by_hand);
    for (const auto& finding : geo::check_store(checked)) CHECK(finding.good);
    at.window->scan("T8", GLFW_KEY_ENTER);
    CHECK_THAT(at.pit().refused, Contains("load T8 does not wait any more"));
}

TEST_CASE("advice that is no longer that of the store is not recorded") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.window->click("load T1");
    at.window->settle();
    at.window->click("record");
    PitFarm::read(farm.store(), "ST1c", "T1", "3.1");  // meanwhile, at the bench
    const std::string before = at.last_record();
    at.window->click("question yes");
    CHECK(at.last_record() == before);
    CHECK_THAT(at.pit().refused, Contains("something else was recorded in the meantime"));
    at.reread();
    REQUIRE(at.pit().asks);
    CHECK_THAT(question_in_words(*at.window->session, *at.pit().asks), Contains("advised is R1"));
}

TEST_CASE("other limits and caps plan anew beside the window and record nothing") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.window->click("load T1");
    at.window->settle();
    const auto as_it_is = at.pit().plan;
    const std::string before = at.last_record();
    at.window->click("what if");
    at.window->frames(2);
    REQUIRE(at.window->shows("what-if limit"));
    at.window->views.pit.limit = "nine";
    at.window->click("what-if show");
    CHECK(at.window->shows("what-if refused"));
    CHECK_FALSE(at.pit().what_if.any());
    at.window->views.pit.limit = "0.05";
    at.window->click("what-if show");
    // The last answer stands, and says so, until the next one is there.
    if (at.pit().planning) CHECK(at.pit().plan == as_it_is);
    CHECK(at.window->shows("what-if band"));
    at.window->settle();
    CHECK(at.pit().plan->what_if.limit_mg_per_kg == 0.05);
    REQUIRE_FALSE(at.pit().plan->changes.empty());
    CHECK(at.pit().plan->changes[0].load == "T1");
    CHECK(at.pit().plan->changes[0].before == "M1");
    CHECK(at.pit().plan->changes[0].after != "M1");
    CHECK(at.window->shows("what-if changes"));
    at.window->press('R');
    at.window->press('X');
    REQUIRE(at.pit().asks);
    at.window->click("question yes");
    CHECK_THAT(at.pit().refused, Contains("what-if"));
    CHECK(at.last_record() == before);
    at.window->click("question no");
    at.window->click("what-if end");
    at.window->settle();
    CHECK(at.pit().plan->changes.empty());
    CHECK(at.pit().truck->next->advised == "M1");
}

TEST_CASE("an empty pit says what to do next") {
    {
        const PitFarm no_trucks(false, true);
        AtThePit at(no_trucks.store());
        CHECK(at.window->shows("no trucks"));
        CHECK_FALSE(at.window->shows("answer"));
        CHECK_FALSE(clock_runs(*at.window->session));
    }
    const PitFarm no_bins(true, false);
    AtThePit at(no_bins.store());
    CHECK(at.window->shows("no bins"));
    at.window->scan("T1", GLFW_KEY_ENTER);
    CHECK_FALSE(at.pit().asks);
}

TEST_CASE("a clock of the queue runs for two days and then stands") {
    const PitFarm farm;
    AtThePit at(farm.store());
    CHECK(clock_runs(*at.window->session));
    at.now = *models::parse_stamp("2025-08-09T10:00:00+02:00");
    CHECK_FALSE(clock_runs(*at.window->session));
}
