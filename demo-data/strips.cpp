#include "demo-data/strips.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <numeric>

#include <fmt/format.h>

#include "demo-data/counter_random.h"
#include "demo-data/sky.h"

namespace demo {

namespace {

constexpr double strip_portion_g = 62.0, laboratory_portion_g = 140.0;
constexpr double laboratory_cv = 0.06;

/// Squared coefficients of variation at the true content.
struct Scatter {
    double sampling, preparation, analysis;
};

Scatter scatter_of(double content, double mass_g, double portion_g, bool laboratory) {
    const double power = std::pow(std::max(content, 0.05), 0.833 - 2.0);
    return {454.0 / mass_g * 0.026 * power, 25.0 / portion_g * 0.066 * power,
            laboratory ? laboratory_cv * laboratory_cv : 0.026 * power};
}

std::string number_text(double value, int decimals) {
    return fmt::format("{:.{}f}", value, decimals);
}

const KitLot& lot_in_use(models::LocalDay day, const std::string& commodity) {
    const int year = models::year_of(day);
    const bool changed = day >= models::day_of(2026, 7, 10);
    const std::string_view name = year == 2024 ? "OM-24-C" : year == 2025 ? "OM-25-K" : changed ? "OM-26-F" : "OM-26-B";
    for (const KitLot& lot : kit_lots()) {
        if (lot.kit_lot == name && lot.commodity == commodity) return lot;
    }
    return kit_lots().front();
}

/// @param index  of the sample
TestRow strip_of(const SampleRow& sample, std::size_t index, const KitLot& lot, Draws& draws, models::Stamp time,
                 std::string_view person, double extra_dilution) {
    const models::LocalDay day = time.local_day();
    const bool is_control = sample.stage == "control";
    const Scatter scatter = scatter_of(sample.content_mg_per_kg, sample.mass_g, strip_portion_g, false);

    TestRow test;
    test.sample = index;
    test.time = time;
    test.method = "strip";
    test.commodity = sample.commodity;
    test.kit_lot = lot.kit_lot;
    test.extra_dilution = extra_dilution;
    test.grind = "fine";
    test.extract = "water";
    test.portion_g = strip_portion_g;
    test.basis = "as_is";
    test.person = person;
    test.log_lot_effect = lot.log_effect;

    // A control is one even powder: no sampling of kernels, and its particles are fine.
    const double v_sampling = is_control ? 0.0 : std::log1p(scatter.sampling);
    const double v_preparation = is_control ? 0.0 : std::log1p(scatter.sampling + scatter.preparation) - v_sampling;
    const double v_analysis =
        is_control ? std::log1p(scatter.analysis)
                   : std::log1p(scatter.sampling + scatter.preparation + scatter.analysis) - v_sampling - v_preparation;
    test.log_variance = v_sampling + v_preparation + v_analysis;
    const double kernels = Draws("kernels", index).normal();
    const double of_preparation = draws.normal();
    const double of_analysis = draws.normal();
    const double log_reading = std::log(sample.content_mg_per_kg) - 0.5 * test.log_variance + lot.log_effect +
                               std::sqrt(v_sampling) * kernels + std::sqrt(v_preparation) * of_preparation +
                               std::sqrt(v_analysis) * of_analysis;
    test.unrounded_mg_per_kg = std::exp(log_reading);
    test.incubation_s = 385 + draws.whole(-6, 9);
    test.temperature_degc = 0.5 * draws.whole(42, 54);
    test.reader = day < models::day_of(2026, 1, 1) || draws.chance(0.7) ? "reader 1" : "reader 2";

    const double low = lot.low_mg_per_kg * extra_dilution, high = lot.high_mg_per_kg * extra_dilution;
    if (test.unrounded_mg_per_kg < low)
        test.don = "<" + number_text(low, 2);
    else if (test.unrounded_mg_per_kg > high)
        test.don = ">" + number_text(high, 1);
    else
        test.don = number_text(test.unrounded_mg_per_kg, 2);
    test.unit = draws.chance(0.12) ? "ppm" : "mg/kg";
    return test;
}

}  // namespace

const std::vector<KitLot>& kit_lots() {
    static const std::vector<KitLot> lots = {
        {"OM-24-C", "wheat", 0.34, 4.6, "2025-02-28", 0.05},  {"OM-24-C", "durum", 0.46, 5.2, "2025-02-28", 0.05},
        {"OM-25-K", "wheat", 0.34, 4.6, "2026-01-31", -0.06}, {"OM-25-K", "durum", 0.46, 5.2, "2026-01-31", -0.06},
        {"OM-26-B", "wheat", 0.34, 4.6, "2026-11-30", 0.04},  {"OM-26-B", "durum", 0.46, 5.2, "2026-11-30", 0.04},
        {"OM-26-F", "wheat", 0.34, 4.6, "2027-03-31", -0.03}, {"OM-26-F", "durum", 0.46, 5.2, "2027-03-31", -0.03}};
    return lots;
}

const std::vector<Control>& controls() {
    static const std::vector<Control> all = {{"K137", 1.37, 0.06, 0.96, 1.78, 1.36},
                                             {"K058", 0.58, 0.03, 0.40, 0.76, 0.575}};
    return all;
}

models::Stamp at_clock(models::LocalDay day, int hour, int minute) {
    const auto wall = day + std::chrono::hours(hour) + std::chrono::minutes(minute);
    return {std::chrono::sys_seconds{wall.time_since_epoch() - clock_offset}, clock_offset};
}

std::size_t Bench::take(SampleRow sample) {
    samples.push_back(std::move(sample));
    return samples.size() - 1;
}

TestRow& Bench::read_strip(std::size_t index, models::Stamp time, std::string_view person, double extra_dilution) {
    const KitLot& lot = lot_in_use(time.local_day(), samples[index].commodity);
    Draws draws("strip", tests.size());
    tests.push_back(strip_of(samples[index], index, lot, draws, time, person, extra_dilution));
    return tests.back();
}

TestRow& Bench::read_bench_control(const Control& control, std::string_view kit_lot, models::Stamp time,
                                   std::string_view person, double log_drift) {
    const auto sample =
        std::find_if(samples.begin(), samples.end(), [&](const SampleRow& s) { return s.sample == control.control; });
    const auto lot = std::find_if(kit_lots().begin(), kit_lots().end(), [&](const KitLot& l) {
        return l.kit_lot == kit_lot && l.commodity == sample->commodity;
    });
    KitLot moved = *lot;
    moved.log_effect += log_drift;
    const auto before = std::count_if(tests.begin(), tests.end(), [](const TestRow& test) { return test.of_bench; });
    Draws draws("control on the bench", static_cast<std::size_t>(before));
    tests.push_back(
        strip_of(*sample, static_cast<std::size_t>(sample - samples.begin()), moved, draws, time, person, 1.0));
    tests.back().of_bench = true;
    return tests.back();
}

TestRow& Bench::read_control(const Control& control, models::Stamp time, std::string_view person) {
    auto found =
        std::find_if(samples.begin(), samples.end(), [&](const SampleRow& s) { return s.sample == control.control; });
    if (found == samples.end()) {
        SampleRow sample;
        sample.sample = control.control;
        sample.stage = "control";
        sample.kind = "composite";
        sample.taken_time = time;
        sample.taken_by = person;
        sample.mass_g = 500.0;
        sample.chosen_because = "plan";
        sample.commodity = "wheat";
        sample.content_mg_per_kg = sample.target_mg_per_kg = control.truly_mg_per_kg;
        take(std::move(sample));
        found = samples.end() - 1;
    }
    return read_strip(static_cast<std::size_t>(found - samples.begin()), time, person);
}

TestRow& Bench::read_laboratory(std::size_t index, models::Stamp time) {
    const SampleRow& sample = samples[index];
    const Scatter scatter = scatter_of(sample.content_mg_per_kg, sample.mass_g, laboratory_portion_g, true);
    TestRow test;
    test.sample = index;
    test.time = time;
    test.method = "laboratory";
    test.commodity = sample.commodity;
    test.grind = "very fine";
    test.portion_g = laboratory_portion_g;
    test.basis = "as_is";
    test.person = "district laboratory";
    const double v_sampling = std::log1p(scatter.sampling);
    test.log_variance = std::log1p(scatter.sampling + scatter.preparation + scatter.analysis);
    Draws draws("laboratory", tests.size());
    const double kernels = Draws("kernels", index).normal();
    test.unrounded_mg_per_kg =
        std::exp(std::log(sample.content_mg_per_kg) - 0.5 * test.log_variance + std::sqrt(v_sampling) * kernels +
                 std::sqrt(test.log_variance - v_sampling) * draws.normal());
    test.don = number_text(1000.0 * test.unrounded_mg_per_kg, 0);
    test.unit = "ug/kg";
    test.standard_uncertainty_mg_per_kg = std::round(100.0 * 0.09 * test.unrounded_mg_per_kg) / 100.0;
    test.loq_mg_per_kg = 0.05;
    test.recovery_pct = draws.whole(91, 104);
    tests.push_back(std::move(test));
    return tests.back();
}

void Bench::type_wrong_and_correct() {
    TestRow right = tests.back();
    tests.back().don = number_text(10.0 * right.unrounded_mg_per_kg, 1);
    right.time.utc += std::chrono::minutes(3);
    right.corrects = tests.size() - 1;
    tests.push_back(std::move(right));
}

void Bench::number_everything() {
    std::vector<std::size_t> order(samples.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return samples[a].taken_time.utc < samples[b].taken_time.utc;
    });
    std::vector<SampleRow> sorted_samples;
    std::vector<std::size_t> new_place(samples.size());
    std::map<std::pair<char, int>, int> count;
    for (const std::size_t old : order) {
        new_place[old] = sorted_samples.size();
        SampleRow sample = samples[old];
        const int year = models::year_of(sample.taken_time.local_day());
        if (sample.sample.empty()) sample.sample = fmt::format("G{:02}-{:03}", year % 100, ++count[{'G', year}]);
        sorted_samples.push_back(std::move(sample));
    }
    samples = std::move(sorted_samples);

