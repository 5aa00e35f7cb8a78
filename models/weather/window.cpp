#include "models/weather/window.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <vector>

#include "models/weather/day_reading.h"

namespace models {

namespace {

using std::chrono::days;

bool half_seen(const Coverage& coverage) {
    return 2 * coverage.hours_seen >= coverage.hours_expected;
}

template <typename CountOfDay>
WindowValue sum_of_counts(const KnownWeather& weather, const DayWindow& window, const CountOfDay& count_of_day) {
    WindowValue result;
    int counted = 0;
    for (LocalDay day = window.first; day <= window.last; day += days(1)) {
        const DailySummary* summary = weather.day(day);
        const HourCount count = summary ? count_of_day(*summary) : HourCount{0, unseen_day()};
        counted += count.counted;
        result.coverage += count.coverage;
    }
    result.lower = counted;
    result.upper = counted + result.coverage.hours_missing();
    if (result.coverage.enough()) {
        result.value = counted * (static_cast<double>(result.coverage.hours_expected) / result.coverage.hours_seen);
    }
    return result;
}

/// Readings of one hour of the clock over the days of a window.
struct ClockHour {
    double sum = 0.0;
    int seen = 0, expected = 0;
};

template <typename HoursOf>
WindowValue mean_by_the_clock(const KnownWeather& weather, const DayWindow& window, const HoursOf& hours_of) {
    WindowValue result;
    std::array<ClockHour, 24> clock{};
    double lowest = HourlySeries::missing, highest = HourlySeries::missing;
    for (LocalDay day = window.first; day <= window.last; day += days(1)) {
        const DailySummary* summary = weather.day(day);
        if (!summary) {
            result.coverage += unseen_day();
            ++result.days_refused;
            for (ClockHour& hour : clock) ++hour.expected;
            continue;
        }
        const auto& hours = hours_of(*summary);
        const bool usable = hours.day.usable;
        result.coverage += usable ? hours.day.coverage : none_seen(hours.day.coverage);
        result.days_refused += usable ? 0 : 1;
        lowest = std::fmin(lowest, hours.day.lowest);
        highest = std::fmax(highest, hours.day.highest);
        for (std::size_t h = 0; h < 24; ++h) {
            clock[h].expected += summary->clock[h] ? 1 : 0;
            const bool counts = usable && !std::isnan(hours.at[h]);
            clock[h].sum += counts ? hours.at[h] : 0.0;
            clock[h].seen += counts ? 1 : 0;
        }
    }
    // One day may lack an hour of the clock in spring; over more days every hour of the clock is expected.
    double mean = 0.0, lower = 0.0, upper = 0.0;
    int hours_of_clock = 0, hours_of_clock_seen = 0;
    for (const ClockHour& hour : clock) {
        if (hour.expected == 0) continue;
        const int missing = hour.expected - hour.seen;
        ++hours_of_clock;
        hours_of_clock_seen += hour.seen > 0 ? 1 : 0;
        mean += hour.seen > 0 ? hour.sum / hour.seen : 0.0;
        lower += missing == 0 ? hour.sum / hour.expected : (hour.sum + missing * lowest) / hour.expected;
        upper += missing == 0 ? hour.sum / hour.expected : (hour.sum + missing * highest) / hour.expected;
    }
    if (hours_of_clock == 0) return result;
    if (half_seen(result.coverage)) {
        result.lower = lower / hours_of_clock;
        result.upper = upper / hours_of_clock;
    }
    if (result.coverage.enough()) result.value = mean / hours_of_clock_seen;
    return result;
}

}  // namespace

void widen(std::optional<DayWindow>& window, const std::optional<DayWindow>& by) {
    if (!by) return;
    if (!window) window = by;
    window->first = std::min(window->first, by->first);
    window->last = std::max(window->last, by->last);
}

DayWindow window_around(LocalDay flowering, int from_day, int to_day) {
    return {flowering + days(from_day), flowering + days(to_day)};
}

const DailySummary* KnownWeather::day(LocalDay day) const {
    if (!station || (as_of && day > *as_of)) return nullptr;
    return station->day(day);
}

WindowValue count_hours(const KnownWeather& weather, const DayWindow& window, const HourCondition& condition) {
    return sum_of_counts(weather, window, [&](const DailySummary& day) {
        return DayReading(weather.station->series(), day.first_hour, day.last_hour).count(condition);
    });
}

WindowValue warm_wet_hours(const KnownWeather& weather, const DayWindow& window) {
    return sum_of_counts(weather, window, [](const DailySummary& day) { return day.warm_wet; });
}

WindowValue warm_hours(const KnownWeather& weather, const DayWindow& window) {
    return sum_of_counts(weather, window, [](const DailySummary& day) { return day.warm; });
}

WindowValue mean_relative_humidity_pct(const KnownWeather& weather, const DayWindow& window) {
    return mean_by_the_clock(weather, window,
                             [](const DailySummary& day) -> const HoursOfDay& { return day.relative_humidity_pct; });
}

WindowValue mean_dew_point_depression_degc(const KnownWeather& weather, const DayWindow& window) {
    return mean_by_the_clock(
        weather, window, [](const DailySummary& day) -> const HoursOfDay& { return day.dew_point_depression_degc; });
}

WindowValue mean_temperature_degc(const KnownWeather& weather, const DayWindow& window) {
    return mean_by_the_clock(weather, window,
                             [](const DailySummary& day) -> const HoursOfDay& { return day.temperature_degc; });
}

WindowValue mean_of_hours(const KnownWeather& weather, const DayWindow& window, const HourQuantity& quantity) {
    return mean_by_the_clock(weather, window, [&](const DailySummary& day) {
        return DayReading(weather.station->series(), day.first_hour, day.last_hour).by_the_clock(quantity);
    });
}

WindowValue mean_daily_minimum_degc(const KnownWeather& weather, const DayWindow& window) {
    WindowValue result;
    double sum = 0.0, lowest = HourlySeries::missing, highest = HourlySeries::missing;
    int seen = 0;
    std::vector<double> seen_of_refused;  // the lowest reading of each day whose minimum is not known, NaN for none
    for (LocalDay day = window.first; day <= window.last; day += days(1)) {
        const DailySummary* summary = weather.day(day);
        const bool usable = summary && summary->temperature_degc.day.usable && summary->night_complete;
        if (usable) {
            const double minimum = summary->temperature_degc.day.lowest;
            sum += minimum;
            ++seen;
            lowest = std::fmin(lowest, minimum);
            highest = std::fmax(highest, minimum);
            result.coverage += summary->temperature_degc.day.coverage;
        } else {
            ++result.days_refused;
            seen_of_refused.push_back(summary ? summary->temperature_degc.day.lowest : HourlySeries::missing);
            result.coverage += summary ? none_seen(summary->temperature_degc.day.coverage) : unseen_day();
        }
    }
    if (seen > 0 && half_seen(result.coverage)) {
        double lower = sum, upper = sum;
        for (const double reading : seen_of_refused) {
            lower += std::fmin(reading, lowest);
            upper += std::isnan(reading) ? highest : reading;
        }
        result.lower = lower / window.days();
        result.upper = upper / window.days();
        if (result.coverage.enough()) result.value = std::clamp(sum / seen, *result.lower, *result.upper);
    }
    return result;
}

WindowValue rain_sum_mm(const KnownWeather& weather, const DayWindow& window) {
    WindowValue result;
    double sum = 0.0;
    for (LocalDay day = window.first; day <= window.last; day += days(1)) {
        const DailySummary* summary = weather.day(day);
        sum += summary ? summary->rain_mm : 0.0;
        result.coverage += summary ? summary->rain : unseen_day();
    }
    const int missing = result.coverage.hours_missing();
    if (result.coverage.hours_seen == 0) return result;
    result.lower = sum;
    result.upper = sum + missing * heaviest_hour_mm;
    result.at_least = missing > 0;
    if (result.coverage.enough()) result.value = sum;
    return result;
}

}  // namespace models
