#pragma once

#include <string>
#include <vector>

#include "models/geometry.h"

namespace models {

/// A field that may be tested on a round, and what a test of it is worth.
struct RouteStop {
    std::string name;
    PointM place;
    double gain = 0.0;  ///< >= 0; in whatever unit, the same for all
};

struct RouteQuestion {
    std::vector<RouteStop> stops;
    PointM start;
    bool back_to_start = true;
    double minutes = 0.0;          ///< there are, driving and testing together
    double minutes_a_test = 30.0;  ///< to walk the field, cut and pack
    double speed_km_per_h = 35.0;  ///< on the road between fields
    double roads_longer_by = 1.3;  ///< than the straight line: common practice, no source
};

struct TestRoute {
    std::vector<std::size_t> order;  ///< of the stops that are visited, in the order of driving
    double gain = 0.0;
    double minutes = 0.0;
    double driven_km = 0.0;
    bool exact = false;  ///< no round within the time is worth more
};

/// Which fields to test on one round and in which order, so that the tests are worth the most in the time that there is
/// (the orienteering problem):
///   most  sum of gain over the stops visited
///   such that  roads_longer_by x straight way / speed + minutes_a_test x stops <= minutes
/// Up to 14 fields that are worth anything exactly, by the shortest way through every subset (Held and Karp's
/// recursion); of more by insertion of the best gain for its time, from several weights of the two, then exchange of
/// stops, untangling of the way and insertion again until nothing is better. A stop without a gain is not visited.
/// Sources: Golden, Levy & Vohra (1987), Naval Research Logistics 34, 307-318 (the problem); Held & Karp (1962), J.
/// SIAM 10, 196-210.
/// @throws Error  minutes, a speed, a detour or a gain that make no sense; more than 2,000 stops
TestRoute test_route(const RouteQuestion& question);

}  // namespace models
