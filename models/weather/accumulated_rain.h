#pragma once

#include <cstdint>
#include <optional>
#include <vector>

namespace models {

/// Whether a row of hourly rain speaks of each hour, or counts on until it is set back: tipping buckets that are
/// emptied at midnight, reanalyses that count from 0 UTC, forecasts that count from their start.
enum class RainTold { each_hour, counting, unclear };

struct RainCounter {
    RainTold told = RainTold::each_hour;
    std::optional<int> reset_hour;  ///< 0 to 23 of UTC: the hour with which each day's counting begins; of `counting`
    long after_wet = 0;             ///< hours that follow a wet one: what it is told from
};

/// Tells a counter from rain of each hour by what follows a wet hour (0.1 mm or more). After a wet hour the rain of an
/// hour is as often less as more, and every shower ends with less; a counter stays where it is while it is dry and
/// falls only where it is set back. Counting: of at least 12 hours after a wet one some rise, and either 40 % or more
/// stand still and 25 % or fewer fall, or none falls but at one hour of the day, leaving at least 12 others. Each hour:
/// 30 % or more fall, or no hour follows a wet one (then both mean the same). Else unclear. The bounds are the
/// project's own (common practice, no source).
/// @param places      one vector a place, of the same hours; mm, NaN where missing
/// @param first_hour  of all of them, in whole hours since 1970-01-01 00:00 UTC
RainCounter find_rain_counter(const std::vector<std::vector<double>>& places, std::int64_t first_hour);

/// The rain of each hour from a counter's totals at the end of each hour: total minus the total before; where it fell
/// (by more than 0.02 mm), or at the hour of reset, the total itself. NaN where the total before is not known, but for
/// a total of nothing, which leaves no rain for the hour.
std::vector<double> rain_of_each_hour(const std::vector<double>& totals_mm, std::int64_t first_hour,
                                      std::optional<int> reset_hour);

}  // namespace models
