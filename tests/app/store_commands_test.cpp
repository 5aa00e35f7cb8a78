#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <iterator>
#include <map>

#include <catch2/catch.hpp>
#include <unistd.h>

#include "app/commands/add_command.h"
#include "app/commands/bins_command.h"
#include "app/commands/check_command.h"
#include "app/commands/export_command.h"
#include "app/commands/first_command.h"
#include "app/commands/import_command.h"
#include "app/commands/map_command.h"
#include "app/commands/new_command.h"
#include "app/commands/record_cautions.h"
#include "app/commands/report_command.h"
#include "app/commands/season_options.h"
#include "app/workflow.h"
#include "geo/check.h"
#include "geo/store/store.h"
#include "models/error.h"
#include "tests/app/captured_output.h"
#include "tests/geo/store_fixture.h"

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
        return app::run_command_line(
            {make_new_command(), make_import_command(), make_add_command(), make_check_command(), make_export_command(),
             make_map_command(), make_first_command(), make_bins_command(), make_report_command()},
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
    const std::string told = said({"check", store}, 0);
    const std::size_t only = told.find("Only a note");
    REQUIRE(only != std::string::npos);
    CHECK(told.find('\n', only) - told.rfind('\n', only) <= 101);
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

TEST_CASE("a control that reads outside what it accepts is told wherever results of its run are used") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    REQUIRE(bench.run({"import", store, "fields", bench.path("fields.geojson")}) == 0);
    bench.write("crops.csv", "field,season,crop,flowering_date,yield_t_per_ha\nFen,2026,wheat,2026-06-12,8\n");
    REQUIRE(bench.run({"import", store, "crops", bench.path("crops.csv")}) == 0);
    const auto said = [&](std::vector<std::string> words) {
        const tests::CapturedOutput out(stdout);
        CHECK(bench.run(std::move(words)) == 0);
        return out.text();
    };
    said({"add", store, "samples", "sample=S1", "stage=standing", "kind=composite", "field=Fen"});
    said({"add", store, "samples", "sample=C1", "stage=control", "kind=composite"});
    const auto test = [&](const std::string& name, const std::string& sample, const std::string& don) {
        return said({"add", store, "tests", "test=" + name, "time=2026-07-20T09:50:00+02:00", "sample=" + sample,
                     "don=" + don, "unit=mg/kg", "kit_lot=K77"});
    };
    CHECK_THAT(test("T1", "S1", "0.4"), !Catch::Contains("Caution"));
    // Nothing says what it should read: that is told, too.
    CHECK_THAT(test("T2", "C1", "5.5"), Catch::Contains("Caution: test T2 is of a control, and there is no control "
                                                        "\"C1\" in the store"));
    const std::string words = "control C1 read 5.5 mg/kg where 0.75 to 1.3 is accepted";
    CHECK_THAT(said({"add", store, "controls", "control=C1", "assigned_mg_per_kg=1", "low_mg_per_kg=0.75",
                     "high_mg_per_kg=1.3"}),
               Catch::Contains("Caution: " + words));
    CHECK_THAT(test("T3", "C1", "5.5"), Catch::Contains("Caution: " + words));
    CHECK_THAT(test("T4", "S1", "0.5"), Catch::Contains("Caution: " + words));
    bench.write("tests.csv",
                "test,time,sample,don,unit,kit_lot\nT5,2026-07-20T09:50:00+02:00,S1,0.5,mg/kg,K77\n"
                "T6,2026-07-21T09:50:00+02:00,S1,0.5,mg/kg,K77\n");
    CHECK_THAT(said({"import", store, "tests", bench.path("tests.csv")}), Catch::Contains("Caution: " + words));
    // Void, a control says nothing any more.
    CHECK_THAT(
        said({"add", store, "tests", "test=T3", "valid=no", "void_reason=wrong vial", "--correct", "wrong vial taken"}),
        Catch::Contains("corrected"));

    const auto on_one_line = [](std::string text) {
        for (std::size_t at = 0; (at = text.find('\n', at)) != std::string::npos;) text[at] = ' ';
        return text;
    };
    const std::string doubt = "T1, T4 and T5 of that day and kit lot are in doubt and count as they are";
    CHECK_THAT(on_one_line(said({"check", store})), Catch::Contains(words) && Catch::Contains("T1, T4 and T5"));
    CHECK_THAT(said({"check", store, "--json"}),
               Catch::Contains("\"controls_outside\"") && Catch::Contains("\"good\": true"));
    const std::string in_short =
        "Note: T1, T4 and T5 of 2026-07-20 and kit lot K77 are in doubt by control C1 (test T2) and count as they are, "
        "nothing is left out; `lodicule control STORE --season 2026` says why.";
    CHECK_THAT(on_one_line(said({"map", store, "--limit", "1.25"})), Catch::Contains(in_short));
    CHECK_THAT(said({"map", store, "--limit", "1.25", "--json"}), Catch::Contains(doubt));
    CHECK_THAT(on_one_line(said({"first", store, "--limit", "1.25", "--repeat"})), Catch::Contains(in_short));
    CHECK_THAT(said({"first", store, "--limit", "1.25", "--json"}), Catch::Contains(doubt));
    said({"add", store, "bins", "bin=B1", "capacity_t=60", "purpose=hold"});
    CHECK_THAT(on_one_line(said({"bins", store})), Catch::Contains("Note: " + words));
    said({"report", store, "--limit", "1.25", "--out", bench.path("season.html")});
    std::ifstream written_page(bench.path("season.html"), std::ios::binary);
    const std::string html{std::istreambuf_iterator<char>(written_page), {}};
    CHECK_THAT(html, Catch::Contains("In doubt: " + words) && Catch::Contains("in doubt, control T2 failed") &&
                         Catch::Contains("outside the 0.75 to 1.3 that is accepted"));
}

