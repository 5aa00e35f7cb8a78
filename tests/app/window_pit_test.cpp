#include <filesystem>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <imgui.h>
#include <unistd.h>

#include "app/commands/add_command.h"
#include "app/commands/bins_command.h"
#include "app/window/key_gate.h"
#include "geo/check.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "tests/app/captured_output.h"
#include "tests/geo/store_fixture.h"
#include "tests/support/app/window_driver.h"

/// The pit in the window: what a hand does there, what a scanner may not, and that the store then holds what the
/// command line would have made of the same story.
using namespace app::window;
using Catch::Matchers::Contains;
using std::chrono::milliseconds;
using tests::WindowDriver;

namespace {

namespace fs = std::filesystem;

using Row = std::vector<std::pair<std::string, std::string>>;

/// Eight trucks of 12 t wait at a food bin, a hold bin and one for what may not be food; T4 is of two fields. Kit lot
/// K1 has expired: there are no strips.
class PitFarm {
 public:
    explicit PitFarm(bool with_trucks = true, bool with_bins = true) {
        geo::add_row(farm_.store, "kit-lots",
                     {{"kit_lot", "K1"},
                      {"commodity", "wheat"},
                      {"dilution", "6"},
                      {"low_mg_per_kg", "0.2"},
                      {"high_mg_per_kg", "6"},
                      {"expires", "2025-07-31"}});
        if (with_bins) {
            geo::add_row(farm_.store, "bins",
                         {{"bin", "M1"}, {"capacity_t", "90"}, {"purpose", "food"}, {"limit_id", "eu-food-wheat"}});
            geo::add_row(farm_.store, "bins", {{"bin", "H1"}, {"capacity_t", "40"}, {"purpose", "hold"}});
            geo::add_row(farm_.store, "bins", {{"bin", "R1"}, {"capacity_t", "60"}, {"purpose", "other"}});
        }
        if (!with_trucks) return;
        const std::string mill = "Mill Piece";
        const std::string field_of[] = {"", mill, mill, "Fen", mill, mill, "", mill};
        for (int i = 0; i < 8; ++i) {
            const std::string load = "T" + std::to_string(i + 1);
            geo::add_row(farm_.store, "loads",
                         {{"load", load},
                          {"time", "2025-08-01T0" + std::to_string(i + 1) + ":00:00+02:00"},
                          {"ticket", "900" + std::to_string(i + 1)},
                          {"commodity", "wheat"},
                          {"supplier", "G" + std::to_string(i + 1)},
                          {"net_t", "12"}});
            if (field_of[i].empty()) continue;  // bought, of no field of ours
            geo::add_row(farm_.store, "load-parts",
                         i == 3 ? Row{{"load", load}, {"field", "Fen"}, {"share", "0.5"}}
                                : Row{{"load", load}, {"field", field_of[i]}, {"share", "1"}});
            if (i == 3)
                geo::add_row(farm_.store, "load-parts", {{"load", load}, {"field", "Mill Piece"}, {"share", "0.5"}});
        }
        for (const auto& [load, don] : {std::pair{"T1", "<0.2"}, std::pair{"T2", "3.4"}, std::pair{"T3", "2.9"},
                                        std::pair{"T4", "<0.2"}, std::pair{"T5", "1.6"}, std::pair{"T7", "<0.2"}})
            read(farm_.store.file(), std::string("S") + load, load, don);
        for (const char* load : {"T1", "T7"}) read(farm_.store.file(), std::string("S") + load + "b", load, "<0.2");
    }
    fs::path store() const { return farm_.store.file(); }
    static void read(const fs::path& file, const std::string& sample, const std::string& load, const std::string& don) {
        geo::Store store = geo::Store::open(file);
        if (!load.empty())
            geo::add_row(store, "samples",
                         {{"sample", sample}, {"stage", "truck"}, {"kind", "composite"}, {"load", load}});
        geo::add_row(store, "tests",
                     {{"test", "R" + sample},
                      {"time", "2025-08-01T09:30:00+02:00"},
                      {"sample", sample},
                      {"don", don},
                      {"unit", "mg/kg"}});
    }

