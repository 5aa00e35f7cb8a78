#include <algorithm>
#include <cmath>
#include <optional>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>
#include <imgui.h>

#include "app/window/rooms/pit_parts.h"
#include "tests/app/pit_at_window.h"
#include "tests/support/app/what_is_seen.h"

/// What somebody at the pit sees of what was done there: a sample to be read, what was recorded, whose place was taken,
/// and that nothing stays open which belongs to another truck.
using namespace app::window;
using app::drawing::Rect;
using Catch::Matchers::Contains;
using pit_tests::AtThePit;
using pit_tests::PitFarm;
using tests::lie_apart;
using tests::tip_of_last_frame;

namespace {

void put_sample(const std::filesystem::path& file, const std::string& sample, const std::string& load) {
    geo::Store store = geo::Store::open(file);
    geo::add_row(store, "samples", {{"sample", sample}, {"stage", "truck"}, {"kind", "composite"}, {"load", load}});
}

std::size_t tests_in(const std::filesystem::path& file) {
    return geo::Store::open(file, geo::Store::Access::read_only).tests().size();
}

/// All that the last frame wrote, as it was drawn: the lines of a paragraph one after another.
std::string words_of(AtThePit& at) {
    at.window->places.note_texts();
    at.window->frames(2);
    std::string all;
    for (const DrawnText& text : *at.window->places.texts()) all += text.words + " ";
    return all;
}

}  // namespace

TEST_CASE("a truck whose sample is not read stands out, and its reading is typed at the bench and leads back") {
    const PitFarm farm;
    put_sample(farm.store(), "ST6", "T6");
    AtThePit at(farm.store());
    CHECK(at.window->shows("to read T6"));
    CHECK_FALSE(at.window->shows("to read T8"));  // no sample of it was taken
    CHECK_FALSE(at.window->shows("to read T1"));  // its samples are read
    CHECK_THAT(words_of(at), Contains("ST6 to be read"));
    at.choose("T8");
    CHECK_FALSE(at.window->shows("read sample"));
    at.choose("T6");
    CHECK_THAT(words_of(at), Contains("Enter the reading of ST6"));
    at.window->click("read sample");
    Session& session = *at.window->session;
    REQUIRE(session.room == Room::bench);
    CHECK(at.window->views.line.text() == "result ST6 ");
    for (const char* place : {"to read", "is read already", "starts now", "back to the pit"}) {
        CAPTURE(place);
        CHECK(at.window->shows(place));
    }
    CHECK_THAT(words_of(at), Contains("Type what ST6 reads"));
    // A scanner behind it is told by its speed; Enter alone records nothing either.
    const std::size_t before = tests_in(farm.store());
    at.window->line("7", true);
    CHECK_FALSE(session.bench->view().asks_yes_or_no);
    at.window->click("is read already");
    at.window->line("");
    CHECK_FALSE(session.bench->view().asks_yes_or_no);
    at.window->click("is read already");
    at.window->line("0.3");
    REQUIRE(session.bench->view().asks_yes_or_no);
    CHECK(tests_in(farm.store()) == before);
    at.window->click("bench yes");
    CHECK(tests_in(farm.store()) == before + 1);
    CHECK_THAT(words_of(at), Contains("Sample ST6 of load T6 reads 0.3 mg/kg"));
    CHECK_FALSE(at.window->shows("starts now"));
    at.window->click("back to the pit");
    at.window->settle();
    CHECK(session.room == Room::bins);
    CHECK(at.pit().load == "T6");
    CHECK_FALSE(at.window->shows("to read T6"));
    CHECK_FALSE(at.window->shows("read sample"));
}

TEST_CASE("from the pit the strip of a sample is started as well, and a line that was begun does not stay") {
    const PitFarm farm;
    put_sample(farm.store(), "ST6", "T6");
    AtThePit at(farm.store());
    at.choose("T6");
    at.window->click("read sample");
    Session& session = *at.window->session;
    at.window->click("starts now");
    REQUIRE(session.bench->view().running.size() == 1);
    CHECK(session.bench->view().running[0].strip.sample == "ST6");
    CHECK(at.window->views.line.text().empty());
    CHECK_THAT(words_of(at), Contains("Sample ST6 of load T6: its strip runs"));
    CHECK_FALSE(at.window->shows("starts now"));
    at.window->click("is read already");
    CHECK(at.window->views.line.text() == "result ST6 ");
    apply(session, EnterRoom{Room::contamination});
    at.window->settle();
    apply(session, EnterRoom{Room::bench});
    at.window->frames(2);
    CHECK(at.window->views.line.text().empty());
    CHECK_FALSE(at.window->shows("to read"));  // nobody came from the pit
}

