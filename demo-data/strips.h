#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "demo-data/landscape.h"
#include "models/calendar.h"

namespace demo {

/// A row of samples.csv, and what the grain in it truly holds.
struct SampleRow {
    std::string sample, stage, kind, field, part, load, bin;
    std::optional<models::PointM> place_m;
    models::Stamp taken_time;
    std::string taken_by, seal, chosen_because;
    int increments = 0;
    double mass_g = 0.0;
    std::optional<double> moisture_pct;
    std::string commodity;
    double content_mg_per_kg = 0.0;  ///< where the handfuls came from
    double target_mg_per_kg = 0.0;   ///< what the sample stands for: the crop's mean, the load, the bin
};

/// A row of tests.csv, and how it came about.
struct TestRow {
    std::string test, don, unit, method, commodity, kit_lot, grind, extract, basis, void_reason, person, reader,
        supersedes;
    models::Stamp time;
    std::size_t sample = 0;
    std::optional<std::size_t> corrects;  ///< the earlier row that was typed wrong
    double extra_dilution = 1.0;
    double portion_g = 0.0;
    std::optional<double> standard_uncertainty_mg_per_kg, loq_mg_per_kg, recovery_pct, incubation_s, temperature_degc;
    bool valid = true;
    double unrounded_mg_per_kg = 0.0;
    double log_variance = 0.0;  ///< of the reading about the sample's content, sampling included
    double log_lot_effect = 0.0;
    bool of_survey = false;  ///< of the two closely sampled fields: a table of its own
    bool of_bench = false;   ///< a control read for its own sake
};

struct KitLot {
    std::string_view kit_lot, commodity;
    double low_mg_per_kg, high_mg_per_kg;
    std::string_view expires;
    double log_effect;  ///< how far its strips read from the truth; nobody knows it
};
const std::vector<KitLot>& kit_lots();

struct Control {
    std::string_view control;
    double assigned_mg_per_kg, standard_uncertainty_mg_per_kg, low_mg_per_kg, high_mg_per_kg;
    double truly_mg_per_kg;
};
const std::vector<Control>& controls();

/// 2026-07-16, 14:05 -> the stamp on the district's clock.
models::Stamp at_clock(models::LocalDay day, int hour, int minute);

/// The bench: takes samples, reads strips, sends to the laboratory. Every reading is lognormal about what the sample
/// truly holds, with the variances of Whitaker et al. 2000 (J AOAC Int 83:1285-1292) at the true content: kernels in
/// the sample (the same for all readings of it), particles in the portion, reading; and the effect of its kit lot.
class Bench {
 public:
    std::size_t take(SampleRow sample);
    /// A strip of that sample. The row may still be changed (void, typed wrong) until the next reading is made.
    TestRow& read_strip(std::size_t sample, models::Stamp time, std::string_view person, double extra_dilution = 1.0);
    TestRow& read_control(const Control& control, models::Stamp time, std::string_view person);
    /// A strip of a named lot on a control, beside all others: it has draws and a number (C26-005) of its own, so that
    /// one more of them changes no other row.
    /// @param log_drift  how far the lot has moved from what it was
    TestRow& read_bench_control(const Control& control, std::string_view kit_lot, models::Stamp time,
                                std::string_view person, double log_drift = 0.0);
    TestRow& read_laboratory(std::size_t sample, models::Stamp time);

    /// The last reading was typed with its point in the wrong place; a second row puts it right a little later.
    void type_wrong_and_correct();
    /// Puts samples and tests in the order of time and numbers them: G26-017, S26-021, L26-002.
    void number_everything();

    std::vector<SampleRow> samples;
    std::vector<TestRow> tests;
};

/// Controls at the start of every day on which strips were read, and nine strips of each control with every new kit
/// lot; and the last days of OM-26-B, whose opened pouches lay in the warm weigh house after the survey: its controls
/// fall from the morning of 8 July until OM-26-F is opened on the evening of the 9th, and no grain is read with it.
void keep_the_bench(Bench& bench);

/// The number that a person at the counter saw, mg/kg: the bound where it was below or above the range.
double as_seen_mg_per_kg(const TestRow& test);

}  // namespace demo
