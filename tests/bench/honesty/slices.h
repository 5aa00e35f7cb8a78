#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "tests/bench/honesty/record.h"

namespace CLI {
class App;
}

namespace honesty {

/// The seasons of a study, simulated in slices whose records are put together later: what every such study is asked on
/// its command line.
struct Slices {
    int seasons = 200;
    std::uint64_t first = 0;
    int threads = 0;
    std::string records_file;
    std::vector<std::string> reported;

    void add_options(CLI::App& app);
    /// The records of the files where there are any, else those of each seed, written as they come; how long it took so
    /// far goes to stderr.
    /// @throws std::runtime_error  the file cannot be read or written
    std::vector<Record> records(const std::function<std::vector<Record>(std::uint64_t seed)>& study) const;
};

}  // namespace honesty
