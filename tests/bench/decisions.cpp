// What the order of tests is worth: simulated seasons of 60 fields with two past ones, deviations, range and slope
// drawn anew for each, and 20 tests placed as `first` says, all at once or five at a time with their results in before
// the next five, beside tests at random and the habits. The model is the same whoever places the tests, and a field
// reads the same whoever chose it; what is compared is the loss of accepting and rejecting fields afterwards.
//   bench_decisions --seasons 100 --start 0 --records a.jsonl
//   bench_decisions --seasons 100 --start 100 --records b.jsonl
//   bench_decisions --report a.jsonl b.jsonl
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
#include "tests/bench/decisions/tables.h"
#include "tests/bench/decisions/ways.h"

int main(int argc, char** argv) {
    models::keep_freed_memory();
    CLI::App app("What the order of tests is worth, in simulated seasons whose truth is known.");
    int seasons = 200, tests = 20;
    std::uint64_t first = 0;
    std::vector<std::string> way_names, reported;
    std::string records_file;
    models::ContaminationSettings settings;
    app.add_option("--seasons", seasons, "how many simulated seasons")->capture_default_str();
    app.add_option("--start", first, "seed of the first")->capture_default_str();
    app.add_option("--tests", tests, "how many are placed")->capture_default_str()->check(CLI::Range(1, 60));
    app.add_option("--ways", way_names, "none,random,worst-first,suspect-by-5,first,first-by-5,...; else the study's")
        ->delimiter(',');
    app.add_option("--records", records_file, "a line of JSON for each season and way is added to this file");
    app.add_option("--report", reported, "nothing is simulated; the tables of these files");
    app.add_option("--threads", settings.threads, "0: as many as the machine has; changes no figure");
    CLI11_PARSE(app, argc, argv);
    try {
        std::vector<honesty::Record> records;
        if (!reported.empty()) {
            records = honesty::read_records(reported);
        } else {
            std::vector<decisions::Way> ways;
            for (const std::string& name : way_names) ways.push_back(decisions::way_named(name));
            if (ways.empty()) ways = decisions::study_ways();
            std::ofstream out;
            if (!records_file.empty()) out.open(records_file, std::ios::app);
            if (!records_file.empty() && !out)
                throw std::runtime_error(fmt::format("{} cannot be written", records_file));
            const auto start = std::chrono::steady_clock::now();
            for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(seasons); ++seed) {
                for (honesty::Record& record : decisions::study_season(seed, ways, tests, settings)) {
                    if (out.is_open()) honesty::write(out, record);
                    records.push_back(std::move(record));
                }
                fmt::print(stderr, "seed {}: {:.1f} s so far\n", seed,
                           std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
            }
        }
        decisions::print_tables(records);
    } catch (const std::exception& e) {
        fmt::print(stderr, "{}\n", e.what());
        return 1;
    }
    return 0;
}
