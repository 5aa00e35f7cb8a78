#pragma once

#include <chrono>
#include <optional>
#include <string>
#include <string_view>

namespace models {

/// A day as the farm counts it. The local day of an event is the date written in its own time stamp.
using LocalDay = std::chrono::local_days;

/// A moment with the wall clock it was written by: 2026-06-03T14:05:00+02:00. Two stamps are the same moment when
/// their utc agrees; the offset is kept so that the local day and the way it was written survive.
struct Stamp {
    std::chrono::sys_seconds utc{};
    std::chrono::minutes offset{0};

    LocalDay local_day() const;
    /// Seconds since local midnight.
    std::chrono::seconds local_time_of_day() const;
    friend bool operator==(const Stamp&, const Stamp&) = default;
};

/// "2026-06-03"; nullopt where the text is no such date (2026-02-30 is none).
std::optional<LocalDay> parse_day(std::string_view text);
/// ISO 8601 with an offset: "2026-06-03T14:05:00+02:00", "2026-06-03T12:05Z", seconds optional, a space instead of T
/// allowed. A stamp without an offset is nullopt: a wall time alone does not name a moment.
std::optional<Stamp> parse_stamp(std::string_view text);

std::string to_text(LocalDay day);                  ///< "2026-06-03"
std::string to_text(const Stamp& stamp);            ///< "2026-06-03T14:05:00+02:00", "+00:00" for UTC
std::string to_text(std::chrono::sys_seconds utc);  ///< "2026-06-03T12:05:00Z"
std::string to_short_text(LocalDay day);            ///< "3 Jun", for tables and charts

int year_of(LocalDay day);
LocalDay day_of(int year, unsigned month, unsigned day);

}  // namespace models