TEST_CASE("what a season's numbers take for granted is told where they stand, and listed when asked for") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    REQUIRE(bench.run({"import", store, "fields", bench.path("fields.geojson")}) == 0);
    bench.write("crops.csv", "field,season,crop,flowering_date,yield_t_per_ha\nFen,2026,wheat,2026-06-12,8\n");
    REQUIRE(bench.run({"import", store, "crops", bench.path("crops.csv")}) == 0);
    const auto said = [&](std::vector<std::string> words) {
        const tests::CapturedOutput out(stdout);
        CHECK(bench.run(std::move(words)) == 0);
        std::string text = out.text();
        std::replace(text.begin(), text.end(), '\n', ' ');
        // Lines of a list are set in.
        text.erase(std::unique(text.begin(), text.end(), [](char a, char b) { return a == ' ' && b == ' '; }),
                   text.end());
        return text;
    };
    CHECK_THAT(said({"map", store, "--limit", "1.25", "--assumptions"}),
               Catch::Contains("No DON result in the store: nothing can be said of any of it."));
    said({"add", store, "samples", "sample=S1", "stage=standing", "kind=composite", "field=Fen",
          "chosen_because=random"});
    said({"add", store, "tests", "test=T1", "time=2026-07-20T09:50:00+02:00", "sample=S1", "don=0.4", "unit=mg/kg",
          "kit_lot=K77"});
    for (const std::string& text :
         {said({"map", store, "--limit", "1.25"}), said({"first", store, "--limit", "1.25", "--repeat"})}) {
        CHECK_THAT(text,
                   Catch::Contains("Note: These results would not show, or hardly: a kit lot that reads 35 % too much "
                                   "(all fields ") &&
                       Catch::Contains("standing heads that read 50 % more than delivered grain (1 of 1 samples"));
    }
    CHECK_THAT(said({"first", store, "--limit", "1.25", "--json"}), Catch::Contains("a kit lot that reads 35 %"));
    CHECK_THAT(said({"map", store, "--limit", "1.25", "--assumptions"}),
               Catch::Contains("Cannot be told from these results:") &&
                   Catch::Contains("- That kit lots read true, but for 10 % or so: No control and no laboratory result "
                                   "speaks of kit lot K77 (1 of 1 samples of 2026)"));
    for (const bool alone : {true, false}) {
        std::vector<std::string> words{"map", store, "--limit", "1.25", "--json"};
        if (alone) words.push_back("--assumptions");
        CHECK_THAT(said(std::move(words)), Catch::Contains("\"name\": \"kit_lot\"") &&
                                               Catch::Contains("\"state\": \"cannot be told from these results\""));
    }
    said({"report", store, "--limit", "1.25", "--out", bench.path("season.html")});
    std::ifstream page(bench.path("season.html"), std::ios::binary);
    const std::string html{std::istreambuf_iterator<char>(page), {}};
    CHECK_THAT(html, Catch::Contains("These results would not show, or hardly: a kit lot that reads 35 % too much"));
}

