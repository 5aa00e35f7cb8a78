#pragma once

#include <optional>
#include <string>
#include <vector>

#include "tests/bench/honesty/record.h"
#include "tests/support/simulated_input.h"

namespace honesty {

/// How many tests there are in the season that counts, and where.
struct Cell {
    int tests = 0;
    std::string placement;  ///< "random", "worst-first" (by disease risk), "own-order" (what `first` says), "looks-bad"
    std::string name() const;
};
/// The nine of the study.
std::vector<Cell> study_cells();
/// "0", "20-random". @throws std::runtime_error  what cannot be read
Cell cell_named(const std::string& name);

/// Something that the model does not assume, on top of the world that it does.
struct OffWorld {
    std::string name, says;
    season_simulator::World world;
    season_simulator::WrittenDown written;
    std::vector<models::Assumption> breaks = {};  ///< what of the model's assumptions is not so
};
season_simulator::World assumed_world();
/// Each with 20 tests at random unless the world itself says where.
std::vector<OffWorld> off_worlds();

/// Simulates the seed's seasons, fits and scores. The fit under the true parameters is left out where no prior could
/// hold them.
Record study_season(std::uint64_t seed, const Cell& cell, const OffWorld& world, bool with_exact,
                    const models::ContaminationSettings& settings);

}  // namespace honesty
