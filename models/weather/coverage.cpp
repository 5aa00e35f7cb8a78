#include "models/weather/coverage.h"

#include <algorithm>

namespace models {

namespace {

constexpr double enough_of_all = 0.90;
constexpr double enough_of_a_band = 0.75;

double part_of(int seen, int expected) {
    return expected > 0 ? static_cast<double>(seen) / expected : 0.0;
}

}  // namespace

double Coverage::share() const {
    return part_of(hours_seen, hours_expected);
}

double Coverage::share_of_band(int band) const {
    const auto i = static_cast<std::size_t>(band);
    return part_of(seen_in_band[i], expected_in_band[i]);
}

double Coverage::share_of_worst_band() const {
    return std::min({share_of_band(0), share_of_band(1), share_of_band(2), share_of_band(3)});
}

bool Coverage::enough() const {
    return share() >= enough_of_all && share_of_worst_band() >= enough_of_a_band;
}

Coverage unseen_day() {
    Coverage coverage;
    coverage.hours_expected = 24;
    coverage.expected_in_band = {6, 6, 6, 6};
    return coverage;
}

Coverage none_seen(Coverage of_day) {
    of_day.hours_seen = 0;
    of_day.seen_in_band = {};
    return of_day;
}

Coverage all_seen(Coverage of_day) {
    of_day.hours_seen = of_day.hours_expected;
    of_day.seen_in_band = of_day.expected_in_band;
    return of_day;
}

Coverage& Coverage::operator+=(const Coverage& other) {
    hours_expected += other.hours_expected;
    hours_seen += other.hours_seen;
    for (std::size_t band = 0; band < 4; ++band) {
        expected_in_band[band] += other.expected_in_band[band];
        seen_in_band[band] += other.seen_in_band[band];
    }
    return *this;
}

}  // namespace models
