#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/records.h"

namespace models {

/// What a wrong decision loses and what a line costs, all in money or all in tonnes of grain. In tonnes a tonne is a
/// tonne, whichever way it is lost.
struct SplitCosts {
    double taken_over_per_t = 1.0;  ///< a tonne over the limit taken for good
    double kept_good_per_t = 1.0;   ///< a tonne under it kept apart
    double line = 5.0;              ///< of each further zone: the cut by itself, a truck or wagon not filled, the queue
};

/// A field in swaths side by side (models/decision/drive_lines.h), or in parts of any kind, and what they may hold.
struct ZoneSplitProblem {
    Eigen::MatrixXd contents_mg_per_kg;  ///< draws x swaths; that of a swath without grain is not looked at
    std::vector<double> tonnes;          ///< of each swath; 0: it meets no ground
    std::vector<double> headers;         ///< width of each swath in headers; the last may be less than the others
    double least_headers = 1.0;          ///< no zone is narrower; swaths without ground do not count
    int most_zones = 3;
    Limit limit;
    SplitCosts costs;
};

/// What is done with the grain of a zone as long as nothing more is known.
enum class ZoneUse { taken, kept_apart };
const char* in_words(ZoneUse use);  ///< "taken", "kept apart"

struct ZoneOfSwaths {
    int first = 0, last = 0;  ///< swaths, both included
    ZoneUse use = ZoneUse::taken;
    double tonnes = 0.0;
    double loss = 0.0;  ///< expected
};

struct ZoneSplit {
    std::vector<ZoneOfSwaths> zones;  ///< one: the field is not split
    ZoneUse whole_use = ZoneUse::taken;
    double loss_of_whole = 0.0;  ///< expected, of the field cut as one
    double loss = 0.0;           ///< expected, of the zones, lines not counted
    double earns = 0.0;          ///< loss_of_whole - loss - lines; 0 where it is not split
    /// Ground of the least width that is judged over and yet in a zone that is not, and its chance of being over: the
    /// likeliest such. Only where mixing is not allowed. None: last below first.
    int over_first = 0, over_last = -1;
    double over_chance = 0.0;
};

/// The division of a field into zones that is worth the most, lines and all: which swaths are cut together. Lines are
/// laid before it is known what the field holds, so they are the same in all draws. With T the tonnes of a zone, M the
/// mean content of its grain and L where the limit breaks, each zone is taken or kept apart, whichever is expected to
/// lose less:
///   taken       A x (M over L: T, else: tonnes of its swaths that are over L)
///   kept apart  R x tonnes of its swaths that are not over L
///   value = - sum over zones of E[loss] - cost of a line x (zones - 1)
/// A = taken_over_per_t, R = kept_good_per_t. Where the limit allows mixing, the zone's mean alone speaks for it as
/// long as it is not over: taken then loses nothing and kept apart R x T. Where it does not (forbidden, not addressed),
/// grain over the limit is not brought under it by its neighbours in the same cut: ground of the least width is judged
/// over where its mean is over with a chance of more than one half and more than R / (A + R), from which on keeping it
/// apart loses less; and a zone that holds such ground is never taken, whatever its mean. These two bounds are ours.
/// Zones side by side differ in use: a line between two that are treated alike would earn nothing that is known today.
/// The best of all divisions is found, by dynamic programming over the place of each line: Bellman & Dreyfus (1962),
/// Applied Dynamic Programming, ch. 1. Of equally good ones it is that with the fewest zones, then that with the first
/// lines.
/// Whether a zone may be delivered is not said here: that is a matter of the limit's rule (clearing.h), not of value.
/// @throws Error  no draws or no swaths; sizes differ; a draw of a swath with grain is no number of 0 or more; no
///   grain; a cost below 0, or those of a wrong decision not above; no zones; a least width below 0
ZoneSplit best_zones(const ZoneSplitProblem& problem);

/// The same division for lines that are given: each zone begins with one of these swaths (0 first), and is taken or
/// kept apart whatever its neighbour is. Widths are not looked at; `earns` may be below 0.
/// @throws Error  as above; lines that do not rise or lie outside; a zone without grain
ZoneSplit zones_at(const ZoneSplitProblem& problem, const std::vector<int>& first_swaths);

/// What a division brings over the field cut as one.
struct SplitWorth {
    double mean = 0.0, low90 = 0.0, high90 = 0.0;  ///< lines paid; in the unit of the costs
    double chance_it_pays = 0.0;                   ///< share of the draws in which it is above 0
};
/// Draw by draw, uses as they were decided. Whoever chose lines on some draws tells their worth on others: the best of
/// many looks better on its own draws than it is.
/// @throws Error  as above; a division that is not of these swaths
SplitWorth worth_of(const ZoneSplitProblem& problem, const ZoneSplit& split);

}  // namespace models