TEST_CASE("what was recorded of a truck stays in sight until somebody goes on, with the way back") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T2");
    at.window->click("record");
    CHECK(yes_in_words(*at.pit().asks) == "Record: T2 into R1 (or hold F9)");
    at.window->click("question yes");
    at.window->settle();
    CHECK(at.pit().load == "T2");
    CHECK(at.window->shows("recorded"));
    CHECK_FALSE(at.window->shows("record"));
    const std::string words = words_of(at);
    CHECK_THAT(words, Contains("It lies in R1") && Contains("Recorded: load T2, 12 t, into bin R1") &&
                          Contains("Ctrl+Z takes it back") && Contains("Next truck: T1") &&
                          Contains("Ctrl+Z takes back: load T2 into bin R1"));
    const std::string recorded = at.last_record();
    for (const char key : {'R', 'X', 'T', 'B'}) at.window->press(key);  // nothing more is asked of it
    CHECK_FALSE(at.pit().asks);
    at.window->click("take recorded back");
    at.window->settle();
    CHECK(at.last_record() != recorded);
    CHECK(at.pit().load == "T2");
    CHECK_FALSE(at.window->shows("recorded"));
    CHECK(at.window->shows("record"));
    apply(*at.window->session, Redo{});
    at.window->settle();
    CHECK(at.window->shows("recorded"));
    at.window->click("next truck");
    at.window->settle();
    CHECK(at.pit().load == "T1");
    // Turned away, by keys.
    at.window->press('X');
    CHECK(yes_in_words(*at.pit().asks) == "Record: T1 turned away (or hold F9)");
    at.window->hold(GLFW_KEY_F9, std::chrono::milliseconds(1200));
    at.window->settle();
    CHECK_THAT(words_of(at), Contains("It is turned away"));
    at.window->press('N');
    at.window->settle();
    CHECK(at.pit().load == "T3");
    CHECK_FALSE(at.window->shows("recorded"));
}

TEST_CASE("buttons say that they record, fields whether they are needed, and an answer of whose limit it speaks") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T1");
    CHECK_THAT(words_of(at), Contains("Record: it goes into M1") && Contains("(M1: food, limit 1.0)"));
    at.window->press('B');
    CHECK(yes_in_words(*at.pit().asks) == "Record (or hold F9)");  // no bin is chosen yet
    at.window->click("bin M1");
    CHECK_THAT(words_of(at), Contains("Why (optional)") && Contains("Who decides (optional)"));
    at.window->click("question no");
    at.choose("T5");
    at.window->press('B');
    at.window->click("bin M1");
    CHECK_THAT(words_of(at), Contains("Why (needed: a rule is broken)"));
    at.window->click("question no");
    at.window->press('T');
    CHECK(yes_in_words(*at.pit().asks) == "Record: sample of T5 (or hold F9)");
}

TEST_CASE("a load whose place another takes by the next plan is named, by both of them") {
    const auto plan_with = [](std::vector<std::pair<std::string, std::string>> places,
                              const std::vector<std::string>& waiting) {
        PitPlan plan;
        plan.altered.emplace();
        plan.altered->bins.emplace();
        for (const auto& [load, bin] : places) {
            if (bin.empty()) continue;
            models::Assignment placed;
            placed.name = load;
            placed.bin = bin;
            plan.altered->bins->plan.assignments.push_back(placed);
        }
        for (const std::string& load : waiting) {
            app::QueuedLoad row;
            row.load = load;
            plan.queue.waiting.push_back(row);
        }
        return plan;
    };
    const PitPlan before = plan_with({{"A", "H1"}, {"B", "H1"}, {"C", "S1"}, {"D", "S1"}}, {"A", "B", "C", "D"});
    // N came: A has no place any more, B is gone, C went elsewhere and nobody took its place, D stays.
    const std::vector<PlaceTaken> taken =
        places_taken(before, plan_with({{"N", "H1"}, {"A", ""}, {"C", "S2"}, {"D", "S1"}}, {"A", "C", "D", "N"}));
    REQUIRE(taken.size() == 1);
    CHECK(taken[0].load == "A");
    CHECK(taken[0].bin == "H1");
    CHECK(taken[0].now.empty());
    CHECK(taken[0].by == std::vector<std::string>{"N"});
    CHECK(places_taken(before, before).empty());

    const PitFarm farm;
    AtThePit at(farm.store());
    at.pit().taken = {{"H1", "T6", "", {"T8"}}, {"M1", "T2", "R1", {"T8"}}};
    at.choose("T8");
    CHECK(at.window->shows("place taken"));
    CHECK_THAT(words_of(at),
               Contains("It takes the place in H1 that the plan kept for T6 before, which has no bin now.") &&
                   Contains("kept for T2 before, which goes to R1 now."));
    at.choose("T6");
    CHECK_THAT(words_of(at), Contains("Its place in H1 went to T8"));
    at.choose("T1");
    CHECK_FALSE(at.window->shows("place taken"));
}

