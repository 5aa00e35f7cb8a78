#include <cmath>

#include <catch2/catch.hpp>

#include "models/assay/strip_reading.h"

namespace {

using Catch::Matchers::Contains;
using models::KitLot;
using models::Reading;
using models::RecordedTest;

/// Lot K7 for wheat, 0.2 to 6 mg/kg until 1 August 2026, run 280 to 320 s at 18 to 28 degC.
KitLot lot_k7() {
    KitLot lot;
    lot.kit_lot = "K7";
    lot.commodity = "wheat";
    lot.dilution = 6.0;
    lot.range = {0.2, 6.0};
    lot.expires = models::day_of(2026, 8, 1);
    lot.curve = models::StandardCurve{1.20, 1.10, 0.90, 0.08};
    lot.curve->signal_sd = 0.02;
    lot.minimum_control_signal = 300.0;
    lot.incubation_least_s = 280.0;
    lot.incubation_most_s = 320.0;
    lot.temperature_least_degc = 18.0;
    lot.temperature_most_degc = 28.0;
    return lot;
}

/// A strip of K7 with nothing but its signals: 500 over 1000 is the content 1.4319 of the worked example.
RecordedTest strip_of_k7(double test_signal = 500.0, std::optional<double> control_signal = 1000.0) {
    RecordedTest recorded;
    recorded.test.test = "T1";
    recorded.test.kit_lot = "K7";
    recorded.test.commodity = "wheat";
    recorded.test.time = *models::parse_stamp("2026-07-20T10:00:00+02:00");
    recorded.only_signals = true;
    recorded.test_signal = test_signal;
    recorded.control_signal = control_signal;
    recorded.incubation_s = 300.0;
    recorded.temperature_degc = 21.0;
    return recorded;
}
RecordedTest reported_of_k7(double content, Reading reading = Reading::value) {
    RecordedTest recorded = strip_of_k7();
    recorded.only_signals = false;
    recorded.test_signal.reset();
    recorded.control_signal.reset();
    recorded.test.reading = reading;
    recorded.test.don_mg_per_kg = content;
    return recorded;
}

models::StripReading read_of_k7(const RecordedTest& recorded, const KitLot& lot = lot_k7()) {
    return models::read_strip(recorded, {lot});
}
std::string why_k7_void(const RecordedTest& recorded, const KitLot& lot = lot_k7()) {
    const auto reading = read_of_k7(recorded, lot);
    CHECK(reading.test.reading == Reading::invalid);
    CHECK(reading.test.don_mg_per_kg == 0.0);
    CHECK(reading.voided);
    CHECK(models::in_words(reading) == "test T1 is void: " + reading.test.void_reason);
    return reading.test.void_reason;
}
std::string only_flag_of(const models::StripReading& reading) {
    REQUIRE(reading.flags.size() == 1);
    return reading.flags[0].sentence;
}

}  // namespace

TEST_CASE("a strip that has only signals gets its content from the curve of its lot") {
    const auto reading = read_of_k7(strip_of_k7());
    CHECK(reading.by_curve);
    CHECK(reading.test.reading == Reading::value);
    CHECK(reading.test.don_mg_per_kg ==
          Approx(1.4319346).margin(5e-8).epsilon(0.0));  // worked example of the curve; not times 6
    CHECK(std::sqrt(reading.variance.value().signal) == Approx(0.099182 / 1.4319346).epsilon(1e-5));
    CHECK(reading.flags.empty());

    KitLot of_test_line = lot_k7();
    of_test_line.signal = models::SignalKind::test;
    CHECK(read_of_k7(strip_of_k7(0.5), of_test_line).test.don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));

    RecordedTest thinned = strip_of_k7();
    thinned.test.extra_dilution = 5.0;
    CHECK(read_of_k7(thinned).test.don_mg_per_kg == Approx(5.0 * 1.4319346).margin(5e-7).epsilon(0.0));
}

TEST_CASE("signals outside the working range stay inequalities") {
    const auto low = read_of_k7(strip_of_k7(1150.0));
    CHECK(low.test.reading == Reading::below);
    CHECK(low.test.don_mg_per_kg == 0.2);
    const auto zero = read_of_k7(strip_of_k7(0.0));
    CHECK(zero.test.reading == Reading::above);
    CHECK(zero.test.don_mg_per_kg == 6.0);
    CHECK_FALSE(zero.variance);
    CHECK(models::in_words(low) == "test T1 reads <0.2 mg/kg by the curve of kit lot K7");
    CHECK(models::in_words(read_of_k7(strip_of_k7())) == "test T1 reads 1.43 mg/kg by the curve of kit lot K7");
}

