#include "models/weather/day_reading.h"

namespace models {

DayReading::DayReading(const HourlySeries& series, std::size_t first, std::size_t last)
    : series_(series), first_(first), last_(last) {
    clock_of_.reserve(last - first);
    for (std::size_t i = first; i < last; ++i) {
        clock_of_.push_back(static_cast<std::uint8_t>(series.stamp(i).local_time_of_day() / std::chrono::hours(1)));
    }
    const bool empty = first == last;
    const std::size_t earliest = empty ? 24 : clock_of_.front();
    const std::size_t latest = empty ? 24 : clock_of_.back();
    // Inside the series every hour of the day is there; at its ends the day goes on without it.
    if (first == 0 || empty) missing_before_ = earliest;
    if (last == series.size() && !empty) missing_after_ = 23 - latest;
    for (std::size_t h = 0; h < missing_before_; ++h) expect(h);
    for (const std::uint8_t h : clock_of_) expect(h);
    for (std::size_t h = 24 - missing_after_; h < 24; ++h) expect(h);
}

void DayReading::expect(std::size_t hour_of_clock) {
    clock_.set(hour_of_clock);
    ++expected_.hours_expected;
    ++expected_.expected_in_band[hour_of_clock / 6];
}

}  // namespace models