TEST_CASE("a truck that has come and takes the place kept for another says so in the window") {
    const PitFarm farm;
    AtThePit at(farm.store());
    const auto place_of = [&](const std::string& load) {
        for (const models::Assignment& one : at.pit().plan->view().bins->plan.assignments)
            if (one.name == load) return one.bin;
        return std::string();
    };
    ArrivedTruck truck = new_arrival(at.pit().plan->view().data, 2025, at.now);
    truck.typed["net_t"] = "12";
    apply(*at.window->session, ArriveAtPit{truck});
    apply(*at.window->session, RecordArrival{});
    at.window->settle();
    REQUIRE(at.pit().load == "T9");
    CHECK(place_of("T9").empty());  // the bin on hold is full with those before it
    CHECK(place_of("T6") == "H1");
    CHECK(at.pit().taken.empty());
    CHECK_FALSE(at.window->shows("place taken"));
    PitFarm::read(farm.store(), "ST6", "T6", "3.4");
    at.reread();
    REQUIRE(place_of("T9") == "H1");
    CHECK_THAT(words_of(at),
               Contains("It takes the place in H1 that the plan kept for T6 before, which goes to R1 now."));
    at.choose("T6");
    CHECK_THAT(words_of(at), Contains("Its place in H1 went to T9: the plan has changed since."));
    apply(*at.window->session, Undo{});  // the truck did not come
    at.window->settle();
    CHECK(at.pit().taken.empty());
    CHECK_FALSE(at.window->shows("place taken"));
}

TEST_CASE("what was looked into beside one truck is not left open beside the next") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T1");
    at.window->press('W');
    at.window->frames(2);
    REQUIRE(at.window->shows("what-if limit"));
    CHECK(at.window->shows("what-if heading"));
    apply(*at.window->session, AskLotAtPit{LotAsked{"M1", 25.0}});
    at.window->settle();
    REQUIRE(at.window->shows("lot close"));
    at.choose("T2");
    CHECK_FALSE(at.window->shows("what-if limit"));
    CHECK_FALSE(at.window->shows("lot close"));
    // Other numbers that are shown stay, and say so, with the way back.
    at.window->press('W');
    at.window->frames(2);
    REQUIRE(at.window->shows("what-if limit"));
    at.window->click("what-if limit");
    at.window->write("0.05");
    at.window->click("what-if show");
    REQUIRE(at.pit().what_if.any());
    at.window->settle();
    REQUIRE(at.window->shows("what-if band"));
    at.choose("T3");
    CHECK(at.window->shows("what-if band"));
    CHECK_FALSE(at.window->shows("what-if limit"));
    at.window->click("what-if end");
    at.window->settle();
    CHECK_FALSE(at.pit().what_if.any());
    CHECK_FALSE(at.window->shows("what-if band"));
}

