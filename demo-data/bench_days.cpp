#include <algorithm>
#include <chrono>
#include <map>

#include "demo-data/strips.h"

namespace demo {

namespace {

using models::LocalDay;
using std::chrono::days;

constexpr int strips_of_a_new_lot = 9;

const Control& higher() {
    return controls()[0];
}

/// Strips of both controls in turn before the lot is used for grain.
void open_a_lot(Bench& bench, std::string_view kit_lot, LocalDay day, int hour, std::string_view person) {
    for (int strip = 0; strip < 2 * strips_of_a_new_lot; ++strip) {
        const int minute = 9 * strip;
        bench.read_bench_control(controls()[static_cast<std::size_t>(strip % 2)], kit_lot,
                                 at_clock(day, hour + minute / 60, minute % 60), person);
    }
}

struct DayOfStrips {
    models::Stamp first;
    std::string kit_lot, person;
    int strips = 0;
    bool has_control = false;
};

/// The days on which a strip of grain was read, and whether the higher control was read on them as well.
std::map<LocalDay, DayOfStrips> days_of_strips(const Bench& bench) {
    std::map<LocalDay, DayOfStrips> found;
    for (const TestRow& test : bench.tests) {
        if (test.method != "strip") continue;
        const SampleRow& sample = bench.samples[test.sample];
        DayOfStrips& day = found[test.time.local_day()];
        if (sample.stage == "control") {
            day.has_control = day.has_control || sample.sample == higher().control;
            continue;
        }
        if (day.strips++ == 0 || test.time.utc < day.first.utc) {
            day.first = test.time;
            day.kit_lot = test.kit_lot;
            day.person = test.person;
        }
    }
    return found;
}

}  // namespace

void keep_the_bench(Bench& bench) {
    const auto testing = days_of_strips(bench);
    for (SampleRow& sample : bench.samples) {  // the powders were there before the first lot was opened
        if (sample.stage == "control") sample.taken_time = at_clock(models::day_of(2024, 6, 21), 13, 30);
    }
    open_a_lot(bench, "OM-24-C", models::day_of(2024, 6, 21), 14, "Ennoth");
    open_a_lot(bench, "OM-25-K", models::day_of(2025, 6, 24), 14, "Ennoth");
    open_a_lot(bench, "OM-26-B", models::day_of(2026, 6, 26), 14, "Ennoth");
    open_a_lot(bench, "OM-26-F", models::day_of(2026, 7, 9), 18, "Tobrel");
    for (const auto& [day, told] : testing) {
        if (told.strips == 0) continue;
        if (!told.has_control) {
            bench.read_bench_control(higher(), told.kit_lot,
                                     {told.first.utc - std::chrono::minutes(24), told.first.offset}, told.person);
        }
        if (told.strips > 20) bench.read_bench_control(higher(), told.kit_lot, at_clock(day, 13, 4), told.person);
    }
    // Opened pouches in the heat: from here on the lot is not what it was.
    int reading = 0;
    for (const int date : {8, 9}) {
        for (const int hour : {7, 12, 16}) {
            const double fallen = -0.06 * ++reading;
            bench.read_bench_control(higher(), "OM-26-B", at_clock(models::day_of(2026, 7, date), hour, 38), "Mivra",
                                     fallen);
        }
    }
}

}  // namespace demo
