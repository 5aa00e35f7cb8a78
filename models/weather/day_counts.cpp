#include "models/weather/day_counts.h"

#include <cmath>

namespace models {

namespace {

Truth rain_over(const DailySummary& day, double mm) {
    if (day.rain_mm > mm) return Truth::yes;
    return day.rain.hours_seen > 0 && day.rain.hours_missing() == 0 ? Truth::no : Truth::unknown;
}

Truth mean_humidity_over_70(const DailySummary& day) {
    const HoursOfDay& humidity = day.relative_humidity_pct;
    if (!humidity.day.usable) return Truth::unknown;
    double sum = 0.0;
    int seen = 0, missing = 0;
    for (std::size_t hour = 0; hour < 24; ++hour) {
        if (!day.clock[hour]) continue;
        if (std::isnan(humidity.at[hour])) {
            ++missing;
        } else {
            sum += humidity.at[hour];
            ++seen;
        }
    }
    const int hours = seen + missing;
    const bool lower = (sum + missing * humidity.day.lowest) / hours > 70.0;
    const bool upper = (sum + missing * humidity.day.highest) / hours > 70.0;
    if (lower != upper) return Truth::unknown;
    return lower ? Truth::yes : Truth::no;
}

Truth minimum_under_10(const DailySummary& day) {
    if (day.temperature_degc.day.lowest < 10.0) return Truth::yes;  // false for NaN
    return day.temperature_degc.day.usable && day.night_complete ? Truth::no : Truth::unknown;
}

Truth maximum_over_32(const DailySummary& day) {
    if (day.temperature_degc.day.highest > 32.0) return Truth::yes;
    if (!day.temperature_degc.day.usable) return Truth::unknown;
    for (std::size_t hour = 12; hour <= 18; ++hour) {
        if (day.clock[hour] && std::isnan(day.temperature_degc.at[hour])) return Truth::unknown;
    }
    return Truth::no;
}

}  // namespace

WindowValue count_days(const KnownWeather& weather, const DayWindow& window, DayCondition condition) {
    WindowValue result;
    int met = 0, decided = 0;
    for (LocalDay day = window.first; day <= window.last; day += std::chrono::days(1)) {
        const DailySummary* summary = weather.day(day);
        const Truth truth = summary ? condition(*summary) : Truth::unknown;
        const Coverage of_day = summary ? summary->temperature_degc.day.coverage : unseen_day();
        result.coverage += truth == Truth::unknown ? none_seen(of_day) : all_seen(of_day);
        result.days_refused += truth == Truth::unknown ? 1 : 0;
        decided += truth == Truth::unknown ? 0 : 1;
        met += truth == Truth::yes ? 1 : 0;
    }
    result.lower = met;
    result.upper = met + result.days_refused;
    if (result.coverage.enough()) result.value = static_cast<double>(met) * window.days() / decided;
    return result;
}

WindowValue humid_days(const KnownWeather& weather, const DayWindow& window) {
    return count_days(weather, window, mean_humidity_over_70);
}

WindowValue days_of_rain_over_3_mm(const KnownWeather& weather, const DayWindow& window) {
    return count_days(weather, window, [](const DailySummary& day) { return rain_over(day, 3.0); });
}

WindowValue days_of_rain_over_5_mm(const KnownWeather& weather, const DayWindow& window) {
    return count_days(weather, window, [](const DailySummary& day) { return rain_over(day, 5.0); });
}

WindowValue cold_nights(const KnownWeather& weather, const DayWindow& window) {
    return count_days(weather, window, minimum_under_10);
}

WindowValue hot_days(const KnownWeather& weather, const DayWindow& window) {
    return count_days(weather, window, maximum_over_32);
}

}  // namespace models
