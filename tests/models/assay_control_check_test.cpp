#include <catch2/catch.hpp>

#include "models/assay/control_check.h"

namespace {

using models::Reading;

/// A day at the bench: control C1, which accepts 0.75 to 1.3 mg/kg, and samples of grain.
struct Bench {
    std::vector<models::Sample> samples;
    std::vector<models::Test> tests;
    std::vector<models::ControlMaterial> controls = {{"C1", 1.0, 0.75, 1.3}};

    Bench() {
        for (const char* name : {"C1", "S1", "S2"}) {
            models::Sample sample;
            sample.sample = name;
            sample.stage = name[0] == 'C' ? models::Stage::control : models::Stage::truck;
            samples.push_back(sample);
        }
    }
    models::Test& read(const std::string& name, const std::string& sample, double don_mg_per_kg,
                       Reading reading = Reading::value, const std::string& stamp = "2026-08-06T09:00:00+02:00") {
        models::Test test;
        test.test = name;
        test.sample = sample;
        test.reading = reading;
        test.don_mg_per_kg = don_mg_per_kg;
        test.time = *models::parse_stamp(stamp);
        test.kit_lot = "K77";
        return tests.emplace_back(test);
    }
    std::vector<models::FailedControl> failed() const { return models::failed_controls(tests, samples, controls); }
    bool fails(double don_mg_per_kg, Reading reading = Reading::value) {
        tests.clear();
        read("T0", "C1", don_mg_per_kg, reading);
        return !failed().empty();
    }
};

}  // namespace

TEST_CASE("a control fails outside what it accepts and on neither end of it") {
    Bench bench;
    CHECK_FALSE(bench.fails(0.75));
    CHECK_FALSE(bench.fails(1.3));
    CHECK(bench.fails(0.74));
    CHECK(bench.fails(1.31));
    CHECK(bench.fails(0.2, Reading::below));
    CHECK(bench.fails(0.75, Reading::below));
    CHECK_FALSE(bench.fails(0.9, Reading::below));  // may be 0.8
    CHECK(bench.fails(6.0, Reading::above));
    CHECK_FALSE(bench.fails(1.0, Reading::above));
    CHECK_FALSE(bench.fails(5.5, Reading::invalid));
    bench.controls[0].high_mg_per_kg.reset();
    CHECK_FALSE(bench.fails(5.5));
    bench.controls.clear();
    CHECK_FALSE(bench.fails(0.1));
}

TEST_CASE("a control is known by its sample's name and its stage") {
    Bench bench;
    bench.samples[0].stage = models::Stage::truck;
    CHECK_FALSE(bench.fails(5.5));
    bench.samples[0].stage = models::Stage::control;
    bench.samples[0].sample = "C1-06";
    bench.read("T1", "C1-06", 5.5);
    CHECK(bench.failed().empty());
}

TEST_CASE("results of the same day and kit lot and method are in doubt and no others") {
    Bench bench;
    bench.read("T5", "C1", 5.5);
    bench.read("T1", "S1", 0.4);
    bench.read("T2", "S2", 6.0, Reading::above);
    bench.read("T3", "S1", 0.5).kit_lot = "K78";
    bench.read("T4", "S1", 0.5, Reading::value, "2026-08-07T09:00:00+02:00");
    bench.read("T6", "S1", 0.5).method = models::Method::laboratory;
    bench.read("T7", "S1", 0.5, Reading::invalid);
    bench.read("T8", "S2", 0.5).kit_lot = "";
    bench.read("T9", "C1", 1.0);
    const auto failed = bench.failed();
    REQUIRE(failed.size() == 1);
    CHECK(failed[0].test.test == "T5");
    CHECK(failed[0].in_doubt == std::vector<std::string>{"T1", "T2", "T8"});
    CHECK(models::in_words(failed[0]) ==
          "control C1 read 5.5 mg/kg where 0.75 to 1.3 is accepted (test T5, 2026-08-06, kit lot K77); T1, T2 and T8 "
          "of that day and kit lot are in doubt and count as they are, nothing is left out");
}

