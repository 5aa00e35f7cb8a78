#pragma once

#include <string>
#include <vector>

#include "app/workflow.h"
#include "models/decision/test_route.h"

namespace app {

struct RoundSettings {
    double from_longitude_deg = 0.0, from_latitude_deg = 0.0;
    bool back_to_start = true;
    double minutes = 0.0, minutes_a_test = 30.0, speed_km_per_h = 35.0;
};

/// One visit of a round.
struct RoundVisit {
    std::size_t field = 0;  ///< index into SeasonView::fields
    int rank = 0;           ///< in the order of tests
    double gain = 0.0;
    double arrive_minutes = 0.0;  ///< after setting out
};

/// A round of tests in the time that there is.
struct RoundOfTests {
    std::vector<RoundVisit> visits;
    models::PointM start;
    models::TestRoute route;
    int left_out = 0;  ///< fields worth a test that the time does not reach
    std::vector<std::string> notes;
};

/// Which fields to drive to, from where one stands, in the minutes that there are (models/decision/test_route.h). What
/// a test is worth is its place in the order of tests: what it adds to those above it; where there is only a ranking,
/// the disease risk. Way and time are of straight lines, 1.3 times as long.
/// @throws models::Error  as test_route; no order; the place is more than 300 km from the fields (swapped longitude and
///                        latitude are told)
RoundOfTests round_of_order(const SeasonView& view, const RoundSettings& settings);

}  // namespace app
