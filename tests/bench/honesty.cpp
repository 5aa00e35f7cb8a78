// How honest the contamination model is: simulated seasons of 60 fields with two past ones, deviations, range and slope
// drawn anew for each. Coverage of the 50 and 90 % intervals, reliability of the exceedance, pinball and decision loss
// against the same model under the season's true parameters ("exact") and without the season's tests; then worlds that
// the model does not assume. A season's records are written as they come, so the study can be run in slices:
//   bench_honesty --seasons 50 --start 0 --records a.jsonl
//   bench_honesty --seasons 50 --start 50 --records b.jsonl
//   bench_honesty --report a.jsonl b.jsonl --csv honesty.csv
#include <algorithm>
#include <cstdio>
#include <exception>
#include <stdexcept>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "models/memory.h"
#include "tests/bench/honesty/record.h"
#include "tests/bench/honesty/slices.h"
#include "tests/bench/honesty/tables.h"
#include "tests/bench/honesty/worlds.h"

namespace {

std::vector<honesty::Cell> cells_named(const std::vector<std::string>& names) {
    if (names == std::vector<std::string>{"none"}) return {};
    if (names.empty()) return honesty::study_cells();
    std::vector<honesty::Cell> cells;
    for (const std::string& name : names) cells.push_back(honesty::cell_named(name));
    return cells;
}

std::vector<honesty::OffWorld> worlds_named(const std::vector<std::string>& names) {
    if (names == std::vector<std::string>{"none"}) return {};
    const std::vector<honesty::OffWorld> all = honesty::off_worlds();
    if (names.empty()) return all;
    std::vector<honesty::OffWorld> chosen;
    for (const std::string& name : names) {
        const auto found = std::find_if(all.begin(), all.end(), [&](const auto& w) { return w.name == name; });
        if (found != all.end()) {
            chosen.push_back(*found);
            continue;
        }
        std::string known;
        for (const honesty::OffWorld& world : all) known += " " + world.name;
        throw std::runtime_error(fmt::format("there is no world \"{}\"; there are{}, or none", name, known));
    }
    return chosen;
}

}  // namespace

int main(int argc, char** argv) {
    models::keep_freed_memory();
    CLI::App app("How honest the contamination model is, in simulated seasons whose truth is known.");
    honesty::Slices slices;
    std::vector<std::string> cell_names, world_names;
    std::string world_cell = "20-random", csv_file;
    slices.add_options(app);
    app.add_option("--cells", cell_names, "0,5-random,20-worst-first,20-own-order,... or none; else the study's nine")
        ->delimiter(',');
    app.add_option("--worlds", world_names, "worlds that the model does not assume, by name, or none; else all")
        ->delimiter(',');
    app.add_option("--world-cell", world_cell, "the cell that those worlds are tried in")->capture_default_str();
    app.add_option("--csv", csv_file, "every figure of the tables, with its interval");
    CLI11_PARSE(app, argc, argv);
    try {
        const std::vector<honesty::Cell> cells = cells_named(cell_names);
        const std::vector<honesty::OffWorld> worlds = worlds_named(world_names);
        const honesty::OffWorld assumed{"assumed", "", honesty::assumed_world(), {}};
        const honesty::Cell of_worlds = honesty::cell_named(world_cell);
        models::ContaminationSettings settings;
        settings.threads = slices.threads;
        const std::vector<honesty::Record> records = slices.records([&](std::uint64_t seed) {
            std::vector<honesty::Record> season;
            for (const honesty::Cell& cell : cells)
                season.push_back(honesty::study_season(seed, cell, assumed, true, settings));
            for (const honesty::OffWorld& world : worlds)
                season.push_back(honesty::study_season(seed, of_worlds, world, false, settings));
            return season;
        });
        const std::vector<honesty::Figure> figures = honesty::print_tables(records);
        if (!csv_file.empty()) honesty::write_csv(csv_file, figures);
    } catch (const std::exception& e) {
        fmt::print(stderr, "{}\n", e.what());
        return 1;
    }
    return 0;
}
