#pragma once

#include <optional>
#include <span>
#include <string>

#include "models/phenology/temperature_days.h"

namespace models {

/// Where a day that is partly colder than the base is cut off. The two readings of the same words differ by up to 83 %
/// for wheat, so the method is named beside every sum.
enum class DegreeDayMethod {
    mean_limited,   ///< method 1: the mean of the day is raised to the base
    values_limited  ///< method 2: each temperature is raised to the base, then the mean is taken; never less
};

struct DegreeDayRule {
    DegreeDayMethod method = DegreeDayMethod::values_limited;
    double base_degc = 0.0;
    std::optional<double> cap_degc;  ///< what is warmer counts as this; applied where the base is
};
/// "degree days by method 1 of McMaster & Wilhelm (1997), the day's mean raised to the base, base 0 degC, ..."
std::string in_words(const DegreeDayRule& rule);

/// Degree days of one day, in degC d:
///   method 1: limited(mean T) - base        method 2: mean limited(T) - base
///   limited(T) = T, not below the base and not above the cap
/// over its minimum and maximum or, better, over its hours (which then are the T of both formulas).
/// Source: McMaster & Wilhelm (1997), Growing degree-days: one equation, two interpretations, Agricultural and Forest
/// Meteorology 87:291-300.
/// @throws Error  no temperature or one that is not finite; a base or cap that is not finite, a cap not above the base
double degree_days(std::span<const double> values_degc, const DegreeDayRule& rule);
/// @throws Error  a minimum above the maximum; as above
double degree_days(double minimum_degc, double maximum_degc, const DegreeDayRule& rule);

struct DegreeDaySum {
    std::optional<double> likely;     ///< where 90 % of the days are seen and no missing day is beyond the weather
    std::optional<double> low, high;  ///< whatever the missing temperatures were; none where days are beyond
    DayCoverage coverage;
    std::string method;  ///< in words: the rule, and whether extremes or hours were summed
};
/// @throws Error  the rule is none
DegreeDaySum sum_degree_days(const TemperatureDays& temperatures, const DayWindow& window, const DegreeDayRule& rule);

/// The share of days that must be seen for one number to be named.
inline constexpr double least_share_of_days = 0.90;

}  // namespace models