 private:
    store_tests::Farm farm_;
};

/// The window at the pit of a store, and its clock.
class AtThePit {
 public:
    explicit AtThePit(fs::path store) : store_(std::move(store)) { open(); }
    void open() {
        window.reset();  // one context of Dear ImGui at a time
        WindowSettings settings;
        settings.store = store_;
        settings.season = 2025;
        settings.limit = "1.0";
        settings.room = "pit";
        window = std::make_unique<WindowDriver>(settings);
        window->session->clock = [this] { return now; };
        window->settle();
    }
    PitPanel& pit() { return window->session->pit; }
    std::string last_record() const {
        return geo::end_of_chain(geo::Store::open(store_, geo::Store::Access::read_only)).sha256;
    }
    void choose(const std::string& load) {
        window->scan(load, GLFW_KEY_ENTER);
        window->settle();
        REQUIRE(pit().load == load);
    }
    void at(const std::string& time) { now = *models::parse_stamp("2025-08-01T" + time + ":00+02:00"); }
    void reread() {
        apply(*window->session, ReadAgain{});
        window->settle();
    }

    models::Stamp now = *models::parse_stamp("2025-08-01T10:00:00+02:00");
    std::unique_ptr<WindowDriver> window;

 private:
    fs::path store_;
};

std::string run_command(const std::vector<app::Command>& commands, std::vector<std::string> words) {
    words.insert(words.begin(), "lodicule");
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), error(stderr);
    app::run_command_line(commands, static_cast<int>(bare.size()), bare.data());
    return out.text() + error.text();
}

/// What is compared of two stores: moves, states and samples, all that the pit writes.
std::vector<std::string> written(const fs::path& file) {
    const geo::Store store = geo::Store::open(file, geo::Store::Access::read_only);
    std::vector<std::string> lines;
    for (const models::Move& m : store.moves())
        lines.push_back(m.move + " " + models::to_text(m.time) + " " + m.from + " -> " + m.to + " " +
                        std::to_string(m.mass_t) + " kind " + std::to_string(static_cast<int>(m.kind)) + " advised " +
                        m.advised_bin + " by " + m.operator_name + " because " + m.reason);
    for (const models::Load& load : store.loads())
        lines.push_back(load.load + " is " + std::to_string(static_cast<int>(load.status)));
    for (const models::Sample& sample : store.samples())
        lines.push_back("sample " + sample.sample + " of " + sample.load + " by " + sample.taken_by + " " +
                        (sample.taken_time ? models::to_text(*sample.taken_time) : ""));
    return lines;
}

}  // namespace

TEST_CASE("keys as fast as a scanner sends them are a code and press nothing") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto press = [&](int key, milliseconds after) {
        gate.pressed(key);
        if (key < 127) gate.letter(static_cast<unsigned>(key));
        gate.released(key);
        now += after;
        gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    };
    for (const char letter : std::string("W26-3")) press(letter, milliseconds(8));
    press(GLFW_KEY_ENTER, milliseconds(8));
    CHECK_FALSE(keys.any_waiting());
    CHECK(gate.take_scanned() == "W26-3");
    CHECK_FALSE(gate.take_scanned());
    // What follows at once belongs to it; a pause ends it.
    press('1', milliseconds(100));
    press('9', milliseconds(100));
    now += milliseconds(100);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK_FALSE(gate.holds_back());
    while (keys.any_waiting()) keys.begin_frame(false);
    // A code without an end is one when it falls silent; one key and Enter are enough.
    for (const char letter : std::string("ABC")) press(letter, milliseconds(8));
    now += milliseconds(50);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK(gate.take_scanned() == "ABC");
    press('Y', milliseconds(10));
    press(GLFW_KEY_ENTER, milliseconds(10));
    CHECK_FALSE(keys.any_waiting());
    CHECK(gate.take_scanned() == "Y");
    now += milliseconds(50);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    // All of a code that came while one frame was drawn.
    for (const char letter : std::string("G26-140")) {
        gate.pressed(letter);
        gate.letter(static_cast<unsigned char>(letter));
        gate.released(letter);
    }
    gate.pressed(GLFW_KEY_ENTER);
    gate.released(GLFW_KEY_ENTER);
    now += milliseconds(60);
    gate.heard(now, milliseconds(60), keys);
    CHECK_FALSE(keys.any_waiting());
    CHECK(gate.take_scanned() == "G26-140");
    now += milliseconds(50);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    // A digit and its Enter are one, however long that frame took.
    for (const int key : {static_cast<int>('3'), static_cast<int>(GLFW_KEY_ENTER)}) {
        gate.pressed(key);
        gate.released(key);
    }
    now += milliseconds(400);
    gate.heard(now, milliseconds(400), keys);
    CHECK_FALSE(keys.any_waiting());
    ImGui::DestroyContext();
}