TEST_CASE("many failed controls are told in a sentence a run and one for those without grain") {
    Bench bench;
    CHECK(models::in_short(bench.failed()).empty());
    bench.read("T5", "C1", 5.5, Reading::value, "2026-08-05T09:00:00+02:00");
    CHECK(models::in_short(bench.failed()) ==
          std::vector<std::string>{"1 reading of controls failed in runs that hold no result of grain"});
    bench.read("T6", "C1", 5.5);
    bench.read("T7", "C1", 5.4);
    bench.read("T1", "S1", 0.4);
    bench.read("T2", "S2", 6.0, Reading::above);
    bench.read("T8", "C1", 5.5, Reading::value, "2026-08-07T09:00:00+02:00").kit_lot = "";
    bench.read("T9", "S1", 0.6, Reading::value, "2026-08-07T10:00:00+02:00");
    CHECK(models::in_short(bench.failed()) ==
          std::vector<std::string>{
              "T1 and T2 of 2026-08-06 and kit lot K77 are in doubt by control C1 (tests T6 and T7) and count as they "
              "are, nothing is left out",
              "T9 of 2026-08-07 is in doubt by control C1 (test T8) and counts as it is, nothing is left out",
              "1 more reading of controls failed in runs that hold no result of grain"});
}

TEST_CASE("the day of a run is the day written in the stamps and failures come by time") {
    Bench bench;
    bench.read("T1", "C1", 0.2, Reading::below, "2026-08-07T00:30:00+02:00");  // 22:30 of the 6th in UTC
    bench.read("T2", "S1", 0.4, Reading::value, "2026-08-07T18:00:00+02:00");
    bench.read("T3", "C1", 2.0, Reading::value, "2026-08-06T23:30:00+02:00");
    const auto failed = bench.failed();
    REQUIRE(failed.size() == 2);
    CHECK(failed[0].test.test == "T3");
    CHECK_THAT(models::in_words(failed[0]), Catch::EndsWith("; no result of grain shares its run"));
    CHECK(failed[1].in_doubt == std::vector<std::string>{"T2"});
    CHECK_THAT(models::in_words(failed[1]), Catch::Contains("read <0.2 mg/kg") &&
                                                Catch::Contains("T2 of that day and kit lot is in doubt and counts "
                                                                "as it is"));
}

TEST_CASE("a control reported on another basis is held against its bounds on theirs") {
    Bench bench;
    bench.controls[0].basis = models::Basis::dry;
    bench.samples[0].moisture_pct = 10.0;
    CHECK_FALSE(bench.fails(1.16));  // 1.16 / 0.9 = 1.29 on dry matter
    CHECK(bench.fails(1.18));        // 1.31
    bench.samples[0].moisture_pct.reset();
    CHECK_FALSE(bench.fails(1.18));
}

namespace {

/// Twenty readings of C1 about 1.0 on twenty days, then eight a little above: inside what is accepted, and one-sided.
Bench drifting_bench() {
    Bench bench;
    for (int day = 1; day <= 28; ++day) {
        const double content = day <= 20 ? (day % 2 == 0 ? 1.05 : 0.95) : 1.06;
        bench.read("C" + std::to_string(day), "C1", content, Reading::value,
                   "2026-08-" + std::string(day < 10 ? "0" : "") + std::to_string(day) + "T08:00:00+02:00");
    }
    bench.read("T1", "S1", 0.4, Reading::value, "2026-08-28T10:00:00+02:00");
    return bench;
}

}  // namespace

TEST_CASE("a control that breaks a rule of its chart marks its run though it reads inside its bounds") {
    const Bench bench = drifting_bench();
    const auto failed = bench.failed();
    // The reading of 20 August is 1.05 and the first of the eight: the run is complete on the 27th.
    REQUIRE(failed.size() == 2);
    CHECK(failed[0].test.test == "C27");
    CHECK_FALSE(failed[1].outside_bounds);
    CHECK(failed[1].in_doubt == std::vector<std::string>{"T1"});
    CHECK(models::in_words(failed[1]) ==
          "control C1 read 1.06 mg/kg and breaks a rule of its chart: eight in a row on one side of the centre line "
          "(test C28, 2026-08-28, kit lot K77); T1 of that day and kit lot is in doubt and counts as it is, nothing is "
          "left out");
    CHECK(models::failure_in_words(failed[1]) ==
          "breaks a rule of its chart: eight in a row on one side of the centre line");
}

