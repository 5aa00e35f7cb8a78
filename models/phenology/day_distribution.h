#pragma once

#include <functional>
#include <optional>
#include <vector>

#include "models/calendar.h"

namespace models {

/// What is known of a date: a chance for each of a row of local days, adding up to 1. Empty: nothing is known.
struct DayDistribution {
    LocalDay first{};
    std::vector<double> chance;  ///< of first, first + 1, ...

    bool empty() const { return chance.empty(); }
    LocalDay day(std::size_t i) const { return first + std::chrono::days(i); }
    LocalDay last() const { return day(chance.size() - 1); }  ///< of one that is not empty
    double at(LocalDay day) const;                            ///< 0 outside
    LocalDay most_likely() const;                             ///< the earliest of equals; of one that is not empty
    double mean_days() const;                                 ///< from `first`
    double sd_days() const;
};

/// A normal law at whole days: chance in proportion to exp(-(day - centre)^2 / (2 sd^2)), out to 8 sd. One day for an
/// sd of 0.
/// @throws Error  an sd that is negative, not finite, or over 100 days
DayDistribution normal_days(LocalDay centre, double sd_days);
/// The sum of that date and a shift that is equally likely to be any whole number of days from -earlier to later.
/// @throws Error  a number that is negative
DayDistribution spread_evenly(const DayDistribution& days, int earlier, int later);
/// The sum of that date and a shift that is normal about no days, out to 8 sd.
/// @throws Error  as normal_days
DayDistribution spread_normally(const DayDistribution& days, double sd_days);
/// Each of them as likely as the others; none of them empty.
DayDistribution mixture_of(const std::vector<DayDistribution>& parts);
/// Without the days at each end that together hold no more than `tail`, the rest raised to 1 again.
DayDistribution without_tails(const DayDistribution& days, double tail);

/// A number that depends on a date, over what is known of that date.
struct AveragedRisk {
    std::optional<double> mean;       ///< over the days for which there is a number; none where there is none
    std::optional<double> low, high;  ///< the number lies between them with a chance of 90 %: its 5 % and 95 % points
    double covered = 0.0;             ///< 0 to 1: the chance of all days for which there is a number
};
/// mean = sum p_d r(d) / sum p_d over the days with a number; low (high): the least value v with a chance of at least
/// 5 % (95 %) that r <= v, over the same days. A mean with little covered speaks of those days only: show both.
/// @param risk  called once a day, in order of time; nullopt or not finite: no number for that day
AveragedRisk averaged_over(const DayDistribution& days, const std::function<std::optional<double>(LocalDay)>& risk);

}  // namespace models
