#include <cmath>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <map>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/commands/add_command.h"
#include "app/commands/check_command.h"
#include "app/commands/export_command.h"
#include "app/commands/import_command.h"
#include "app/commands/new_command.h"
#include "app/commands/season_options.h"
#include "app/workflow.h"
#include "geo/check.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "tests/app/captured_output.h"

namespace {

namespace fs = std::filesystem;

/// A folder with a store, in which the commands of the store are run.
class StoreBench {
 public:
    StoreBench() : folder_(fs::temp_directory_path() / ("store_commands_" + std::to_string(::getpid()))) {
        fs::remove_all(folder_);
        fs::create_directories(folder_);
        write("fields.geojson",
              R"({"type":"FeatureCollection","features":[{"type":"Feature","properties":{"field":"Fen"},"geometry":)"
              R"({"type":"Polygon","coordinates":[[[9.5,56],[9.51,56],[9.51,56.01],[9.5,56.01],[9.5,56]]]}}]})");
    }
    ~StoreBench() { fs::remove_all(folder_); }
    std::string path(const std::string& name) const { return (folder_ / name).string(); }
    void write(const std::string& name, const std::string& text) const { std::ofstream(folder_ / name) << text; }
    int run(std::vector<std::string> words) const {
        words.insert(words.begin(), "lodicule");
        std::vector<const char*> bare;
        for (const std::string& word : words) bare.push_back(word.c_str());
        using namespace app::commands;
        return app::run_command_line({make_new_command(), make_import_command(), make_add_command(),
                                      make_check_command(), make_export_command()},
                                     static_cast<int>(bare.size()), bare.data());
    }

 private:
    fs::path folder_;
};

}  // namespace

TEST_CASE("a store is made, filled, checked and written out on the command line") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    CHECK(bench.run({"new", store}) == 1);
    CHECK(bench.run({"import", store, "fields", bench.path("fields.geojson")}) == 0);
    CHECK(bench.run({"add", store, "samples", "sample=S1", "stage=standing", "kind=composite", "field=Fen"}) == 0);
    CHECK(bench.run({"add", store, "tests", "test=T1", "time=2026-07-20T09:50:00+02:00", "sample=S1", "don=<0.2",
                     "unit=mg/kg", "--actor", "Ada Holt"}) == 0);
    CHECK(bench.run({"check", store}) == 0);
    CHECK(bench.run({"export", store, "tests", "--out", bench.path("tests.csv")}) == 0);
    CHECK(bench.run({"import", store, "tests", bench.path("tests.csv"), "--json"}) == 0);
    const auto tests = geo::Store::open(store, geo::Store::Access::read_only).tests();
    REQUIRE(tests.size() == 1);
    CHECK(tests[0].reading == models::Reading::below);
}

TEST_CASE("an import fails where nothing went in and passes where some rows did") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    REQUIRE(bench.run({"import", store, "fields", bench.path("fields.geojson")}) == 0);
    bench.write("bad.csv", "sample,stage,kind,field\nS1,standing,composite,Moor\n");
    bench.write("some.csv", "sample,stage,kind,field\nS1,standing,composite,Moor\nS2,standing,composite,Fen\n");
    CHECK(bench.run({"import", store, "samples", bench.path("bad.csv")}) == 1);
    CHECK(bench.run({"import", store, "samples", bench.path("some.csv"), "--strict"}) == 1);
    CHECK(geo::Store::open(store).samples().empty());
    CHECK(bench.run({"import", store, "samples", bench.path("some.csv")}) == 0);
    CHECK(geo::Store::open(store).samples().size() == 1);
    CHECK(bench.run({"import", store, "samples", bench.path("none.csv"), bench.path("some.csv")}) == 1);
    CHECK(bench.run({"import", store, "sampels", bench.path("some.csv")}) == 1);
    CHECK(bench.run({"import", store}) == 2);
    CHECK(bench.run({"add", store, "samples", "S1"}) == 1);
    CHECK(bench.run({"check", bench.path("none.lodicule")}) == 1);
}

