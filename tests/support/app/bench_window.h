#pragma once

#include <filesystem>
#include <memory>
#include <string>

#include <unistd.h>

#include "geo/import.h"
#include "geo/store/store.h"
#include "tests/support/app/window_driver.h"

namespace tests {

/// A store of its own with samples S1 and S2 of a field, the kit lot K7 (6:10 to 6:40) and the control C1.
class BenchWindow {
 public:
    BenchWindow() : folder_(std::filesystem::temp_directory_path() / ("window_bench_" + std::to_string(::getpid()))) {
        std::filesystem::remove_all(folder_);
        std::filesystem::create_directories(folder_);
        std::filesystem::copy(demo_store(), store());
        geo::Store farm = geo::Store::open(store());
        geo::add_row(farm, "kit-lots",
                     {{"kit_lot", "K7"},
                      {"commodity", "wheat"},
                      {"dilution", "6"},
                      {"low_mg_per_kg", "0.2"},
                      {"high_mg_per_kg", "6"},
                      {"expires", "2027-08-01"},
                      {"incubation_least_s", "370"},
                      {"incubation_most_s", "400"}});
        for (const char* sample : {"S901", "S902"})
            geo::add_row(farm, "samples",
                         {{"sample", sample}, {"stage", "standing"}, {"kind", "composite"}, {"field", "T07"}});
        tests_before = farm.tests().size();
    }
    ~BenchWindow() {
        window.reset();
        std::filesystem::remove_all(folder_);
    }
    std::filesystem::path store() const { return folder_ / "season.lodicule"; }
    /// @param last  how it was left; then the bench is entered when its clock stands
    void open(const std::optional<app::window::LastState>& last = {}) {
        app::window::WindowSettings settings;
        settings.store = store();
        settings.season = 2026;
        settings.limit = "1.0";
        settings.room = last ? "contamination" : "bench";
        settings.width = 1440;
        settings.height = 900;
        window = std::make_unique<WindowDriver>(settings, last);
        window->session->clock = [this] { return now; };
        if (last) app::window::apply(*window->session, app::window::EnterRoom{app::window::Room::bench});
        window->frames(2);
    }
    void later(int seconds) {
        now.utc += std::chrono::seconds(seconds);
        window->frames(2);
    }
    std::string said() const {
        std::string all;
        if (window->session->bench->said().empty()) return all;
        for (const std::string& sentence : window->session->bench->said().back().sentences) all += sentence + "\n";
        return all;
    }
    std::size_t tests() const { return geo::Store::open(store(), geo::Store::Access::read_only).tests().size(); }

    models::Stamp now = *models::parse_stamp("2026-07-16T09:30:00+02:00");
    std::unique_ptr<WindowDriver> window;
    std::size_t tests_before = 0;

 private:
    std::filesystem::path folder_;
};

}  // namespace tests