TEST_CASE("what has to be looked at stands with the newest first") {
    const PitFarm farm;
    {
        geo::Store store = geo::Store::open(farm.store());
        for (const auto& [move, load, time] :
             {std::tuple{"V1", "T6", "09:40"}, std::tuple{"V2", "T8", "09:41"}, std::tuple{"V3", "T1", "11:30"}}) {
            geo::add_row(store, "moves",
                         {{"move", move},
                          {"time", std::string("2025-08-01T") + time + ":00+02:00"},
                          {"from", load},
                          {"to", "H1"},
                          {"mass_t", "12"},
                          {"kind", "dumped"},
                          {"advised_bin", std::string(load) == "T1" ? "M1" : "H1"}});
        }
        for (const auto& [load, time] : {std::pair{"T6", "11:00"}, std::pair{"T8", "12:00"}}) {
            const std::string sample = std::string("L") + load;
            geo::add_row(store, "samples",
                         {{"sample", sample}, {"stage", "truck"}, {"kind", "composite"}, {"load", load}});
            geo::add_row(store, "tests",
                         {{"test", "R" + sample},
                          {"time", std::string("2025-08-01T") + time + ":00+02:00"},
                          {"sample", sample},
                          {"don", "0.4"},
                          {"unit", "mg/kg"}});
        }
    }
    AtThePit at(farm.store());
    at.at("12:30");
    at.reread();
    const std::string words = words_of(at);
    const auto late_T8 = words.find("T8 (12 t in H1)"), other_T1 = words.find("V3: T1 went to H1"),
               late_T6 = words.find("T6 (12 t in H1)");
    CAPTURE(words);
    REQUIRE(late_T6 != std::string::npos);
    REQUIRE(other_T1 != std::string::npos);
    CHECK(late_T8 < other_T1);
    CHECK(other_T1 < late_T6);
}

TEST_CASE("what this window recorded itself is never told as a store that has changed, and what others did is") {
    const PitFarm farm;
    put_sample(farm.store(), "ST6", "T6");
    AtThePit at(farm.store());
    Session& session = *at.window->session;
    const auto looks = [&] {
        look_at_store(session, false);
        at.window->frames(1);
        return at.window->shows("store has changed");
    };
    at.choose("T2");
    at.window->click("record");
    at.window->click("question yes");
    // While it is read again, when it was, and after.
    for (int i = 0; i < 3; ++i) CHECK_FALSE(looks());
    finish_work(session);
    at.window->frames(1);
    CHECK_FALSE(at.window->shows("store has changed"));
    CHECK_FALSE(looks());
    CHECK_FALSE(session.store_changed);
    // At the bench the answer waits until it is left.
    at.choose("T6");
    at.window->click("read sample");
    at.window->line("0.3");
    at.window->click("bench yes");
    CHECK_FALSE(looks());
    CHECK(session.store_changed);  // it will be read
    PitFarm::read(farm.store(), "ST6b", "T6", "0.4");
    CHECK(looks());
    at.reread();
    CHECK_FALSE(looks());
}

TEST_CASE(
    "in a low window with large type the chosen truck is in sight, and the list of what was done stays off the "
    "last line") {
    const PitFarm farm;
    AtThePit at(farm.store());
    ImGui::GetIO().DisplaySize = {1024.0F, 700.0F};
    at.window->bake(2.0 * usual_text_px);
    set_style(at.window->brushes);
    at.window->settle();
    for (int i = 0; i < 8; ++i) {
        at.window->press('N');
        at.window->settle();
        at.window->frames(3);
        CAPTURE(at.pit().load);
        const Rect *row = at.window->places.find("load " + at.pit().load), *list = at.window->places.find("queue");
        REQUIRE(row != nullptr);
        REQUIRE(list != nullptr);
        CHECK(row->y >= list->y - 1.0);
        CHECK(row->y + row->height <= list->y + list->height + 1.0);
    }
    at.choose("T2");
    at.window->click("record");
    at.window->hold(GLFW_KEY_F9, std::chrono::milliseconds(1200));
    at.window->settle();
    at.window->press(GLFW_KEY_F3);
    at.window->frames(2);
    at.window->places.note_texts();
    at.window->frames(2);
    REQUIRE(at.window->shows("sitting"));
    const Rect sitting = *at.window->places.find("sitting"), canvas = *at.window->places.find("canvas");
    CHECK(sitting.y >= canvas.y);
    CHECK(sitting.y + sitting.height <= canvas.y + canvas.height);
    std::size_t lines = 0;
    for (const DrawnText& text : *at.window->places.texts()) {
        if (std::abs(text.clip.y - sitting.y) > 2.0 || std::abs(text.clip.height - sitting.height) > 4.0) continue;
        ++lines;
        CHECK(text.box.y + text.box.height <= sitting.y + sitting.height);
    }
    CHECK(lines >= 3);
    // What was recorded before the next truck pushes no list over the foot.
    at.window->press(GLFW_KEY_F3);
    at.window->press('N');
    at.window->settle();
    CHECK(at.pit().load != "T2");
    const Rect queue = *at.window->places.find("queue");
    CHECK(queue.y + queue.height <= at.window->places.find("caution")->y);
    const Rect* row = at.window->places.find("load " + at.pit().load);
    REQUIRE(row != nullptr);
    CHECK(row->y + row->height <= queue.y + queue.height + 1.0);
}