TEST_CASE("charts are not joined across kit lots") {
    Bench bench = drifting_bench();
    for (models::Test& test : bench.tests) {
        if (test.test == "C24" || test.test > "C24") test.kit_lot = "K78";
    }
    CHECK(bench.failed().empty());
}

TEST_CASE("marks come only from the rules that are asked for") {
    const Bench bench = drifting_bench();
    models::ChartSettings settings;
    settings.rules.on_one_side = 0;
    CHECK(models::failed_controls(bench.tests, bench.samples, bench.controls, settings).empty());
}

TEST_CASE("a reading that is outside and breaks rules is told with both") {
    Bench bench = drifting_bench();
    bench.tests.resize(20);
    bench.read("C21", "C1", 5.5, Reading::value, "2026-08-21T08:00:00+02:00");
    const auto failed = bench.failed();
    REQUIRE(failed.size() == 1);
    CHECK_THAT(models::in_words(failed[0]),
               Catch::StartsWith("control C1 read 5.5 mg/kg where 0.75 to 1.3 is accepted and breaks rules of its "
                                 "chart: one beyond 3 standard deviations of the centre line and neighbouring "
                                 "readings farther apart than the limit of their range (test C21"));
}

TEST_CASE("a mark that only later limits set is told as that") {
    Bench bench;
    bench.controls[0].high_mg_per_kg.reset();
    for (int day = 1; day <= 20; ++day) {
        const double content = day == 13 ? 1.55 : day <= 8 ? (day % 2 == 0 ? 1.1 : 0.9) : day % 2 == 0 ? 0.99 : 1.01;
        bench.read("C" + std::to_string(day), "C1", content, Reading::value,
                   "2026-08-" + std::string(day < 10 ? "0" : "") + std::to_string(day) + "T08:00:00+02:00");
    }
    std::string said;
    for (const auto& failed : bench.failed()) {
        if (failed.test.test == "C13") said = models::in_words(failed);
    }
    CHECK_THAT(said, Catch::Contains("by limits set after it was read; by those of its day it broke none (test C13"));
}

TEST_CASE("a control test with no assigned content is refused by its words") {
    Bench bench;
    bench.read("T5", "C1", 1.0);
    CHECK(models::control_tests_refused(bench.tests, bench.samples, bench.controls).empty());
    CHECK(models::control_series(bench.tests, bench.samples, bench.controls).size() == 1);
    bench.controls[0].assigned_mg_per_kg = 0.0;
    CHECK(models::control_tests_refused(bench.tests, bench.samples, bench.controls).size() == 1);
    CHECK(models::control_series(bench.tests, bench.samples, bench.controls).empty());
    bench.read("T6", "C1", 0.1);
    CHECK(models::in_words(models::control_tests_refused(bench.tests, bench.samples, bench.controls)) ==
          std::vector<std::string>{"2 tests are of control C1, a blank (assigned content 0), of which there is no "
                                   "recovery and no scatter in per cent: they are on no chart and in no recovery"});
    bench.tests.pop_back();
    bench.controls.clear();
    const auto refused = models::control_tests_refused(bench.tests, bench.samples, bench.controls);
    REQUIRE(refused.size() == 1);
    CHECK(refused[0].why ==
          "test T5 is of control C1, which has no assigned content, so nothing says what it should "
          "read: it is on no chart and in no recovery");
    CHECK(models::control_series(bench.tests, bench.samples, bench.controls).empty());
}

TEST_CASE("a control that reads zero is below its method and breaks no chart") {
    Bench bench = drifting_bench();
    bench.read("C29", "C1", 0.0, Reading::value, "2026-08-29T08:00:00+02:00");
    const auto failed = bench.failed();
    REQUIRE_FALSE(failed.empty());
    CHECK(failed.back().test.test == "C29");
    CHECK(failed.back().outside_bounds);
    CHECK(failed.back().broken_rules.front() == "one beyond 3 standard deviations of the centre line");
}
