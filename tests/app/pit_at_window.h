#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <utility>
#include <vector>

#include <GLFW/glfw3.h>
#include <catch2/catch.hpp>

#include "app/command_line.h"
#include "geo/check.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "tests/app/captured_output.h"
#include "tests/geo/store_fixture.h"
#include "tests/support/app/window_driver.h"

/// A farm with trucks at its pit, the window there, and what is compared of two stores.
namespace pit_tests {

namespace fs = std::filesystem;
using namespace app::window;

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
        window = std::make_unique<tests::WindowDriver>(settings);
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
    std::unique_ptr<tests::WindowDriver> window;

 private:
    fs::path store_;
};

inline std::string run_command(const std::vector<app::Command>& commands, std::vector<std::string> words) {
    words.insert(words.begin(), "lodicule");
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), error(stderr);
    app::run_command_line(commands, static_cast<int>(bare.size()), bare.data());
    return out.text() + error.text();
}

/// What is compared of two stores: moves, states and samples, all that the pit writes.
inline std::vector<std::string> written(const fs::path& file) {
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

}  // namespace pit_tests