TEST_CASE("no tip of the pit lies on a heading or on what the answer says") {
    const PitFarm farm;
    put_sample(farm.store(), "ST6", "T6");
    {
        geo::Store store = geo::Store::open(farm.store());  // something to look at
        geo::add_row(store, "moves",
                     {{"move", "V1"},
                      {"time", "2025-08-01T09:40:00+02:00"},
                      {"from", "T8"},
                      {"to", "H1"},
                      {"mass_t", "12"},
                      {"kind", "dumped"},
                      {"advised_bin", "M1"}});
    }
    AtThePit at(farm.store());
    const auto [width, height, scale] =
        GENERATE(std::tuple{1440, 900, 1.0}, std::tuple{1024, 700, 1.0}, std::tuple{1024, 700, 2.0});
    ImGui::GetIO().DisplaySize = {static_cast<float>(width), static_cast<float>(height)};
    at.window->bake(scale * usual_text_px);
    set_style(at.window->brushes);
    at.window->settle();
    at.choose("T6");
    at.window->frames(2);
    CAPTURE(width, height, scale);
    const auto tip_leaves = [&](const char* thing, std::initializer_list<const char*> headings) {
        CAPTURE(thing);
        REQUIRE(at.window->shows(thing));
        at.window->point_at(thing);
        at.window->frames(4);
        const auto tip = tip_of_last_frame();
        REQUIRE(tip);
        for (const char* heading : headings) {
            CAPTURE(heading);
            const Rect* place = at.window->places.find(heading);
            REQUIRE(place != nullptr);
            CHECK(lie_apart(*tip, *place));
        }
    };
    tip_leaves("truck arrives", {"to look at", "heads", "answer"});
    if (scale == 1.0) tip_leaves("answer", {"answer", "do now", "another bin", "take sample"});
    tip_leaves("load T6", {"heads", "to look at"});
    at.window->press('R');
    at.window->frames(3);
    if (scale == 1.0) tip_leaves("question yes", {"question", "bins"});
}

TEST_CASE("buttons and bins stay where they are while a truck stands on the scale") {
    const PitFarm farm;
    AtThePit at(farm.store());
    ImGui::GetIO().DisplaySize = {1440.0F, 900.0F};
    at.window->settle();
    at.choose("T2");
    const double button = at.window->places.find("another bin")->y;
    for (const char* load : {"T1", "T4", "T5", "T6", "T8"}) {
        CAPTURE(load);
        at.choose(load);
        const Rect* place = at.window->places.find("do now");
        REQUIRE(place != nullptr);
        CHECK(at.window->places.find("another bin")->y == button);  // a verdict of one line or two
    }
    at.choose("T1");
    at.window->press('B');
    at.window->frames(2);
    const auto order_of_bins = [&] {
        std::vector<std::pair<double, std::string>> heads;
        at.window->places.note_texts();
        at.window->frames(2);
        for (const DrawnText& text : *at.window->places.texts())
            for (const char* bin : {"M1: food", "H1: hold", "R1: other"})
                if (text.words == bin) heads.emplace_back(text.box.y * 1e5 + text.box.x, bin);
        std::sort(heads.begin(), heads.end());
        std::string order;
        for (const auto& [at_x, bin] : heads) order += bin + " ";
        return order;
    };
    const std::string before = order_of_bins();
    REQUIRE(before.size() > 20);
    for (const char* bin : {"bin R1", "bin H1", "bin M1"}) {
        CAPTURE(bin);
        at.window->click(bin);
        CHECK(order_of_bins() == before);
    }
}