TEST_CASE("a strip without a sound control line is void and says why") {
    CHECK(why_k7_void(strip_of_k7(500.0, 0.0)) == "no control line: its signal is 0");
    CHECK(why_k7_void(strip_of_k7(150.0, 299.0)) ==
          "the control line is too weak: its signal is 299, and kit lot K7 asks for 300");
    CHECK(why_k7_void(strip_of_k7(500.0, std::nullopt)) ==
          "the control line's signal is not recorded, and the curve of kit lot K7 is of test over control");
    KitLot of_test_line = lot_k7();
    of_test_line.signal = models::SignalKind::test;
    CHECK(why_k7_void(strip_of_k7(0.5, std::nullopt), of_test_line) ==
          "the control line's signal is not recorded, and kit lot K7 asks for 300");
    RecordedTest value = reported_of_k7(1.0);
    value.control_signal = 120.0;
    CHECK_THAT(why_k7_void(value), Contains("the control line is too weak"));
}

TEST_CASE("signals that no strip of the lot gives are void and not clean grain") {
    CHECK_THAT(why_k7_void(strip_of_k7(4000.0)), Contains("a signal of 4 is none that this lot gives"));
    CHECK_THAT(why_k7_void(strip_of_k7(-5.0)), Contains("a signal of -0.005 is none that a reader gives"));
}

TEST_CASE("signals without a curve for their grain and dilution are void and say what there is") {
    RecordedTest durum = strip_of_k7();
    durum.test.commodity = "durum";
    CHECK(why_k7_void(durum) == "kit lot K7 is not made for durum, only for wheat, so its signals cannot be read");
    RecordedTest other = strip_of_k7();
    other.test.kit_lot = "K9";
    CHECK(why_k7_void(other) == "kit lot K9 is not in the store, so its signals cannot be read");
    other.test.kit_lot.clear();
    CHECK(why_k7_void(other) == "its signals have no kit lot whose curve they could be read from");
    KitLot bare = lot_k7();
    bare.curve.reset();
    CHECK(why_k7_void(strip_of_k7(), bare) == "kit lot K7 has no curve for wheat");
    bare.why_no_curve = "its calibrators are flat";
    CHECK(why_k7_void(strip_of_k7(), bare) == "its calibrators are flat");

    KitLot undiluted = lot_k7();
    undiluted.dilution = 1.0;
    undiluted.curve->c = 0.15;
    const std::vector<KitLot> both = {lot_k7(), undiluted};
    const auto unsaid = models::read_strip(strip_of_k7(), both);
    CHECK(unsaid.test.void_reason == "no dilution is named, and kit lot K7 has 1 and 6, so its signals cannot be read");
    RecordedTest said = strip_of_k7();
    said.dilution = 1.0;
    CHECK(models::read_strip(said, both).test.don_mg_per_kg == Approx(1.4319346 * 0.15 / 0.9).epsilon(1e-7));
    said.dilution = 2.0;
    CHECK_THAT(models::read_strip(said, both).test.void_reason, Contains("has no dilution of 2, only 1 and 6"));
}

TEST_CASE("an incubation or temperature outside the lot's bounds voids signals and flags a reported content") {
    RecordedTest long_run = strip_of_k7();
    long_run.incubation_s = 400.0;
    CHECK(why_k7_void(long_run) == "the strip was incubated 400 s, and kit lot K7 asks for 280 to 320 s");
    RecordedTest cold = strip_of_k7();
    cold.temperature_degc = 9.0;
    CHECK(why_k7_void(cold) == "the strip was run at 9 degC, and kit lot K7 asks for 18 to 28 degC");
    RecordedTest value = reported_of_k7(1.0);
    value.temperature_degc = 9.0;
    const auto flagged = read_of_k7(value);
    CHECK(flagged.test.don_mg_per_kg == 1.0);
    CHECK_THAT(only_flag_of(flagged), Contains("the strip was run at 9 degC"));
    KitLot open = lot_k7();
    open.incubation_most_s.reset();
    CHECK(read_of_k7(long_run, open).flags.empty());
}

TEST_CASE("a lot past its last day flags a result on the day of the test and not a day before") {
    RecordedTest late = strip_of_k7();
    late.test.time = *models::parse_stamp("2026-08-01T23:30:00+02:00");
    CHECK(read_of_k7(late).flags.empty());
    late.test.time = *models::parse_stamp("2026-08-02T00:30:00+02:00");  // still 1 August in UTC
    const auto flagged = read_of_k7(late);
    CHECK(flagged.test.don_mg_per_kg == Approx(1.4319346).margin(5e-8).epsilon(0.0));
    CHECK(only_flag_of(flagged) == "kit lot K7 was good until 2026-08-01, and the strip was read on 2026-08-02");
}

TEST_CASE("a reported number outside the range counts as the inequality that a strip tells") {
    const auto high = read_of_k7(reported_of_k7(9.5));
    CHECK(high.test.reading == Reading::above);
    CHECK(high.test.don_mg_per_kg == 6.0);
    CHECK(only_flag_of(high) == "9.5 mg/kg was reported, and the range of kit lot K7 ends at 6 mg/kg: it counts as >6");
    const auto none = read_of_k7(reported_of_k7(0.0));
    CHECK(none.test.reading == Reading::below);
    CHECK(none.test.don_mg_per_kg == 0.2);
    const auto bold = read_of_k7(reported_of_k7(0.05, Reading::below));
    CHECK(bold.test.don_mg_per_kg == 0.2);
    CHECK_THAT(only_flag_of(bold), Contains("<0.05 mg/kg was reported") && Contains("counts as <0.2"));
    const auto careful = read_of_k7(reported_of_k7(0.5, Reading::below));
    CHECK(careful.test.don_mg_per_kg == 0.5);
    CHECK(careful.flags.empty());
    RecordedTest thinned = reported_of_k7(9.5);
    thinned.test.extra_dilution = 5.0;
    CHECK(read_of_k7(thinned).test.reading == Reading::value);
    CHECK(read_of_k7(thinned).flags.empty());
}

