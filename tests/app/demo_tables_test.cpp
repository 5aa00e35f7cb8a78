#include "tests/app/demo_tables.h"

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <map>
#include <set>

#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>

#include "demo-data/scenario.h"

namespace fs = std::filesystem;
using tests::demo_data::number;
using tests::demo_data::Row;
using tests::demo_data::table;

namespace {

const std::set<std::string> crops_with_a_record = {"wheat", "durum", "barley", "maize"};

std::set<std::string> names_in(const std::vector<Row>& rows, const char* column) {
    std::set<std::string> names;
    for (const Row& row : rows) names.insert(row.at(column));
    return names;
}

std::set<std::pair<std::string, std::string>> grounds() {
    std::set<std::pair<std::string, std::string>> found;
    const auto json = nlohmann::json::parse(tests::demo_data::text_of(tests::demo_data::folder() / "fields.geojson"));
    for (const auto& feature : json.at("features")) {
        found.emplace(feature.at("properties").at("field"), feature.at("properties").at("part"));
    }
    return found;
}

std::vector<Row> all_tests() {
    std::vector<Row> rows = table("tests.csv");
    for (const Row& row : table("survey.csv")) rows.push_back(row);
    return rows;
}

std::vector<Row> sample_rows() {
    std::vector<Row> rows = table("samples.csv");
    for (const Row& row : table("survey.csv")) rows.push_back(row);
    return rows;
}

fs::path new_folder(const char* name) {
    const fs::path folder = fs::temp_directory_path() / ("lodicule-" + std::string(name) + std::to_string(std::rand()));
    fs::remove_all(folder);
    return folder;
}

}  // namespace

TEST_CASE("the demo's generator gives the very bytes that stand in demo-data") {
    for (const demo::ScenarioFile& file : demo::scenario_files()) {
        INFO(file.name);
        CHECK((tests::demo_data::text_of(tests::demo_data::folder() / file.name) == file.text));
    }
}

TEST_CASE("writing the demo twice into a folder changes nothing and another file of that name is left alone") {
    const fs::path folder = new_folder("demo");
    const auto files = demo::write_scenario(folder).files;
    CHECK(demo::write_scenario(folder).files.size() == files.size());
    {
        std::ofstream out(folder / "bins.csv", std::ios::app);
        out << "mine\n";
    }
    CHECK_THROWS_WITH(demo::write_scenario(folder), Catch::Contains("bins.csv") && Catch::Contains("other content") &&
                                                        Catch::Contains("choose an empty folder"));
    CHECK(tests::demo_data::text_of(folder / "bins.csv").ends_with("mine\n"));
    fs::remove_all(folder);
}

TEST_CASE("the demo holds what its readme promises") {
    const auto crops = table("crops.csv");
    CHECK(names_in(crops, "season") == std::set<std::string>{"2024", "2025", "2026"});
    std::map<std::string, int> wheat, records;
    for (const Row& row : crops) {
        ++records[row.at("season")];
        wheat[row.at("season")] += row.at("crop") == "wheat" || row.at("crop") == "durum";
    }
    for (const auto& [season, count] : records) {
        CHECK(count >= 36);
        CHECK(wheat[season] * 2 > count);
    }

    CHECK(table("loads.csv").size() == 40);
    const auto bins = table("bins.csv");
    CHECK(bins.size() == 8);
    CHECK(std::count_if(bins.begin(), bins.end(), [](const Row& b) { return b.at("purpose") == "hold"; }) == 1);
    CHECK(std::count_if(bins.begin(), bins.end(), [](const Row& b) { return b.at("purpose") == "feed"; }) == 1);

    const auto tests = table("tests.csv");
    CHECK(tests.size() > 110);
    const auto controls =
        std::count_if(tests.begin(), tests.end(), [](const Row& row) { return row.at("sample").front() == 'K'; });
    CHECK(tests.size() - static_cast<std::size_t>(controls) < 135);
    CHECK(controls == 112);
    const auto count = [&](auto holds) { return std::count_if(tests.begin(), tests.end(), holds); };
    CHECK(count([](const Row& t) { return t.at("valid") == "no" && !t.at("void_reason").empty(); }) == 2);
    CHECK(count([](const Row& t) { return !t.at("supersedes").empty(); }) == 1);
    CHECK(count([](const Row& t) { return t.at("method") == "laboratory"; }) >= 6);
    CHECK(count([](const Row& t) { return t.at("don").starts_with("<"); }) >= 15);
    CHECK(count([](const Row& t) { return t.at("don").starts_with(">"); }) >= 1);
    CHECK(count([](const Row& t) { return t.at("extra_dilution") == "3"; }) == 1);
    CHECK(count([](const Row& t) { return t.at("sample").starts_with("K"); }) >= 12);
    std::map<std::string, int> strips_of_sample;
    for (const Row& test : tests) {
        strips_of_sample[test.at("sample")] += test.at("method") == "strip" && test.at("valid") == "yes";
    }
    CHECK(std::count_if(strips_of_sample.begin(), strips_of_sample.end(),
                        [](const auto& s) { return s.second == 2; }) >= 10);

    std::map<std::string, int> places;
    for (const Row& row : table("survey.csv")) ++places[row.at("field")];
    CHECK(places == std::map<std::string, int>{{"C02", 60}, {"R04", 25}});
}

