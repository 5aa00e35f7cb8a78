#include <catch2/catch.hpp>

#include "models/assay/control_due.h"
#include "models/assay/strip_clock.h"

namespace {

using namespace models;
using std::chrono::seconds;

Stamp clock_stamp(const char* text) {
    const auto stamp = parse_stamp(text);
    REQUIRE(stamp);
    return *stamp;
}

KitLot bench_lot(const std::string& commodity, std::optional<double> least_s, std::optional<double> most_s) {
    KitLot lot;
    lot.kit_lot = "K7";
    lot.commodity = commodity;
    lot.range = {0.3, 5.0};
    lot.incubation_least_s = least_s;
    lot.incubation_most_s = most_s;
    return lot;
}

Sample clock_sample(const std::string& name, const std::string& load = "", const std::string& parent = "") {
    Sample sample;
    sample.sample = name;
    sample.load = load;
    sample.parent = parent;
    return sample;
}

}  // namespace

TEST_CASE("a strip may be read from the first to the last second of its lot's bounds") {
    const ReadingWindow window = reading_window({bench_lot("wheat", 370.0, 400.0)}, "K7", "wheat", std::nullopt);
    CHECK(in_words(window) == "6:10 to 6:40");
    StartedStrip strip;
    strip.started = clock_stamp("2026-07-20T09:30:00+02:00");
    const auto at = [&](int s) { return clock_of(strip, window, strip.started.utc + seconds(s)); };
    CHECK(at(369).state == ClockState::waiting);
    CHECK(in_words(at(130), window) == "4:00 left");
    CHECK(at(370).state == ClockState::readable);
    CHECK(in_words(at(370), window) == "read now, 0:30 left");
    CHECK(at(400).state == ClockState::readable);
    CHECK(at(401).state == ClockState::late);
    CHECK(in_words(at(480), window) == "too late by 1:20");
    CHECK(at(-1).state == ClockState::before_start);
    CHECK(minutes_text(seconds(3725)) == "1:02:05");
}

TEST_CASE("bounds with parts of a second are narrowed and a lot without any says so") {
    const ReadingWindow window = reading_window({bench_lot("wheat", 299.5, 320.7)}, "K7", "", std::nullopt);
    CHECK(window.least == seconds(300));
    CHECK(window.most == seconds(320));
    CHECK(reading_window({bench_lot("wheat", {}, {})}, "K7", "", std::nullopt).why_none ==
          "kit lot K7 does not say how long a strip runs");
    CHECK(reading_window({}, "K7", "", std::nullopt).why_none == "kit lot K7 is not in the store");
    CHECK(reading_window({}, "", "", std::nullopt).why_none == "no kit lot is said");
    CHECK(in_words(reading_window({bench_lot("wheat", 300.0, {})}, "K7", "", std::nullopt)) == "from 5:00 on");
}

TEST_CASE("a lot for several grains has the bounds that all of them share or none") {
    const std::vector<KitLot> same = {bench_lot("durum", 370.0, 400.0), bench_lot("wheat", 370.0, 400.0)};
    CHECK(in_words(reading_window(same, "K7", "", std::nullopt)) == "6:10 to 6:40");
    const std::vector<KitLot> other = {bench_lot("durum", 300.0, 330.0), bench_lot("wheat", 370.0, 400.0)};
    CHECK(reading_window(other, "K7", "", std::nullopt).why_none ==
          "no grain is named, and kit lot K7 is made for durum and wheat, each with another time");
    CHECK(in_words(reading_window(other, "K7", "Durum", std::nullopt)) == "5:00 to 5:30");
}

TEST_CASE("midnight and the change to winter time leave a strip's clock as it is") {
    const ReadingWindow window{seconds(370), seconds(400), ""};
    StartedStrip strip;
    strip.started = clock_stamp("2026-10-24T23:57:00+02:00");
    CHECK(clock_of(strip, window, clock_stamp("2026-10-25T00:03:20+02:00").utc).ran == seconds(380));
    // Central European clocks went from 03:00 +02:00 back to 02:00 +01:00 on 2026-10-25.
    strip.started = clock_stamp("2026-10-25T02:57:00+02:00");
    CHECK(clock_of(strip, window, clock_stamp("2026-10-25T02:03:20+01:00").utc).ran == seconds(380));
}

