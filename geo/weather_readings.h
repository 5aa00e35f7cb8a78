#pragma once

#include <array>
#include <chrono>
#include <optional>
#include <vector>

/// Loggers that write every few minutes: their readings become the hours that the program keeps.
namespace geo {

/// One row of a logger. `begin` is where the stretch of time begins that it speaks of.
struct Reading {
    std::chrono::sys_seconds begin{};
    std::chrono::minutes offset{0};  ///< of the wall clock
    std::array<double, 4> values{};  ///< temperature, relative humidity, dew point, rain; NaN where not measured
    long row = 0;
};

/// The minutes from one reading to the next, where they are fewer than an hour and a whole part of it: the step that
/// more than half of the neighbouring rows keep. nullopt for hourly tables.
/// @param stations  the times of the first rows of each station, in the order of the table
std::optional<std::chrono::minutes> step_of_readings(
    const std::vector<std::vector<std::chrono::sys_seconds>>& stations);

struct HoursOfReadings {
    std::vector<Reading> hours;             ///< by time; `row` that of the first reading
    std::vector<Reading> contradicting;     ///< readings of a time that an earlier row told otherwise
    long repeated = 0;                      ///< readings that say again what an earlier row said
    long too_few = 0, rain_incomplete = 0;  ///< hours that lack a quantity for want of readings, or their rain
};

/// Hours of the wall clock: of temperature, humidity and dew point the mean of the readings, where at least three
/// quarters of them are there; of rain the sum, where all are there, for a missing reading is not a dry one. Of rain
/// that counts on the total at the end of the hour: that of its last reading, where that one is there. The bounds are
/// the project's own (common practice, no source).
HoursOfReadings hours_of_readings(std::vector<Reading> readings, std::chrono::minutes step,
                                  bool rain_accumulates = false);

}  // namespace geo
