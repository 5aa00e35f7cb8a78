// How honest the contamination model is: simulated seasons of 60 fields with two past ones, deviations, range and slope
// drawn anew for each. Coverage of the 50 and 90 % intervals, reliability of the exceedance, pinball and decision loss
// against the same model under the season's true parameters ("exact") and without the season's tests; then worlds that
// the model does not assume. A season's records are written as they come, so the study can be run in slices:
//   bench_honesty --seasons 50 --start 0 --records a.jsonl
//   bench_honesty --seasons 50 --start 50 --records b.jsonl
//   bench_honesty --report a.jsonl b.jsonl --csv honesty.csv
#include <algorithm>
#include <chrono>
#include <cstdio>
#include <exception>
#include <fstream>
#include <stdexcept>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "models/memory.h"
#include "tests/bench/honesty/record.h"
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
    int seasons = 200;
    std::uint64_t first = 0;
    std::vector<std::string> cell_names, world_names, reported;
    std::string world_cell = "20-random", records_file, csv_file;
    models::ContaminationSettings settings;
    app.add_option("--seasons", seasons, "how many simulated seasons")->capture_default_str();
    app.add_option("--start", first, "seed of the first")->capture_default_str();
    app.add_option("--cells", cell_names, "0,5-random,20-worst-first,20-own-order,... or none; else the study's nine")
        ->delimiter(',');
    app.add_option("--worlds", world_names, "worlds that the model does not assume, by name, or none; else all")
        ->delimiter(',');
    app.add_option("--world-cell", world_cell, "the cell that those worlds are tried in")->capture_default_str();
    app.add_option("--records", records_file, "a line of JSON for each season and cell is added to this file");
    app.add_option("--report", reported, "nothing is simulated; the tables of these files");
    app.add_option("--csv", csv_file, "every figure of the tables, with its interval");
    app.add_option("--threads", settings.threads, "0: as many as the machine has; changes no figure");
    CLI11_PARSE(app, argc, argv);
    try {
        std::vector<honesty::Record> records;
        if (!reported.empty()) {
            records = honesty::read_records(reported);
        } else {
            const std::vector<honesty::Cell> cells = cells_named(cell_names);
            const std::vector<honesty::OffWorld> worlds = worlds_named(world_names);
            const honesty::OffWorld assumed{"assumed", "", honesty::assumed_world(), {}};
            const honesty::Cell of_worlds = honesty::cell_named(world_cell);
            std::ofstream out;
            if (!records_file.empty()) out.open(records_file, std::ios::app);
            if (!records_file.empty() && !out)
                throw std::runtime_error(fmt::format("{} cannot be written", records_file));
            const auto start = std::chrono::steady_clock::now();
            for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(seasons); ++seed) {
                const std::size_t before = records.size();
                for (const honesty::Cell& cell : cells)
                    records.push_back(honesty::study_season(seed, cell, assumed, true, settings));
                for (const honesty::OffWorld& world : worlds)
                    records.push_back(honesty::study_season(seed, of_worlds, world, false, settings));
                if (out.is_open())
                    for (std::size_t r = before; r < records.size(); ++r) honesty::write(out, records[r]);
                fmt::print(stderr, "seed {}: {:.1f} s so far\n", seed,
                           std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
            }
        }
        const std::vector<honesty::Figure> figures = honesty::print_tables(records);
        if (!csv_file.empty()) honesty::write_csv(csv_file, figures);
    } catch (const std::exception& e) {
        fmt::print(stderr, "{}\n", e.what());
        return 1;
    }
    return 0;
}
