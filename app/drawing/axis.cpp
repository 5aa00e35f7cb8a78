#include "app/drawing/axis.h"

#include <algorithm>
#include <cmath>

#include "app/drawing/numbers.h"

namespace app::drawing {

namespace {

/// Steps 1, 2, 5, 10 ... in order: number 0 is 1, number -1 is 0.5, number 4 is 20.
double step_number(int number) {
    constexpr double first[] = {1.0, 2.0, 5.0};
    const int decade = number >= 0 ? number / 3 : -((2 - number) / 3);
    return first[number - 3 * decade] * std::pow(10.0, decade);
}

/// The number of the largest step that is not above `value`, allowing for rounding.
int step_not_above(double value) {
    int number = 3 * static_cast<int>(std::floor(std::log10(value))) + 3;
    while (step_number(number) > value * (1.0 + 1e-9)) --number;
    return number;
}

}  // namespace

double round_down_125(double value) {
    return value > 0.0 ? step_number(step_not_above(value)) : 0.0;
}

double round_up_125(double value) {
    if (!(value > 0.0)) return 0.0;
    const int number = step_not_above(value);
    return step_number(number) >= value * (1.0 - 1e-9) ? step_number(number) : step_number(number + 1);
}

std::vector<Tick> linear_ticks(double low, double high, int most) {
    std::vector<Tick> ticks;
    if (!std::isfinite(low) || !std::isfinite(high) || !(high > low) || most < 1) return ticks;
    for (int number = step_not_above((high - low) / most);; ++number) {
        const double step = step_number(number);
        const double first = std::ceil(low / step - 1e-9), last = std::floor(high / step + 1e-9);
        if (last - first + 1.0 > most) continue;
        for (double k = first; k <= last; k += 1.0) ticks.push_back({k * step, axis_number_text(k * step, step)});
        return ticks;
    }
}

std::vector<Tick> log_ticks(double low, double high, int most) {
    std::vector<Tick> ticks;
    if (!(low > 0.0) || !std::isfinite(high) || !(high > low) || most < 1) return ticks;
    const int first = step_not_above(low * (1.0 + 1e-9)), last = step_not_above(high);
    const auto inside = [&](double value) { return value >= low * (1 - 1e-9) && value <= high * (1 + 1e-9); };

    int all = 0, decades = 0;
    for (int number = first; number <= last; ++number) {
        if (!inside(step_number(number))) continue;
        ++all;
        if (number % 3 == 0) ++decades;
    }
    if (all < 2) return linear_ticks(low, high, most);
    const bool only_decades = all > most && decades > 0;
    const int every = only_decades ? (decades + most - 1) / most : (all + most - 1) / most;
    int seen = 0;
    for (int number = first; number <= last; ++number) {
        const double value = step_number(number);
        if (!inside(value)) continue;
        const bool counted = !only_decades || number % 3 == 0;
        const bool labelled = counted && seen++ % every == 0;
        ticks.push_back({value, labelled ? axis_number_text(value, std::min(1.0, value)) : std::string()});
    }
    return ticks;
}

std::vector<Tick> day_ticks(models::LocalDay first, models::LocalDay last, int most) {
    using std::chrono::days;
    std::vector<Tick> ticks;
    const auto length = static_cast<int>((last - first).count());
    if (length < 0 || most < 1) return ticks;
    const auto add = [&](models::LocalDay day) {
        ticks.push_back({static_cast<double>((day - first).count()), models::to_short_text(day)});
    };
    for (const int step : {1, 2, 7, 14}) {
        if (length / step + 1 > most) continue;
        for (int day = 0; day <= length; day += step) add(first + days(day));
        return ticks;
    }
    for (const int months : {1, 2, 3, 6, 12, 24, 60, 120, 1200}) {
        ticks.clear();
        std::chrono::year_month_day date(first);
        std::chrono::year_month month = date.year() / date.month();
        if (date.day() != std::chrono::day(1)) month += std::chrono::months(1);
        for (; std::chrono::local_days(month / 1) <= last; month += std::chrono::months(months)) {
            add(std::chrono::local_days(month / 1));
        }
        if (static_cast<int>(ticks.size()) <= most) break;
    }
    return ticks;
}

double Scale::px(double value) const {
    const double share = logarithmic ? std::log(value / low) / std::log(high / low) : (value - low) / (high - low);
    return from_px + share * (to_px - from_px);
}

double Scale::value(double px) const {
    const double share = (px - from_px) / (to_px - from_px);
    return logarithmic ? low * std::pow(high / low, share) : low + share * (high - low);
}

}  // namespace app::drawing