TEST_CASE("what came before a crop of the demo is what the season before says") {
    std::map<std::tuple<std::string, std::string, int>, std::string> grown;
    const auto crops = table("crops.csv");
    for (const Row& row : crops) {
        grown[{row.at("field"), row.at("part"), static_cast<int>(number(row, "season"))}] = row.at("crop");
    }
    int compared = 0;
    for (const Row& row : crops) {
        const int season = static_cast<int>(number(row, "season"));
        for (const auto& [column, back] : {std::pair("previous_crop", 1), std::pair("before_previous_crop", 2)}) {
            INFO(row.at("field") << " " << row.at("part") << " " << season << " " << column);
            if (season - back < 2024) continue;
            auto found = grown.find({row.at("field"), row.at("part"), season - back});
            if (found == grown.end()) found = grown.find({row.at("field"), "", season - back});  // not yet parted
            if (found != grown.end())
                CHECK(row.at(column) == found->second);
            else
                CHECK(crops_with_a_record.count(row.at(column)) == 0);
            ++compared;
        }
    }
    CHECK(compared > 100);
}

TEST_CASE("flowering dates of the demo are mostly observed and two are missing") {
    std::map<std::string, int> how;
    for (const Row& row : table("crops.csv")) {
        if (row.at("crop") != "wheat" && row.at("crop") != "durum") continue;
        ++how[row.at("flowering_date").empty() ? "missing" : row.at("flowering_source")];
        if (row.at("flowering_date").empty()) CHECK(row.at("season") == "2026");
    }
    CHECK(how["missing"] == 2);
    CHECK(how["estimated"] >= 6);
    CHECK(how["observed"] > 4 * how["estimated"]);
}

TEST_CASE("every name that a demo table refers to is there") {
    const auto ground = grounds();
    const auto loads = names_in(table("loads.csv"), "load"), bins = names_in(table("bins.csv"), "bin");
    const auto samples = names_in(sample_rows(), "sample"), lots = names_in(table("kit-lots.csv"), "kit_lot");
    const auto limits = names_in(table("limits.csv"), "limit_id");
    const auto tests = all_tests();
    const auto test_names = names_in(tests, "test");
    CHECK(test_names.size() == tests.size());
    CHECK(samples.size() == sample_rows().size());

    for (const Row& row : table("crops.csv")) CHECK(ground.count({row.at("field"), row.at("part")}) == 1);
    for (const Row& row : table("scouting.csv")) CHECK(ground.count({row.at("field"), ""}) == 1);
    for (const Row& row : table("samples.csv")) {
        INFO(row.at("sample"));
        const int from = !row.at("field").empty() + !row.at("load").empty() + !row.at("bin").empty();
        CHECK(from == (row.at("stage") == "control" ? 0 : 1));
        if (!row.at("field").empty()) CHECK(ground.count({row.at("field"), row.at("part")}) == 1);
        if (!row.at("load").empty()) CHECK(loads.count(row.at("load")) == 1);
        if (!row.at("bin").empty()) CHECK(bins.count(row.at("bin")) == 1);
        CHECK_FALSE(row.at("chosen_because").empty());
    }
    for (const Row& row : tests) {
        INFO(row.at("test"));
        CHECK(samples.count(row.at("sample")) == 1);
        if (row.at("method") == "strip") CHECK(lots.count(row.at("kit_lot")) == 1);
        if (row.count("supersedes") && !row.at("supersedes").empty())
            CHECK(test_names.count(row.at("supersedes")) == 1);
    }
    for (const Row& row : table("load-parts.csv")) {
        CHECK(loads.count(row.at("load")) == 1);
        CHECK(ground.count({row.at("field"), row.at("part")}) == 1);
    }
    for (const Row& row : table("moves.csv")) {
        CHECK(loads.count(row.at("from")) + bins.count(row.at("from")) == 1);
        CHECK((row.at("to") == "out" || bins.count(row.at("to")) == 1));
        CHECK((row.at("advised_bin").empty() || bins.count(row.at("advised_bin")) == 1));
    }
    // The law's limits ship with the program; the others are the invented buyers'.
    const std::set<std::string> of_the_law = {"", "eu-food-wheat", "eu-food-durum"};
    for (const Row& row : table("bins.csv"))
        CHECK(limits.count(row.at("limit_id")) + of_the_law.count(row.at("limit_id")) == 1);
    for (const Row& row : table("contracts.csv")) CHECK(limits.count(row.at("limit_id")) == 1);
}