TEST_CASE("a control is due first on each day and with each kit lot and after so many strips") {
    Sample control, grain;
    control.sample = "C1";
    control.stage = Stage::control;
    grain.sample = "S1";
    ControlMaterial material;
    material.control = "C1";
    material.assigned_mg_per_kg = 1.0;
    material.low_mg_per_kg = 0.8;
    material.high_mg_per_kg = 1.2;
    std::vector<Test> tests;
    const auto read = [&](const char* name, const char* sample, const char* time, double don, const char* lot = "K7") {
        Test test;
        test.test = name;
        test.sample = sample;
        test.time = clock_stamp(time);
        test.don_mg_per_kg = don;
        test.kit_lot = lot;
        tests.push_back(test);
    };
    ControlSchedule schedule;
    schedule.every_tests = 3;
    std::vector<StartedStrip> running;
    const auto due = [&](const char* lot, const char* now) {
        return control_due(tests, {control, grain}, {material}, running, lot, clock_stamp(now), schedule);
    };
    CHECK(due("K7", "2026-07-20T08:00:00+02:00").why == "no control was read with kit lot K7 yet");
    read("T1", "C1", "2026-07-20T08:10:00+02:00", 1.05);
    CHECK_FALSE(due("K7", "2026-07-20T08:20:00+02:00").due);
    CHECK(due("K7", "2026-07-20T08:20:00+02:00").tests_to == 3);
    CHECK(due("K8", "2026-07-20T08:20:00+02:00").why == "no control was read with kit lot K8 yet");
    read("T2", "S1", "2026-07-20T08:30:00+02:00", 0.4);
    read("T3", "S1", "2026-07-20T08:40:00+02:00", 0.4);
    running.push_back({"B1", "S1", "K7", "", std::nullopt, clock_stamp("2026-07-20T08:50:00+02:00")});
    CHECK(due("K7", "2026-07-20T08:51:00+02:00").why ==
          "3 strips of grain since control C1 (test T1), and one is due after 3");
    schedule.every_tests_of_lot["K7"] = 4;
    CHECK(due("K7", "2026-07-20T08:51:00+02:00").tests_to == 1);
    schedule.every_tests_of_lot["K7"] = 0;
    CHECK_FALSE(due("K7", "2026-07-20T08:51:00+02:00").tests_to);
    CHECK(due("K7", "2026-07-21T00:00:01+02:00").why == "no control was read with kit lot K7 today");
    running.push_back({"B2", "C1", "K7", "", std::nullopt, clock_stamp("2026-07-21T07:50:00+02:00")});
    CHECK(due("K7", "2026-07-21T07:51:00+02:00").why == "control C1 is running with kit lot K7");
    running.clear();
    read("T4", "C1", "2026-07-21T08:00:00+02:00", 1.5);
    CHECK(due("K7", "2026-07-21T08:01:00+02:00").why ==
          "control C1 (test T4), the last with kit lot K7, reads outside the 0.8 to 1.2 that is accepted");
    CHECK(due("K7", "2026-07-21T08:01:00+02:00").last_outside);
    tests.back().reading = Reading::invalid;
    CHECK_FALSE(due("K7", "2026-07-21T08:01:00+02:00").last_outside);
    CHECK(due("K7", "2026-07-21T08:01:00+02:00").why == "no control was read with kit lot K7 today");
}

TEST_CASE("a strip that was started before its sample was taken is in doubt, by UTC and beyond a minute") {
    Sample sample = clock_sample("S1");
    sample.taken_time = clock_stamp("2026-07-20T09:30:00+02:00");
    const GrainThere grain = grain_there({sample}, {}).at("S1");
    CHECK(why_start_is_in_doubt(clock_stamp("2026-07-20T09:23:40+02:00"), grain) ==
          "the strip would have been started at 2026-07-20T09:23:40+02:00, and its sample S1 was taken only at "
          "2026-07-20T09:30:00+02:00: it did not run so long, or one of the clocks is wrong");
    CHECK(why_start_is_in_doubt(clock_stamp("2026-07-20T09:28:59+02:00"), grain) != "");
    CHECK(why_start_is_in_doubt(clock_stamp("2026-07-20T09:29:00+02:00"), grain) == "");
    CHECK(why_start_is_in_doubt(clock_stamp("2026-07-20T09:31:00+02:00"), grain) == "");
    CHECK(why_start_is_in_doubt(clock_stamp("2026-07-20T08:31:00+01:00"), grain) == "");  // the same moment elsewhere
    CHECK(why_start_is_in_doubt(clock_stamp("2026-07-20T09:31:00+03:00"), grain) != "");
}

TEST_CASE("where nobody wrote when a sample was taken its truck says since when there was grain") {
    Load load;
    load.load = "L7";
    load.time = clock_stamp("2026-07-20T10:00:00+02:00");
    std::vector<Sample> samples = {clock_sample("S1", "L7"), clock_sample("S2", "", "S1"), clock_sample("S3"),
                                   clock_sample("S4", "L7"), clock_sample("S5", "L9")};
    samples[3].taken_time = clock_stamp("2026-07-20T09:00:00+02:00");  // in the field, before the truck came
    const auto there = grain_there(samples, {load});
    const Stamp early = clock_stamp("2026-07-20T09:50:00+02:00");
    CHECK_THAT(why_start_is_in_doubt(early, there.at("S1")),
               Catch::Contains("load L7, of which its sample S1 is, came only at 2026-07-20T10:00:00+02:00"));
    CHECK_THAT(why_start_is_in_doubt(early, there.at("S2")), Catch::Contains("load L7, of which its sample S2 is"));
    CHECK(why_start_is_in_doubt(early, there.at("S3")) == "");
    CHECK(why_start_is_in_doubt(early, there.at("S4")) == "");
    CHECK(why_start_is_in_doubt(early, there.at("S5")) == "");  // no such load
    // A sample that was split from one says when that one was taken; a circle ends.
    samples = {clock_sample("A", "", "B"), clock_sample("B", "", "A")};
    samples[1].taken_time = clock_stamp("2026-07-20T10:00:00+02:00");
    CHECK_THAT(why_start_is_in_doubt(early, grain_there(samples, {}).at("A")),
               Catch::Contains("its sample A was taken only"));
}
