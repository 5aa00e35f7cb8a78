#pragma once

#include <compare>
#include <cstdint>
#include <functional>
#include <string>
#include <vector>

namespace models {

/// Which of several bins each of several loads goes into, so that as few loads as can be are left without a place. The
/// numbers of a plan alone: what may go where has been decided before (bin_plan.h).
struct GrainToPlace {
    double mass_t = 0.0;
    std::string tag;                ///< never lies with another tag, or with none
    std::vector<std::size_t> bins;  ///< that may take it, by rule and limit
};
struct BinToFill {
    enum class Tier { food, feed, other, hold };
    Tier tier = Tier::food;
    double room_t = 0.0;
    bool has_tag = false;  ///< true: only grain with `tag` goes in; false: the first that comes in gives its tag
    std::string tag;
    bool mix_is_asked = false;  ///< whether `may_lie_together` has a say here
    std::string alike;          ///< empty bins with the same text here are the same to every load; empty: like no other
};
struct PlacingProblem {
    std::vector<GrainToPlace> grain;  ///< in the order in which it arrives
    std::vector<BinToFill> bins;
    /// Whether grain may lie together in a bin by the time all of it is in (the chance that its mean is over). Asked
    /// with ascending indices, once each, and only of bins that say so.
    std::function<bool(std::size_t bin, const std::vector<std::size_t>& grain)> may_lie_together;
    /// Ways tried before the best so far is taken.
    std::int64_t most_tries = 200000;
};

/// What plans are compared by, first things first: more loads with a place, then more grain with a place, then more of
/// it in food bins, then in feed bins, then in other bins. Grams, so that sums are exact.
struct Standing {
    std::int64_t loads_placed = 0, placed_g = 0, food_g = 0, feed_g = 0, other_g = 0;
    auto operator<=>(const Standing&) const = default;
    Standing& operator+=(const Standing& more);
};
/// @param bin_of_grain  a bin each, or -1
Standing standing_of(const PlacingProblem& problem, const std::vector<int>& bin_of_grain);

struct Placing {
    std::vector<int> bin_of_grain;  ///< -1: none takes it
    bool best_of_all = true;        ///< false: `most_tries` ran out before every way was tried or ruled out
};

/// The placing with the greatest Standing. Starts from what comes first goes first, each load into the bin of the best
/// tier with the least room left, and takes another placing only where its standing is greater, so ties go by arrival.
/// Loads and bins that have nothing to do with each other are placed apart; of each such group all ways are gone
/// through in a fixed order, those left out that cannot stand higher than the best so far (branch and bound: Land &
/// Doig (1960), Econometrica 28(3), 497-520). Where `most_tries` runs out the best so far stands, after single moves
/// that better it.
Placing best_placing(const PlacingProblem& problem);

}  // namespace models