TEST_CASE("tests and strips that were started before there was grain for them are told and go in") {
    using Catch::Matchers::Contains;
    store_tests::Farm farm;
    farm.import_text("loads", "load,time,net_t\nW1,2025-07-20T09:28+02:00,20\n");
    farm.import_text("samples",
                     "sample,stage,kind,load,field,taken_time\nN1,truck,composite,W1,,2025-07-20T09:28+02:00\n"
                     "N2,truck,composite,W1,,\nN3,standing,composite,,Fen,2025-07-20T08:00+02:00\n");
    const auto told_of = [&](const std::string& kind, const std::vector<std::pair<std::string, std::string>>& values) {
        const geo::ImportReport report = geo::add_row(farm.store, kind, values);
        CHECK(report.names.size() == 1);
        std::string told;
        for (const std::string& caution : app::commands::cautions_of_records(farm.store, report))
            told += caution + "\n";
        return told;
    };
    const auto test = [&](const char* name, const char* sample, const char* time, const char* incubation) {
        return told_of("tests", {{"test", name},
                                 {"time", time},
                                 {"sample", sample},
                                 {"don", "0.42"},
                                 {"unit", "mg/kg"},
                                 {"incubation_s", incubation}});
    };
    CHECK(
        test("T1", "N1", "2025-07-20T09:30+02:00", "380") ==
        "test T1: the strip would have been started at 2025-07-20T09:23:40+02:00, and its sample N1 was taken only at "
        "2025-07-20T09:28:00+02:00: it did not run so long, or one of the clocks is wrong\n");
    CHECK_THAT(
        test("T2", "N2", "2025-07-20T09:30+02:00", "380"),
        Contains("test T2: the strip would have been started") && Contains("and load W1, of which its sample N2"));
    CHECK(test("T3", "N1", "2025-07-20T09:36+02:00", "380") == "");
    CHECK(test("T4", "N3", "2025-07-20T09:30+02:00", "380") == "");
    CHECK(test("T5", "N1", "2025-07-20T09:30+02:00", "") == "");
    // One that was even read before is told of once.
    CHECK_THAT(test("T6", "N1", "2025-07-20T09:20+02:00", "380"),
               Contains("before its sample N1 was taken") && !Contains("would have been started"));
    CHECK_THAT(told_of("strips", {{"strip", "B1"}, {"sample", "N1"}, {"started", "2025-07-20T09:20+02:00"}}),
               Contains("strip B1: the strip would have been started at 2025-07-20T09:20"));
    CHECK(told_of("strips", {{"strip", "B2"}, {"sample", "N1"}, {"started", "2025-07-20T09:29+02:00"}}) == "");
}

TEST_CASE("loads that bring more from a field than a crop can yield are told") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    REQUIRE(bench.run({"import", store, "fields", bench.path("fields.geojson")}) == 0);
    const auto said = [&](std::vector<std::string> words) {
        const tests::CapturedOutput out(stdout);
        CHECK(bench.run(std::move(words)) == 0);
        return out.text();
    };
    // Fen measures some 69 ha.
    bench.write("loads.csv", "load,time,net_t\nL1,2026-08-01T10:00+02:00,24\nL2,2026-08-01T12:00+02:00,2400\n");
    said({"import", store, "loads", bench.path("loads.csv"), "--as-written"});
    CHECK_THAT(said({"add", store, "load-parts", "load=L1", "field=Fen"}), !Catch::Contains("Caution"));
    CHECK_THAT(said({"add", store, "load-parts", "load=L2", "field=Fen"}),
               Catch::Contains("Caution: the loads of 2026 bring 2424.0 t from field Fen of 69") &&
                   Catch::Contains("35 t/ha") && Catch::Contains("no crop"));
    CHECK_THAT(said({"add", store, "loads", "load=L2", "net_t=24", "--correct", "a digit too many"}),
               !Catch::Contains("Caution"));
}

TEST_CASE("check tells another store from one that somebody altered") {
    const StoreBench bench;
    const std::string store = bench.path("farm.lodicule");
    REQUIRE(bench.run({"new", store}) == 0);
    const tests::CapturedOutput out(stderr);
    CHECK(bench.run({"check", store, "--expect", std::string(64, 'a')}) == 1);
    CHECK_THAT(out.text(),
               Catch::Contains("is not the one that the hash was noted of") && !Catch::Contains("not as it was made"));
}