TEST_CASE("grain of the demo is neither made nor lost") {
    std::map<std::string, double> yield_t, sent_t;
    std::map<std::pair<std::string, std::string>, double> area;
    for (const Row& row : table("truth/crops.csv")) {
        if (row.at("season") == "2026") area[{row.at("field"), row.at("part")}] = number(row, "area_ha");
    }
    for (const Row& row : table("crops.csv")) {
        const auto found = area.find({row.at("field"), row.at("part")});
        if (row.at("season") == "2026" && found != area.end()) {
            yield_t[row.at("field") + row.at("part")] = found->second * number(row, "yield_t_per_ha");
        }
    }
    std::map<std::string, double> net_t, shares;
    std::map<std::string, std::string> apart, status;
    for (const Row& row : table("loads.csv")) {
        net_t[row.at("load")] = number(row, "net_t");
        apart[row.at("load")] = row.at("keep_apart");
        status[row.at("load")] = row.at("status");
        CHECK(number(row, "gross_t") - number(row, "tare_t") == Approx(number(row, "net_t")).margin(1e-9).epsilon(0.0));
    }
    std::map<std::string, int> fields_of_load;
    for (const Row& row : table("load-parts.csv")) {
        shares[row.at("load")] += number(row, "share");
        ++fields_of_load[row.at("load")];
        sent_t[row.at("field") + row.at("part")] += number(row, "share") * net_t.at(row.at("load"));
    }
    for (const auto& [load, share] : shares) CHECK(share == Approx(1.0).margin(1e-9).epsilon(0.0));
    for (const auto& [ground, tonnes] : sent_t) CHECK(tonnes <= yield_t.at(ground) + 0.05);  // shares have 3 decimals
    CHECK(net_t.size() - shares.size() == 8);                                                // bought
    CHECK(std::count_if(fields_of_load.begin(), fields_of_load.end(), [](const auto& f) { return f.second > 1; }) >= 4);

    std::map<std::string, double> content, capacity, moved;
    std::map<std::string, std::string> tag;
    for (const Row& row : table("bins.csv")) {
        content[row.at("bin")] = number(row, "opening_mass_t");
        capacity[row.at("bin")] = number(row, "capacity_t");
        tag[row.at("bin")] = row.at("keep_apart");
    }
    std::map<std::string, std::string> lies_in;
    std::string last_time;
    for (const Row& row : table("moves.csv")) {
        INFO(row.at("move"));
        CHECK(last_time <= row.at("time"));
        last_time = row.at("time");
        const std::string from = row.at("from"), to = row.at("to");
        const double mass = number(row, "mass_t");
        if (row.at("kind") == "corrected") {
            content[lies_in.at(from)] -= mass;
        } else if (net_t.count(from)) {
            moved[from] += mass;
        } else {
            content[from] -= mass;
            CHECK(content[from] >= -1e-9);
        }
        if (net_t.count(from)) lies_in[from] = to;
        if (to == "out") continue;
        content[to] += mass;
        CHECK(content[to] <= capacity[to] + 1e-9);
        if (net_t.count(from)) CHECK(apart[from] == tag[to]);
    }
    for (const auto& [load, tonnes] : moved) CHECK(tonnes == Approx(net_t.at(load)));
    for (const auto& [load, what] : status) {
        CHECK((what == "dumped" || what == "turned_away") == (moved.count(load) == 1));
    }
    for (const Row& row : table("truth/bins.csv"))
        CHECK(number(row, "content_t") == Approx(content.at(row.at("bin"))).margin(0.006).epsilon(0.0));
}

