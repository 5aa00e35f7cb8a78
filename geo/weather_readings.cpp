#include "geo/weather_readings.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>

namespace geo {

namespace {

constexpr std::size_t rain_of_reading = 3;

/// Equal, or both not measured.
bool same_reading(const Reading& a, const Reading& b) {
    for (std::size_t q = 0; q < a.values.size(); ++q) {
        const bool neither = std::isnan(a.values[q]) && std::isnan(b.values[q]);
        if (!neither && a.values[q] != b.values[q]) return false;
    }
    return true;
}

/// The beginning of the hour of the wall clock that a reading falls into.
std::chrono::sys_seconds hour_of_reading(const Reading& reading) {
    const auto wall = reading.begin + reading.offset;
    return std::chrono::floor<std::chrono::hours>(wall) - reading.offset;
}

Reading hour_from(const std::vector<Reading>& readings, std::size_t first, std::size_t end, std::size_t expected,
                  bool rain_accumulates, HoursOfReadings& out) {
    Reading hour = readings[first];
    hour.begin = hour_of_reading(readings[first]);
    const auto step = std::chrono::minutes(60) / static_cast<int>(expected);
    const Reading& last = readings[end - 1];
    bool few = false;
    for (std::size_t q = 0; q < hour.values.size(); ++q) {
        double sum = 0.0;
        std::size_t seen = 0;
        for (std::size_t i = first; i < end; ++i) {
            if (std::isnan(readings[i].values[q])) continue;
            sum += readings[i].values[q];
            ++seen;
        }
        const bool rain = q == rain_of_reading;
        if (rain && rain_accumulates) {
            const bool at_the_end = last.begin - hour.begin >= std::chrono::minutes(60) - step;
            hour.values[q] = at_the_end ? last.values[q] : std::numeric_limits<double>::quiet_NaN();
            if (std::isnan(hour.values[q]) && seen > 0) ++out.rain_incomplete;
            continue;
        }
        const bool enough = rain ? seen >= expected : 4 * seen >= 3 * expected;
        hour.values[q] = std::numeric_limits<double>::quiet_NaN();
        // Without the noise of adding up: no sensor tells a millionth.
        if (enough) hour.values[q] = std::round((rain ? sum : sum / static_cast<double>(seen)) * 1e6) / 1e6;
        if (enough || seen == 0) continue;
        if (rain)
            ++out.rain_incomplete;
        else
            few = true;
    }
    out.too_few += few ? 1 : 0;
    return hour;
}

}  // namespace

std::optional<std::chrono::minutes> step_of_readings(
    const std::vector<std::vector<std::chrono::sys_seconds>>& stations) {
    using namespace std::chrono;
    std::map<seconds, long> steps;
    long all = 0;
    for (const auto& times : stations) {
        for (std::size_t i = 1; i < times.size(); ++i) {
            if (times[i] == times[i - 1]) continue;
            ++steps[abs(times[i] - times[i - 1])];  // the newest row may come first
            ++all;
        }
    }
    for (const auto& [step, count] : steps) {
        if (2 * count <= all) continue;
        const auto whole = duration_cast<minutes>(step);
        const bool part_of_an_hour =
            whole == step && whole < hours(1) && whole > minutes(0) && minutes(60) % whole == minutes(0);
        return part_of_an_hour ? std::optional(whole) : std::nullopt;
    }
    return std::nullopt;
}

HoursOfReadings hours_of_readings(std::vector<Reading> readings, std::chrono::minutes step, bool rain_accumulates) {
    HoursOfReadings out;
    std::stable_sort(readings.begin(), readings.end(),
                     [](const Reading& a, const Reading& b) { return a.begin < b.begin; });
    std::vector<Reading> kept;
    kept.reserve(readings.size());
    for (const Reading& reading : readings) {
        if (kept.empty() || kept.back().begin != reading.begin)
            kept.push_back(reading);
        else if (same_reading(kept.back(), reading))
            ++out.repeated;
        else
            out.contradicting.push_back(reading);
    }
    const auto expected = static_cast<std::size_t>(std::chrono::minutes(60) / step);
    for (std::size_t first = 0; first < kept.size();) {
        std::size_t end = first + 1;
        while (end < kept.size() && hour_of_reading(kept[end]) == hour_of_reading(kept[first])) ++end;
        out.hours.push_back(hour_from(kept, first, end, expected, rain_accumulates, out));
        first = end;
    }
    return out;
}

}  // namespace geo