TEST_CASE("keys as fast as a hand presses them reach the rooms, each after a moment") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto hear = [&](milliseconds after, milliseconds away = milliseconds(0)) {
        now += after;
        gate.heard(now, away, keys);
    };
    gate.pressed('N');
    hear(milliseconds(1));
    CHECK_FALSE(keys.any_waiting());  // the next may come at once
    CHECK(gate.holds_back());
    hear(KeyGate::as_a_scanner + milliseconds(1));
    keys.begin_frame(false);
    CHECK(keys.presses('N') == 1);
    gate.released('N');
    hear(milliseconds(60));
    keys.begin_frame(false);
    // Three presses in a frame of 300 ms are a hand's; they act at once when they are old enough.
    for (int i = 0; i < 3; ++i) {
        gate.pressed('P');
        gate.released('P');
    }
    hear(milliseconds(300), milliseconds(300));
    hear(milliseconds(40));
    keys.begin_frame(false);
    CHECK(keys.presses('P') == 3);
    // Arrows wait for nothing.
    gate.pressed(GLFW_KEY_DOWN);
    hear(milliseconds(1));
    keys.begin_frame(false);
    CHECK(keys.presses(GLFW_KEY_DOWN) == 1);
    gate.released(GLFW_KEY_DOWN);
    // A key that is held is known by its time, and only where it is alone.
    hear(milliseconds(50));
    gate.pressed(GLFW_KEY_F9);
    hear(milliseconds(10));
    hear(milliseconds(900));
    CHECK(gate.held_for(GLFW_KEY_F9) == milliseconds(900));
    keys.begin_frame(false);
    CHECK(keys.presses(GLFW_KEY_F9) == 1);
    gate.pressed('A');
    hear(milliseconds(200));
    CHECK(gate.held_for(GLFW_KEY_F9) == milliseconds(0));
    ImGui::DestroyContext();
}

TEST_CASE("Shift that a scanner held for a capital letter is let go") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto hear = [&] {
        now += milliseconds(2);
        gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    };
    gate.pressed(GLFW_KEY_LEFT_SHIFT);
    hear();
    gate.pressed('S');
    gate.letter('S');
    hear();
    gate.released('S');
    hear();
    gate.released(GLFW_KEY_LEFT_SHIFT);
    hear();
    gate.pressed('2');
    gate.letter('2');
    hear();
    gate.released('2');
    gate.pressed(GLFW_KEY_ENTER);
    gate.released(GLFW_KEY_ENTER);
    hear();
    now += milliseconds(60);
    gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    CHECK(gate.take_scanned() == "S2");
    for (int frame = 0; frame < 4; ++frame) keys.begin_frame(false);
    CHECK_FALSE(ImGui::GetIO().KeyShift);
    ImGui::DestroyContext();
}

TEST_CASE("a hand that writes fast in a box sends no code and a scanner that ends its line does") {
    Keys keys;
    KeyGate gate;
    ImGui::CreateContext();
    KeyGate::Clock::time_point now{std::chrono::hours(1)};
    const auto write = [&](const std::string& letters, bool ended) {
        for (const char letter : letters) {
            gate.pressed(letter);
            gate.letter(static_cast<unsigned>(letter));
            gate.released(letter);
            now += milliseconds(5);
            gate.heard(now, KeyGate::Clock::duration::zero(), keys);
        }
        if (ended) {
            gate.pressed(GLFW_KEY_ENTER);
            now += milliseconds(5);
            gate.heard(now, KeyGate::Clock::duration::zero(), keys);
            gate.released(GLFW_KEY_ENTER);
        }
        now += milliseconds(100);
        gate.heard(now, KeyGate::Clock::duration::zero(), keys);
    };
    write("DA", false);
    CHECK_FALSE(gate.take_scanned(true));
    write("DA", false);
    CHECK(gate.take_scanned() == "DA");  // no box has the focus: some scanners end nothing
    write("DA", false);
    write("W26", true);
    CHECK(gate.take_scanned(true) == "W26");
    CHECK_FALSE(gate.take_scanned(true));
    ImGui::DestroyContext();
}

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
    CHECK_THAT(at.pit().refused,
               Contains("no load, ticket or sample is called") && Contains("lodicule add STORE loads"));
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