TEST_CASE("a reported content that its own signals contradict is flagged") {
    const auto reported = [](double content, double signal, double extra_dilution = 1.0) {
        auto recorded = strip_of_k7(signal);
        recorded.only_signals = false;
        recorded.test.don_mg_per_kg = content;
        recorded.test.extra_dilution = extra_dilution;
        return read_of_k7(recorded);
    };
    // The worked example reads 1.43 by its curve.
    CHECK(reported(1.40, 500.0).flags.empty());
    CHECK_FALSE(reported(1.40, 500.0).by_signals);
    const auto twice = reported(8.6 / 1.5, 500.0);
    CHECK_FALSE(twice.flags.empty());
    const auto again = reported(0.24, 500.0);
    REQUIRE(again.by_signals);
    CHECK(again.by_signals->don_mg_per_kg == Approx(1.4319).epsilon(1e-4));
    CHECK_THAT(again.flags.at(0).sentence,
               Contains("the strip's signals give 1.432 mg/kg") && !Contains("looks as if"));
    // Left out of what was reported: an extract thinned four times reads a quarter.
    const auto thinned = reported(1.43, 500.0, 4.0);
    CHECK_THAT(thinned.flags.at(0).sentence,
               Contains("give 5.728 mg/kg") && Contains("the extra dilution of 4 was left out"));
    // The lot's own dilution of 6, which is in its curve, put on top of it.
    auto own = strip_of_k7(900.0);
    const double content = read_of_k7(own).test.don_mg_per_kg;
    REQUIRE(6.0 * content < 6.0);
    CHECK_THAT(reported(6.0 * content, 900.0).flags.at(0).sentence,
               Contains("the lot's own dilution of 6, which its curve has in it, was applied again"));
    // An end of the range contradicts from its own side only.
    const auto over = reported(0.4, 120.0);
    REQUIRE(over.by_signals);
    CHECK(over.by_signals->reading == Reading::above);
    CHECK_THAT(over.flags.at(0).sentence, Contains("give over 6 mg/kg"));
}

TEST_CASE("a reader at its end tells nothing") {
    KitLot lot = lot_k7();
    lot.maximum_signal = 65535.0;
    CHECK_THAT(why_k7_void(strip_of_k7(65535.0, 65535.0), lot),
               Contains("a line at 65535 is beyond what the reader can tell"));
    CHECK_THAT(why_k7_void(strip_of_k7(500.0, 70000.0), lot), Contains("which ends at 65535"));
    CHECK(read_of_k7(strip_of_k7(500.0, 1000.0), lot).test.reading == Reading::value);
    // Where the lot does not say where the reader ends, two lines alike are odd enough to be told.
    const auto alike = read_of_k7(strip_of_k7(4095.0, 4095.0));
    REQUIRE_FALSE(alike.flags.empty());
    CHECK_THAT(alike.flags.at(0).sentence, Contains("both lines read 4095") && Contains("maximum_signal"));
}

TEST_CASE("no test line at all is over the range and told for what else it may be") {
    KitLot lot = lot_k7();
    const auto none = read_of_k7(strip_of_k7(0.0, 1000.0), lot);
    CHECK(none.test.reading == Reading::above);
    REQUIRE_FALSE(none.flags.empty());
    CHECK_THAT(none.flags.at(0).sentence, Contains("no test line at all") && Contains("stayed dry"));
}

TEST_CASE("void tests and a laboratory's results stay as they are") {
    RecordedTest laboratory = reported_of_k7(9.5);
    laboratory.test.method = models::Method::laboratory;
    CHECK(read_of_k7(laboratory).test.don_mg_per_kg == 9.5);
    RecordedTest spilt = reported_of_k7(0.0, Reading::invalid);
    spilt.test.void_reason = "spilt";
    CHECK(read_of_k7(spilt).test.void_reason == "spilt");
    CHECK_FALSE(read_of_k7(spilt).voided);
    RecordedTest unknown = reported_of_k7(9.5);
    unknown.test.kit_lot = "K9";
    CHECK(read_of_k7(unknown).test.reading == Reading::value);
    CHECK(read_of_k7(unknown).flags.empty());
    unknown = reported_of_k7(9.5);
    unknown.test.commodity = "oats";
    CHECK_THAT(only_flag_of(read_of_k7(unknown)), Contains("kit lot K7 is not made for oats, only for wheat"));
}
