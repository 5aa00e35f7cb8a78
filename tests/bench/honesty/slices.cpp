#include "tests/bench/honesty/slices.h"

#include <chrono>
#include <cstdio>
#include <fstream>
#include <stdexcept>
#include <utility>

#include <CLI/CLI.hpp>
#include <fmt/format.h>

namespace honesty {

void Slices::add_options(CLI::App& app) {
    app.add_option("--seasons", seasons, "how many simulated seasons")->capture_default_str();
    app.add_option("--start", first, "seed of the first")->capture_default_str();
    app.add_option("--records", records_file, "a line of JSON for each record is added to this file");
    app.add_option("--report", reported, "nothing is simulated; the tables of these files");
    app.add_option("--threads", threads, "0: as many as the machine has; changes no figure");
}

std::vector<Record> Slices::records(const std::function<std::vector<Record>(std::uint64_t)>& study) const {
    if (!reported.empty()) return read_records(reported);
    std::ofstream out;
    if (!records_file.empty()) out.open(records_file, std::ios::app);
    if (!records_file.empty() && !out) throw std::runtime_error(fmt::format("{} cannot be written", records_file));
    const auto start = std::chrono::steady_clock::now();
    std::vector<Record> all;
    for (std::uint64_t seed = first; seed < first + static_cast<std::uint64_t>(seasons); ++seed) {
        for (Record& record : study(seed)) {
            if (out.is_open()) write(out, record);
            all.push_back(std::move(record));
        }
        fmt::print(stderr, "seed {}: {:.1f} s so far\n", seed,
                   std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count());
    }
    return all;
}

}  // namespace honesty
