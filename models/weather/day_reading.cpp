#include "models/weather/day_reading.h"

#include <algorithm>
#include <cmath>

namespace models {

namespace {

constexpr int fewest_hours = 18;
constexpr int longest_gap_h = 6;

void expect(Coverage& coverage, std::size_t hour_of_clock) {
    ++coverage.hours_expected;
    ++coverage.expected_in_band[hour_of_clock / 6];
}

void see(Coverage& coverage, std::size_t hour_of_clock) {
    ++coverage.hours_seen;
    ++coverage.seen_in_band[hour_of_clock / 6];
}

}  // namespace

DayReading::DayReading(const HourlySeries& series, std::size_t first, std::size_t last)
    : series_(series), first_(first), last_(last) {
    const bool empty = first == last;
    const std::size_t earliest = empty ? 24 : hour_of_clock(first);
    const std::size_t latest = empty ? 24 : hour_of_clock(last - 1);
    // Inside the series every hour of the day is there; at its ends the day goes on without it.
    if (first == 0 || empty) missing_before_ = earliest;
    if (last == series.size() && !empty) missing_after_ = 23 - latest;
    for (std::size_t h = 0; h < missing_before_; ++h) {
        clock_.set(h);
        expect(expected_, h);
    }
    for (std::size_t i = first; i < last; ++i) {
        clock_.set(hour_of_clock(i));
        expect(expected_, hour_of_clock(i));
    }
    for (std::size_t h = 24 - missing_after_; h < 24; ++h) {
        clock_.set(h);
        expect(expected_, h);
    }
}

HoursOfDay DayReading::by_the_clock(const HourQuantity& quantity) const {
    HoursOfDay day;
    day.at.fill(HourlySeries::missing);
    day.day.coverage = expected_;
    std::array<int, 24> readings{};
    std::size_t gap = missing_before_, longest_gap = missing_before_;
    for (std::size_t i = first_; i < last_; ++i) {
        const double value = quantity(hour(i));
        gap = std::isnan(value) ? gap + 1 : 0;
        longest_gap = std::max(longest_gap, gap);
        if (gap > 0) continue;
        const std::size_t h = hour_of_clock(i);
        see(day.day.coverage, h);
        day.at[h] = readings[h] == 0 ? value : day.at[h] + (value - day.at[h]) / (readings[h] + 1);
        ++readings[h];
        day.day.lowest = std::fmin(day.day.lowest, value);
        day.day.highest = std::fmax(day.day.highest, value);
    }
    longest_gap = std::max(longest_gap, gap + missing_after_);
    day.day.usable = day.day.coverage.hours_seen >= fewest_hours && longest_gap <= longest_gap_h;
    return day;
}

HourCount DayReading::count(const HourCondition& condition) const {
    HourCount count;
    count.coverage = expected_;
    for (std::size_t i = first_; i < last_; ++i) {
        const Truth truth = condition(hour(i));
        if (truth == Truth::unknown) continue;
        see(count.coverage, hour_of_clock(i));
        if (truth == Truth::yes) ++count.counted;
    }
    return count;
}

}  // namespace models