    order.resize(tests.size());
    std::iota(order.begin(), order.end(), 0);
    std::stable_sort(order.begin(), order.end(),
                     [&](std::size_t a, std::size_t b) { return tests[a].time.utc < tests[b].time.utc; });
    std::vector<std::size_t> new_row(tests.size());
    for (std::size_t i = 0; i < order.size(); ++i) new_row[order[i]] = i;
    std::vector<TestRow> sorted_tests;
    for (const std::size_t old : order) {
        TestRow test = tests[old];
        const int year = models::year_of(test.time.local_day());
        const char letter = test.of_bench ? 'C' : test.method == "strip" ? 'S' : 'L';
        test.test = fmt::format("{}{:02}-{:03}", letter, year % 100, ++count[{letter, year}]);
        test.sample = new_place[test.sample];
        if (test.corrects) test.corrects = new_row[*test.corrects];
        sorted_tests.push_back(std::move(test));
    }
    tests = std::move(sorted_tests);
}

double as_seen_mg_per_kg(const TestRow& test) {
    for (const KitLot& lot : kit_lots()) {
        if (lot.kit_lot == test.kit_lot && lot.commodity == test.commodity)
            return std::clamp(test.unrounded_mg_per_kg, lot.low_mg_per_kg * test.extra_dilution,
                              lot.high_mg_per_kg * test.extra_dilution);
    }
    return test.unrounded_mg_per_kg;
}

}  // namespace demo
