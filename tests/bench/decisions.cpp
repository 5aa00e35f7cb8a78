// What the order of tests is worth: simulated seasons of 60 fields with two past ones, deviations, range and slope
// drawn anew for each, and 20 tests placed as `first` says, all at once or five at a time with their results in before
// the next five, beside tests at random and the habits. The model is the same whoever places the tests, and a field
// reads the same whoever chose it; what is compared is the loss of accepting and rejecting fields afterwards.
//   bench_decisions --seasons 100 --start 0 --records a.jsonl
//   bench_decisions --seasons 100 --start 100 --records b.jsonl
//   bench_decisions --report a.jsonl b.jsonl
#include <cstdio>
#include <exception>
#include <string>
#include <vector>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

#include "models/memory.h"
#include "tests/bench/decisions/tables.h"
#include "tests/bench/decisions/ways.h"
#include "tests/bench/honesty/slices.h"

int main(int argc, char** argv) {
    models::keep_freed_memory();
    CLI::App app("What the order of tests is worth, in simulated seasons whose truth is known.");
    honesty::Slices slices;
    int tests = 20;
    std::vector<std::string> way_names;
    slices.add_options(app);
    app.add_option("--tests", tests, "how many are placed")->capture_default_str()->check(CLI::Range(1, 60));
    app.add_option("--ways", way_names, "none,random,worst-first,suspect-by-5,first,first-by-5,...; else the study's")
        ->delimiter(',');
    CLI11_PARSE(app, argc, argv);
    try {
        std::vector<decisions::Way> ways;
        for (const std::string& name : way_names) ways.push_back(decisions::way_named(name));
        if (ways.empty()) ways = decisions::study_ways();
        models::ContaminationSettings settings;
        settings.threads = slices.threads;
        decisions::print_tables(
            slices.records([&](std::uint64_t seed) { return decisions::study_season(seed, ways, tests, settings); }));
    } catch (const std::exception& e) {
        fmt::print(stderr, "{}\n", e.what());
        return 1;
    }
    return 0;
}
