#pragma once

#include <optional>
#include <string>

#include <catch2/catch.hpp>

#include "app/bench/bench_desk.h"
#include "geo/check.h"
#include "geo/store/database.h"
#include "geo/store/started_strips.h"
#include "tests/geo/store_fixture.h"

namespace bench_tests {

using app::BenchDesk;
using app::DeskAnswer;
using app::LineFrom;
using Catch::Matchers::Contains;
using std::chrono::seconds;

/// A store with samples S1 to S12 of Fen, the control C1 and the kit lots K7 (6:10 to 6:40; a curve) and K8, and a
/// clock that the test sets.
struct BenchFarm {
    store_tests::Farm farm;
    models::Stamp now = *models::parse_stamp("2025-07-20T09:30:00+02:00");
    std::optional<BenchDesk> desk;
    std::string said, question;
    bool refused = false;

    BenchFarm() {
        std::string samples = "sample,stage,kind,field\nC1,control,composite,\n";
        for (int i = 1; i <= 12; ++i) samples += "S" + std::to_string(i) + ",standing,composite,Fen\n";
        farm.import_text("samples", samples);
        farm.import_text("controls", "control,assigned_mg_per_kg,low_mg_per_kg,high_mg_per_kg\nC1,1,0.8,1.2\n");
        farm.import_text("kit-lots",
                         "kit_lot,commodity,dilution,low_mg_per_kg,high_mg_per_kg,expires,signal,curve_a,curve_b,"
                         "curve_c,curve_d,minimum_control_signal,incubation_least_s,incubation_most_s\n"
                         "K7,wheat,6,0.2,6,2026-08-01,test_over_control,1.2,1.1,0.9,0.08,300,370,400\n"
                         "K8,wheat,6,0.2,6,2025-06-30,,,,,,,,\n");
        open();
    }
    /// As after a power cut: nothing of the old bench is left but the store.
    void open(int every = 20) {
        desk.reset();
        const auto file = farm.store.file();
        farm.store = geo::Store::open(file);
        BenchDesk::Settings settings;
        settings.control_schedule.every_tests = every;
        settings.actor = "Ada Holt";
        desk.emplace(farm.store, settings, [this] { return now; });
    }
    /// What is said to a line, sentence by sentence.
    const std::string& say(const std::string& line, LineFrom from = LineFrom::keys) {
        const DeskAnswer answer = desk->take({line, from});
        said.clear();
        for (const std::string& sentence : answer.says) said += sentence + "\n";
        question = answer.question;
        refused = answer.refused;
        return said;
    }
    void later(int s) { now.utc += seconds(s); }
    std::vector<models::StartedStrip> running() const { return geo::running_strips(farm.store); }
    std::vector<models::Test> tests() const { return farm.store.tests(); }
    bool all_good() {
        for (const auto& finding : geo::check_store(farm.store)) {
            if (!finding.good) return false;
        }
        return true;
    }
};

}  // namespace bench_tests