TEST_CASE("other numbers do not stay open below what was recorded") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T2");
    at.window->press('W');
    at.window->frames(2);
    REQUIRE(at.window->shows("what-if limit"));
    at.window->click("record");
    at.window->click("question yes");
    at.window->settle();
    REQUIRE(at.window->shows("recorded"));
    CHECK_FALSE(at.window->shows("what-if limit"));
}

TEST_CASE("a record that is taken back leaves no word of places that were taken by it") {
    const PitFarm farm;
    AtThePit at(farm.store());
    at.choose("T5");
    REQUIRE(at.pit().taken.empty());
    at.window->press('X');
    at.window->click("question yes");
    at.window->settle();
    REQUIRE(at.window->shows("recorded"));
    at.pit().taken = {{"R1", "T4", "", {"T2"}}};  // by the plan after it T2 has a place that T4 had
    apply(*at.window->session, Undo{});
    at.window->settle();
    CHECK(at.pit().taken.empty());
    at.choose("T2");
    CHECK_FALSE(at.window->shows("place taken"));
}

TEST_CASE("one event stands once in what has to be looked at") {
    const PitFarm farm;
    {
        geo::Store store = geo::Store::open(farm.store());
        geo::add_row(store, "moves",
                     {{"move", "V1"},
                      {"time", "2025-08-01T09:40:00+02:00"},
                      {"from", "T8"},
                      {"to", "M1"},
                      {"mass_t", "12"},
                      {"kind", "dumped"},
                      {"advised_bin", "H1"},
                      {"reason", "nine wagons waiting"}});
    }
    put_sample(farm.store(), "LT8", "T8");
    PitFarm::read(farm.store(), "XT8", "T8", "3.1");
    AtThePit at(farm.store());
    at.at("12:30");
    at.reread();
    CHECK_THAT(words_of(at), Contains("V1: T8 went to M1, advised H1"));
    REQUIRE(at.pit().plan->queue.frozen.size() == 1);
    {
        geo::Store store = geo::Store::open(farm.store());
        geo::add_row(store, "tests",
                     {{"test", "RLT8"},
                      {"time", "2025-08-01T11:00:00+02:00"},
                      {"sample", "LT8"},
                      {"don", "3.1"},
                      {"unit", "mg/kg"}});
    }
    at.reread();
    REQUIRE(at.pit().plan->queue.late.size() == 1);
    const std::string words = words_of(at);
    CAPTURE(words);
    CHECK_THAT(words, Contains("T8 (12 t in M1): 3.1 is over 1.0: nothing more into M1"));
    CHECK_THAT(words, Contains("V1: T8 went to M1, advised H1 (nine wagons waiting)"));
    CHECK_THAT(words, !Contains("M1 is closed: 12.0 t of load T8"));
    CHECK_THAT(words, Catch::Matchers::Matches(".*Mean [0-9.]+ mg/kg \\(.*"));  // of the bin, with its unit
    CHECK(words.find("V1") == words.rfind("V1"));
}

TEST_CASE("a bin that another load closed as well is told, however many results came late of the first") {
    const PitFarm farm;
    {
        geo::Store store = geo::Store::open(farm.store());
        for (const auto& [move, load] : {std::pair{"V1", "T8"}, std::pair{"V2", "T3"}})
            geo::add_row(store, "moves",
                         {{"move", move},
                          {"time", "2025-08-01T09:40:00+02:00"},
                          {"from", load},
                          {"to", "M1"},
                          {"mass_t", "12"},
                          {"kind", "dumped"}});
        for (const char* sample : {"LT8", "MT8"}) {
            geo::add_row(store, "samples",
                         {{"sample", sample}, {"stage", "truck"}, {"kind", "composite"}, {"load", "T8"}});
            geo::add_row(store, "tests",
                         {{"test", std::string("R") + sample},
                          {"time", "2025-08-01T11:00:00+02:00"},
                          {"sample", sample},
                          {"don", "3.1"},
                          {"unit", "mg/kg"}});
        }
    }
    AtThePit at(farm.store());
    const app::QueueView& queue = at.pit().plan->queue;
    REQUIRE(queue.late.size() == 2);
    REQUIRE(queue.frozen.size() == 1);
    CHECK(queue.frozen[0].causes.size() == 2);
    CHECK_THAT(words_of(at), Contains("M1 is closed: ") && Contains("of load T3"));
}
