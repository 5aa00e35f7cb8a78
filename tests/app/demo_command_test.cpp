#include "app/commands/demo_command.h"

#include <algorithm>
#include <filesystem>
#include <fstream>
#include <map>
#include <set>

#include <catch2/catch.hpp>

#include "demo-data/scenario.h"
#include "geo/check.h"
#include "geo/store/kept_forecasts.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "tests/app/demo_tables.h"

namespace fs = std::filesystem;
using app::commands::make_demo;

namespace {

/// A folder of this test alone, empty at first and gone at the end.
struct DemoFolder {
    explicit DemoFolder(const std::string& name) : path(fs::temp_directory_path() / ("lodicule-demo-" + name)) {
        fs::remove_all(path);
    }
    ~DemoFolder() { fs::remove_all(path); }
    fs::path path;
};

std::vector<geo::ImportReport> made_in(const fs::path& folder) {
    std::vector<geo::ImportReport> reports;
    make_demo(folder, [&](const geo::ImportReport& report) { reports.push_back(report); });
    return reports;
}

std::string chain_of(geo::Store& store) {
    for (const geo::CheckFinding& finding : geo::check_store(store)) {
        if (finding.what == "chain of records") return finding.detail;
    }
    return "";
}

}  // namespace

TEST_CASE("the demo store takes every row of every table and passes its own check") {
    const DemoFolder folder("whole");
    const auto reports = made_in(folder.path);
    CHECK(reports.size() == 18);
    for (const geo::ImportReport& report : reports) {
        INFO(report.file);
        CHECK(report.refused.empty());
        CHECK(report.added == report.rows);
        CHECK(report.rows > 0);
        // The weather's own faults are named: the humidity sensor that stands still in 2025, a spike in 2024.
        if (report.kind != "weather") CHECK(report.notes.empty());
        CHECK(report.notes.size() <= 1);
        if (report.file.find("weather-2025") != std::string::npos) {
            REQUIRE(report.notes.size() == 1);
            CHECK_THAT(report.notes[0], Catch::Contains("a sensor that stands still"));
        }
    }
    geo::Store store = geo::Store::open(folder.path / "demo.lodicule", geo::Store::Access::read_only);
    for (const geo::CheckFinding& finding : geo::check_store(store)) {
        INFO(finding.what << ": " << finding.detail);
        CHECK(finding.good);
    }
    CHECK(store.seasons() == std::vector<int>{2024, 2025, 2026});
    CHECK(store.fields().size() == 48 + 4);
    CHECK(store.stations().size() == 6);
    CHECK(store.loads().size() == 40);
    CHECK(store.bins().size() == 8);
    CHECK(store.tests().size() == 223 + 85 - 1);  // one corrects another
    CHECK(store.costs().size() == 5);
}

TEST_CASE("the demo store keeps what would have been said on past days and says so") {
    const DemoFolder folder("forecasts");
    const int said = make_demo(folder.path, [](const geo::ImportReport&) {});
    const geo::Store store = geo::Store::open(folder.path / "demo.lodicule", geo::Store::Access::read_only);
    const auto kept = geo::kept_forecasts(store);
    CHECK(kept.size() == static_cast<std::size_t>(said));
    std::map<models::LocalDay, int> by_day;
    for (const geo::KeptForecast& one : kept) {
        REQUIRE(one.as_of);
        ++by_day[*one.as_of];
        CHECK(one.limit_mg_per_kg == 1.0);
        CHECK(one.season == models::year_of(*one.as_of));
        CHECK(one.made.utc == demo::scenario_clock());
    }
    REQUIRE(by_day.size() == demo::forecast_days().size());
    for (const demo::ForecastDay& day : demo::forecast_days()) CHECK(by_day[day.as_of] > 10);
}

TEST_CASE("every placed sample of the demo store lies in the field it names") {
    const DemoFolder folder("places");
    made_in(folder.path);
    const geo::Store store = geo::Store::open(folder.path / "demo.lodicule", geo::Store::Access::read_only);
    const auto samples = store.samples();
    const auto fields = store.fields();
    int placed = 0;
    for (const models::Sample& sample : samples) {
        if (!sample.place_m) continue;
        ++placed;
        for (const models::Field& field : fields) {
            if (field.part.empty() && field.field == sample.field) {
                INFO(sample.sample);
                CHECK(models::side_of(field.outline_m, *sample.place_m) == models::Side::inside);
            }
        }
    }
    CHECK(placed == 85);
}

TEST_CASE("the demo store is the same wherever it is made") {
    const DemoFolder here("here"), there("there");
    made_in(here.path);
    made_in(there.path);
    geo::Store a = geo::Store::open(here.path / "demo.lodicule", geo::Store::Access::read_only);
    geo::Store b = geo::Store::open(there.path / "demo.lodicule", geo::Store::Access::read_only);
    CHECK_FALSE(chain_of(a).empty());
    CHECK(chain_of(a) == chain_of(b));
}

TEST_CASE("a demo store that is there already is not touched") {
    const DemoFolder folder("again");
    made_in(folder.path);
    const auto size = fs::file_size(folder.path / "demo.lodicule");
    CHECK_THROWS_WITH(made_in(folder.path),
                      Catch::Contains("a demo store is there already") && Catch::Contains("choose another folder"));
    CHECK(fs::file_size(folder.path / "demo.lodicule") == size);
}

TEST_CASE("nothing of a demo is left where it could not be finished") {
    const DemoFolder folder("cut-short");
    const models::Progress stop([](std::string_view what, double) { return what != "the demo's tests.csv"; });
    const auto cut_short = [&] {
        make_demo(
            folder.path / "inner", [](const geo::ImportReport&) {}, stop);
    };
    CHECK_THROWS_AS(cut_short(), models::Cancelled);
    CHECK_FALSE(fs::exists(folder.path));
    fs::create_directories(folder.path / "inner");
    std::ofstream(folder.path / "inner" / "mine.txt") << "my own";
    CHECK_THROWS_AS(cut_short(), models::Cancelled);
    for (const auto& entry : fs::directory_iterator(folder.path / "inner"))
        CHECK(entry.path().filename() == "mine.txt");
    made_in(folder.path / "inner");
    CHECK(fs::exists(folder.path / "inner" / "demo.lodicule"));
}
