#include "models/phenology/winter_wheat.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "models/phenology/day_length.h"

namespace models {

namespace {

constexpr double winter_base_degc = 1.5, winter_best_degc = 26.0, winter_most_degc = 37.0;

double warmth_rate(double mean_degc) {
    return thermal_response_degc(mean_degc) * sine_response(mean_degc);
}

/// A rate that rises up to `best_from` and falls from `best_to`, at the pace asked for.
template <typename Rate>
double rate_at(Pace pace, const DayRange& mean_degc, double best_from, double best_to, const Rate& rate) {
    const double at_low = rate(mean_degc.low), at_high = rate(mean_degc.high);
    if (pace == Pace::likely) return rate(mean_degc.likely);
    if (pace == Pace::slowest) return std::min(at_low, at_high);
    const bool passes_the_best = mean_degc.low < best_to && mean_degc.high > best_from;
    return passes_the_best ? rate(std::clamp(best_from, mean_degc.low, mean_degc.high)) : std::max(at_low, at_high);
}

}  // namespace

double vernalization_rate(double mean_degc) {
    if (!(mean_degc >= -4.0 && mean_degc <= 17.0)) return 0.0;
    if (mean_degc < 3.0) return (mean_degc + 4.0) / 7.0;
    return mean_degc < 10.0 ? 1.0 : (17.0 - mean_degc) / 7.0;
}

double vernalization_factor(double vernal_days) {
    return std::clamp((vernal_days - vernal_days_to_begin) / (vernal_days_in_full - vernal_days_to_begin), 0.0, 1.0);
}

double thermal_response_degc(double mean_degc) {
    if (!(mean_degc > winter_base_degc && mean_degc <= winter_most_degc)) return 0.0;
    const double away = mean_degc - winter_best_degc;
    if (away <= 0.0) return winter_best_degc * std::exp(-(away / 15.2) * (away / 15.2));
    return winter_best_degc *
           (1.0 - (away / (winter_most_degc - winter_best_degc)) * (away / (winter_most_degc - winter_best_degc)));
}

double sine_response(double mean_degc) {
    return std::sin(std::numbers::pi / 2.0 * (mean_degc - winter_base_degc) / (winter_best_degc - winter_base_degc));
}

double photoperiod_factor(double day_length_h) {
    return std::clamp((day_length_h - 5.0) / (20.0 - 5.0), 0.0, 1.0);
}

WinterWheatCourse follow_winter_wheat(const TemperatureDays& temperatures, LocalDay sowing, double latitude_deg,
                                      Pace pace, double warmer_degc) {
    WinterWheatCourse course;
    for (int n = 0; n < most_days_followed; ++n) {
        const LocalDay day = sowing + std::chrono::days(n);
        const double photoperiod = photoperiod_factor(day_length_h(latitude_deg, day));
        const auto mean = temperatures.mean_degc(day);
        if (!mean) break;
        const DayRange felt{mean->low + warmer_degc, mean->likely + warmer_degc, mean->high + warmer_degc};
        course.vernal_days += rate_at(pace, felt, 3.0, 10.0, vernalization_rate);
        course.development += rate_at(pace, felt, winter_best_degc, winter_best_degc, warmth_rate) *
                              vernalization_factor(course.vernal_days) * photoperiod;
        course.last_day = day;
        if (!course.vernalization_begins && course.vernal_days >= vernal_days_to_begin)
            course.vernalization_begins = day;
        if (!course.vernalization_in_full && course.vernal_days >= vernal_days_in_full)
            course.vernalization_in_full = day;
        if (course.development >= development_at_flowering) {
            course.flowering = day;
            break;
        }
    }
    return course;
}

Region winter_wheat_region() {
    return {"North Carolina: 18 site-years, 2022-2024", -81.0, -76.0, 34.0, 37.0};
}

bool winter_wheat_sowing_is_usual(LocalDay sowing) {
    const std::chrono::year_month_day date(sowing);
    return date.month() == std::chrono::October && static_cast<unsigned>(date.day()) >= 10 &&
           static_cast<unsigned>(date.day()) <= 30;
}

}  // namespace models