TEST_CASE("an export to standard output is the table and nothing beside it") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    REQUIRE(bench.run({"import", store, "fields", bench.path("fields.geojson")}) == 0);
    const auto printed = [&](const std::string& kind) {
        const tests::CapturedOutput out(stdout);
        REQUIRE(bench.run({"export", store, kind, "--out", "-"}) == 0);
        return out.text();
    };
    REQUIRE(bench.run({"export", store, "limits", "--out", bench.path("limits.csv")}) == 0);
    std::ifstream file(bench.path("limits.csv"), std::ios::binary);
    CHECK(printed("limits") == std::string(std::istreambuf_iterator<char>(file), {}));
    CHECK_THAT(printed("fields"), Catch::Contains("\"FeatureCollection\"") && Catch::Contains("\"Fen\""));
    CHECK_FALSE(fs::exists("-"));
}

TEST_CASE("check prints what to note and refuses a store in which the noted hash is gone") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    const geo::ChainEnd end = geo::end_of_chain(geo::Store::open(store));
    const std::string noted = end.sha256;
    const auto said = [&](std::vector<std::string> words, int code) {
        const tests::CapturedOutput out(stdout);
        CHECK(bench.run(std::move(words)) == code);
        return out.text();
    };
    CHECK_THAT(said({"check", store}, 0), Catch::Contains("last hash         " + noted) &&
                                              Catch::Contains(std::to_string(end.records) + " records end in it") &&
                                              Catch::Contains("kept elsewhere"));
    CHECK_THAT(said({"check", store, "--expect", noted}, 0), Catch::Contains("nothing came after it"));
    CHECK_THAT(said({"check", store, "--expect", std::string(64, 'a')}, 1),
               Catch::Contains("noted hash        WRONG") && Catch::Contains("were taken away or altered"));
    CHECK_THAT(said({"check", store, "--json"}, 0), Catch::Contains("\"last_sha256\": \"" + noted + "\""));
    CHECK(bench.run({"check", store, "--expect", "noted on paper"}) == 1);
}

TEST_CASE("a size of cells that is no length is refused in one sentence") {
    for (const auto& [cell_m, text] : std::vector<std::pair<double, std::string>>{
             {0.0, "a cell of 0 m"}, {-5.0, "a cell of -5 m"}, {std::nan(""), "a cell of nan m"}}) {
        CHECK_THROWS_WITH(app::commands::require_cell_size(cell_m),
                          "--cell: " + text +
                              " is no cell. To mend it: give the length of its side in metres, over 0, such as --cell "
                              "10.");
    }
    CHECK_NOTHROW(app::commands::require_cell_size(0.5));
}

TEST_CASE("who only buys grain and has no fields is told which load goes to which bin") {
    const StoreBench bench;
    const std::string store = bench.path("mill.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    CHECK_THROWS_WITH(app::look_at_season(geo::Store::open(store, geo::Store::Access::read_only), {}),
                      Catch::Contains("no crop records and no loads"));
    const auto add = [&](std::vector<std::string> words) {
        words.insert(words.begin(), {"add", store});
        REQUIRE(bench.run(words) == 0);
    };
    add({"bins", "bin=M1", "capacity_t=60", "purpose=food", "limit_id=eu-food-wheat", "opening_mass_t=0"});
    add({"bins", "bin=M2", "capacity_t=60", "purpose=hold", "opening_mass_t=0"});
    for (const auto& [load, don] : {std::pair{"B1", "don=<0.2"}, std::pair{"B2", "don=4.1"}}) {
        const std::string name = load;
        add({"loads", "load=" + name, "time=2026-08-01T10:00:00+02:00", "commodity=wheat", "net_t=24"});
        add({"samples", "sample=S" + name, "stage=truck", "kind=composite", "load=" + name, "increments=10"});
        add({"tests", "test=T" + name, "time=2026-08-01T10:20:00+02:00", "sample=S" + name, don, "unit=mg/kg"});
    }
    app::Question question;
    question.upto = app::Upto::bins;
    const app::SeasonView view = app::look_at_season(geo::Store::open(store, geo::Store::Access::read_only), question);
    CHECK(view.season == 2026);
    REQUIRE(view.bins);
    std::map<std::string, std::string> bin_of;
    for (const models::Assignment& load : view.bins->plan.assignments) bin_of[load.name] = load.bin;
    CHECK(bin_of["B1"] == "M1");
    CHECK(bin_of["B2"] != "M1");
}