TEST_CASE("the story of the demo's readme is in its tables") {
    std::map<std::string, Row> tests, samples, loads, moves;
    for (const Row& row : all_tests()) tests[row.at("test")] = row;
    for (const Row& row : table("samples.csv")) samples[row.at("sample")] = row;
    for (const Row& row : table("loads.csv")) loads[row.at("load")] = row;
    for (const Row& row : table("moves.csv")) moves[row.at("move")] = row;
    const auto load_of = [&](const char* test) { return samples.at(tests.at(test).at("sample")).at("load"); };

    // W26-16: void, dumped into S2 against advice, over by the laboratory.
    CHECK(load_of("S26-123") == "W26-16");
    CHECK(tests.at("S26-123").at("valid") == "no");
    CHECK(moves.at("M26-18").at("from") == "W26-16");
    CHECK(moves.at("M26-18").at("to") == "S2");
    CHECK(moves.at("M26-18").at("advised_bin") == "H1");
    CHECK(load_of("L26-004") == "W26-16");
    CHECK(tests.at("L26-004").at("don") == "1587");
    CHECK(tests.at("L26-004").at("time") > moves.at("M26-18").at("time"));
    // W26-11: let in at 0.97, 1081 by the laboratory.
    CHECK(load_of("S26-119") == "W26-11");
    CHECK(tests.at("S26-119").at("don") == "0.97");
    CHECK(load_of("L26-003") == "W26-11");
    CHECK(tests.at("L26-003").at("don") == "1081");
    // Typed wrong, then corrected.
    CHECK(tests.at("S26-117").at("supersedes") == "S26-116");
    CHECK(tests.at("S26-116").at("don") == "7.7");
    CHECK(moves.at("M26-04").at("kind") == "corrected");
    CHECK(moves.at("M26-04").at("from") == "W26-03");
    CHECK(loads.at("W26-19").at("status") == "turned_away");

    const std::set<std::string> waits = {"arrived", "probed", "awaiting", "directed"};
    CHECK(std::count_if(loads.begin(), loads.end(),
                        [&](const auto& l) { return waits.count(l.second.at("status")); }) == 15);
    std::set<std::string> over;
    for (const auto& [name, test] : tests) {
        if (!test.count("valid") || !samples.count(test.at("sample"))) continue;
        const std::string load = samples.at(test.at("sample")).at("load");
        if (load.empty() || waits.count(loads.at(load).at("status")) == 0) continue;
        if (loads.at(load).at("commodity") == "wheat" && test.at("don")[0] != '<' && number(test, "don") > 1.0)
            over.insert(load);
    }
    CHECK(over == std::set<std::string>{"W26-29", "W26-32", "W26-33", "W26-35", "W26-36"});
    for (const char* load : {"W26-37", "W26-38", "W26-39", "W26-40"}) CHECK(loads.at(load).at("status") == "arrived");
    std::set<std::string> no_date, standing;
    for (const Row& row : table("crops.csv")) {
        const bool wheat = row.at("crop") == "wheat" || row.at("crop") == "durum";
        if (!wheat || row.at("season") != "2026") continue;
        if (row.at("flowering_date").empty()) no_date.insert(row.at("field"));
        if (row.at("status") == "standing") standing.insert(row.at("field") + row.at("part"));
    }
    CHECK(no_date == std::set<std::string>{"P03", "T07"});
    CHECK(standing.count("V04") == 1);
    CHECK(standing.size() == 16);
}

TEST_CASE("every kit lot of the demo has its controls and the one that falls is used for no grain after it begins") {
    std::set<std::string> controls;
    for (const Row& row : table("controls.csv")) controls.insert(row.at("control"));
    std::map<std::string, int> readings;
    for (const Row& row : all_tests()) {
        if (controls.contains(row.at("sample"))) ++readings[row.at("kit_lot") + " " + row.at("sample")];
        if (row.at("kit_lot") == "OM-26-B" && row.at("time") >= "2026-07-08") CHECK(row.at("sample") == "K137");
    }
    CHECK(readings.size() == 8);
    for (const auto& [which, count] : readings) {
        INFO(which);
        CHECK(count >= 8);
        CHECK(count <= 25);
    }
}
