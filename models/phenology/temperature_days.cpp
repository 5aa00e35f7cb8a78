#include "models/phenology/temperature_days.h"

#include <algorithm>
#include <cmath>
#include <numeric>

#include <fmt/format.h>

#include "models/error.h"

namespace models {

namespace {

constexpr std::size_t fewest_day_neighbours = 3;

void check_temperature(double value_degc, LocalDay day) {
    if (std::isnan(value_degc) || (value_degc >= -90.0 && value_degc <= 60.0)) return;
    throw Error(fmt::format("a temperature of {} degC is not possible", value_degc), to_text(day),
                "give degrees Celsius, and leave empty what was not measured");
}

double mean_of_day_values(std::span<const double> values) {
    return std::accumulate(values.begin(), values.end(), 0.0) / static_cast<double>(values.size());
}

TemperatureDays::Day day_of_extremes(const DayExtremes& given) {
    check_temperature(given.minimum_degc, given.day);
    check_temperature(given.maximum_degc, given.day);
    if (given.minimum_degc > given.maximum_degc) {
        throw Error(fmt::format("the minimum of {} degC lies above the maximum of {} degC", given.minimum_degc,
                                given.maximum_degc),
                    to_text(given.day), "check which column is which");
    }
    TemperatureDays::Day day{given.day, {}, 0};
    if (!std::isnan(given.minimum_degc) && !std::isnan(given.maximum_degc)) {
        day.values_degc = {given.minimum_degc, given.maximum_degc};
    }
    return day;
}

TemperatureDays::Day day_of_hours(const DailySummary& summary) {
    TemperatureDays::Day day{summary.day, {}, 0};
    const HoursOfDay& hours = summary.temperature_degc;
    if (!hours.day.usable) return day;
    for (const double value : hours.at) {
        check_temperature(value, summary.day);
        if (!std::isnan(value)) day.values_degc.push_back(value);
    }
    day.values_missing = hours.day.coverage.hours_missing();
    return day;
}

}  // namespace

TemperatureDays TemperatureDays::from_extremes(std::span<const DayExtremes> given) {
    TemperatureDays result;
    for (const DayExtremes& extremes : given) {
        if (!result.days_.empty() && extremes.day <= result.days_.back().day) {
            const bool twice = extremes.day == result.days_.back().day;
            throw Error(twice ? "a day comes twice" : "a day comes after a later one", to_text(extremes.day),
                        "give each day once, in order of time");
        }
        while (!result.days_.empty() && result.days_.back().day + std::chrono::days(1) < extremes.day) {
            result.days_.push_back({result.days_.back().day + std::chrono::days(1), {}, 0});
        }
        result.days_.push_back(day_of_extremes(extremes));
    }
    result.keep_seen();
    return result;
}

TemperatureDays TemperatureDays::from_hours(const KnownWeather& weather) {
    TemperatureDays result;
    result.of_hours_ = true;
    if (!weather.station) return result;
    for (const DailySummary& summary : weather.station->days()) {
        if (weather.as_of && summary.day > *weather.as_of) break;
        result.days_.push_back(day_of_hours(summary));
    }
    result.keep_seen();
    return result;
}

void TemperatureDays::keep_seen() {
    while (!days_.empty() && !days_.back().seen()) days_.pop_back();
    const auto first = std::find_if(days_.begin(), days_.end(), [](const Day& day) { return day.seen(); });
    days_.erase(days_.begin(), first);
}

const TemperatureDays::Day* TemperatureDays::day(LocalDay day) const {
    if (days_.empty() || day < days_.front().day || day > days_.back().day) return nullptr;
    return &days_[static_cast<std::size_t>((day - days_.front().day).count())];
}

TemperatureDays TemperatureDays::until(LocalDay last) const {
    TemperatureDays known = *this;
    while (!known.days_.empty() && known.days_.back().day > last) known.days_.pop_back();
    known.keep_seen();
    return known;
}

std::optional<DayRange> TemperatureDays::range(LocalDay wanted, const OfDay& number) const {
    const Day* found = day(wanted);
    if (!found) return std::nullopt;
    const auto i = static_cast<std::size_t>(found - days_.data());
    return found->seen() ? range_of_seen(i, number) : range_of_gap(i, number);
}

std::optional<DayRange> TemperatureDays::mean_degc(LocalDay wanted) const {
    return range(wanted, mean_of_day_values);
}

DayRange TemperatureDays::range_of_seen(std::size_t i, const OfDay& number) const {
    const Day& day = days_[i];
    const double likely = number(day.values_degc);
    if (day.values_missing == 0) return {likely, likely, likely};
    auto [coldest, warmest] = std::pair{day.values_degc.front(), day.values_degc.front()};
    for (std::size_t k = i > 0 ? i - 1 : 0; k <= std::min(i + 1, days_.size() - 1); ++k) {
        for (const double value : days_[k].values_degc) {
            coldest = std::min(coldest, value);
            warmest = std::max(warmest, value);
        }
    }
    std::vector<double> filled = day.values_degc;
    filled.resize(day.values_degc.size() + static_cast<std::size_t>(day.values_missing), coldest);
    const double low = number(filled);
    std::fill(filled.begin() + static_cast<std::ptrdiff_t>(day.values_degc.size()), filled.end(), warmest);
    return {std::min(low, likely), likely, std::max(number(filled), likely)};
}

DayRange TemperatureDays::range_of_gap(std::size_t i, const OfDay& number) const {
    std::size_t before = i, after = i;  // the days seen on either side: there always are, the ends are seen
    while (!days_[before].seen()) --before;
    while (!days_[after].seen()) ++after;
    const std::size_t reach = std::max(fewest_day_neighbours, after - before - 1);
    DayRange range;
    double sum = 0.0;
    int seen = 0;
    const auto take = [&](std::size_t k) {
        if (!days_[k].seen()) return;
        const DayRange neighbour = range_of_seen(k, number);
        range.low = seen == 0 ? neighbour.low : std::min(range.low, neighbour.low);
        range.high = seen == 0 ? neighbour.high : std::max(range.high, neighbour.high);
        sum += neighbour.likely;
        ++seen;
    };
    for (std::size_t k = before + 1 > reach ? before + 1 - reach : 0; k <= before; ++k) take(k);
    for (std::size_t k = after; k < std::min(after + reach, days_.size()); ++k) take(k);
    range.likely = sum / seen;
    return range;
}

DayCoverage coverage_of(const TemperatureDays& temperatures, const DayWindow& window) {
    DayCoverage coverage;
    int gap = 0;
    for (LocalDay day = window.first; day <= window.last; day += std::chrono::days(1)) {
        const TemperatureDays::Day* found = temperatures.day(day);
        const bool seen = found && found->seen();
        gap = seen ? 0 : gap + 1;
        ++coverage.days;
        coverage.missing += seen ? 0 : 1;
        coverage.beyond += found ? 0 : 1;
        coverage.longest_gap = std::max(coverage.longest_gap, gap);
    }
    return coverage;
}

}  // namespace models
