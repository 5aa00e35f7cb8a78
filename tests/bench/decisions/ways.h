#pragma once

#include <string>
#include <vector>

#include "tests/bench/honesty/record.h"
#include "tests/support/placed_tests.h"

namespace decisions {

/// A way of placing the tests of a season, by name: "none", "random", "worst-first" (disease risk), "suspect" (chance
/// of being over the limit), "first" (the program's), each also "first-by-5" (results of five are in before the next
/// five are placed), and "first-without-costs".
struct Way {
    std::string name;
    bool tests = true;  ///< false: none is made
    season_simulator::WayOfTesting how;
};
/// Those of the study.
std::vector<Way> study_ways();
/// @throws std::runtime_error  what cannot be read
Way way_named(const std::string& name);

/// The seed's season under each way, in their order: the same truth, and the same reading of a field whoever chose it.
/// The way's name stands in Record::placement.
std::vector<honesty::Record> study_season(std::uint64_t seed, const std::vector<Way>& ways, int tests,
                                          const models::ContaminationSettings& settings);

}  // namespace decisions
