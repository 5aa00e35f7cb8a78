#include "models/phenology/degree_days.h"

#include <algorithm>
#include <array>
#include <cmath>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

void check_rule(const DegreeDayRule& rule) {
    if (!std::isfinite(rule.base_degc) || (rule.cap_degc && !std::isfinite(*rule.cap_degc))) {
        throw Error("the base or the cap is not a number", "degree days", "give degrees Celsius");
    }
    if (rule.cap_degc && *rule.cap_degc <= rule.base_degc) {
        throw Error(fmt::format("the cap of {} degC is not above the base of {} degC", *rule.cap_degc, rule.base_degc),
                    "degree days", "give a higher cap, or none");
    }
}

double limited_by(double value_degc, const DegreeDayRule& rule) {
    const double raised = std::max(value_degc, rule.base_degc);
    return rule.cap_degc ? std::min(raised, *rule.cap_degc) : raised;
}

double degree_days_by(std::span<const double> values_degc, const DegreeDayRule& rule) {
    const bool each = rule.method == DegreeDayMethod::values_limited;
    double sum = 0.0;
    for (const double value : values_degc) sum += each ? limited_by(value, rule) : value;
    const double mean = sum / static_cast<double>(values_degc.size());
    return (each ? mean : limited_by(mean, rule)) - rule.base_degc;
}

}  // namespace

std::string in_words(const DegreeDayRule& rule) {
    const bool each = rule.method == DegreeDayMethod::values_limited;
    return fmt::format(
        "degree days by method {} of McMaster & Wilhelm (1997), {} raised to the base, base {:g} degC, {}",
        each ? 2 : 1, each ? "each temperature" : "the day's mean", rule.base_degc,
        rule.cap_degc ? fmt::format("cap {:g} degC", *rule.cap_degc) : "no cap");
}

double degree_days(std::span<const double> values_degc, const DegreeDayRule& rule) {
    check_rule(rule);
    const bool finite = std::all_of(values_degc.begin(), values_degc.end(), [](double t) { return std::isfinite(t); });
    if (values_degc.empty() || !finite) {
        throw Error("a day without all its temperatures has no degree days", "degree days",
                    "leave the day out, or give its temperatures");
    }
    return degree_days_by(values_degc, rule);
}

double degree_days(double minimum_degc, double maximum_degc, const DegreeDayRule& rule) {
    if (minimum_degc > maximum_degc) {
        throw Error(fmt::format("the minimum of {} degC lies above the maximum of {} degC", minimum_degc, maximum_degc),
                    "degree days", "check which is which");
    }
    return degree_days(std::array{minimum_degc, maximum_degc}, rule);
}

DegreeDaySum sum_degree_days(const TemperatureDays& temperatures, const DayWindow& window, const DegreeDayRule& rule) {
    check_rule(rule);
    DegreeDaySum sum;
    sum.method = fmt::format("{}, from {}", in_words(rule),
                             temperatures.of_hours() ? "hourly temperatures" : "daily minima and maxima");
    sum.coverage = coverage_of(temperatures, window);
    if (sum.coverage.beyond > 0 || sum.coverage.days == 0) return sum;
    DayRange total;
    for (LocalDay day = window.first; day <= window.last; day += std::chrono::days(1)) {
        const auto of_day =
            temperatures.range(day, [&](std::span<const double> values) { return degree_days_by(values, rule); });
        total.low += of_day->low;
        total.likely += of_day->likely;
        total.high += of_day->high;
    }
    sum.low = total.low;
    sum.high = total.high;
    if (sum.coverage.share() >= least_share_of_days) sum.likely = total.likely;
    return sum;
}

}  // namespace models
