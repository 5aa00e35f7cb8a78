#include "models/weather/leave_one_out.h"

#include <algorithm>
#include <cmath>

#include "models/spatial/parallel.h"

namespace models {

namespace {

struct ErrorSums {
    double n = 0.0, sum = 0.0, squares = 0.0;
    void add(double estimate, double measured) {
        const double error = estimate - measured;
        if (std::isnan(error)) return;
        n += 1.0;
        sum += error;
        squares += error * error;
    }
    void add(const ErrorSums& other) {
        n += other.n;
        sum += other.sum;
        squares += other.squares;
    }
    ErrorOf error() const {
        if (n == 0.0) return {};
        return {std::llround(n), sum / n, std::sqrt(squares / n)};
    }
};

struct StationSums {
    bool told = false;
    ErrorSums temperature, dew_point, rain, daily_mean, daily_rain, warm_wet, depression;
};

/// What both know over a stretch of hours.
struct Stretch {
    int hours = 0, both = 0, rain_hours = 0;
    double estimated = 0.0, measured = 0.0;  // temperature
    double estimated_rain = 0.0, measured_rain = 0.0;
    int wet_hours = 0;  // both have temperature and dew point
    double estimated_depression = 0.0, measured_depression = 0.0;
    double estimated_warm_wet = 0.0, measured_warm_wet = 0.0;
};

bool is_warm_wet(double temperature_degc, double humidity_pct) {
    return temperature_degc >= 15.0 && temperature_degc <= 30.0 && humidity_pct >= 90.0;
}

StationSums errors_at(const StationNetwork& network, std::size_t station, WeatherWay way, int window_days) {
    StationSums out;
    const FieldSeries estimate = network.without_station(station, way);
    if (estimate.hours.empty()) return out;
    const AlignedHours& all = network.hours();
    const auto begin = static_cast<std::size_t>(
        (std::chrono::floor<std::chrono::hours>(estimate.hours.first_utc) - all.first_utc) / std::chrono::hours(1));
    const auto local_day = [&](std::size_t i) {
        return Stamp{all.utc(i), std::chrono::minutes(all.offset_min[station][i])}.local_day();
    };
    const auto close_day = [&](const Stretch& day) {
        if (day.both >= 18) out.daily_mean.add(day.estimated / day.both, day.measured / day.both);
        if (day.rain_hours >= 20) out.daily_rain.add(day.estimated_rain, day.measured_rain);
    };
    const auto close_window = [&](const Stretch& window) {
        if (window.wet_hours == 0 || window.wet_hours < 0.9 * 24 * window_days) return;
        out.warm_wet.add(window.estimated_warm_wet, window.measured_warm_wet);
        out.depression.add(window.estimated_depression / window.wet_hours,
                           window.measured_depression / window.wet_hours);
    };
    Stretch day, window;
    const std::size_t first = all.first_of[station], end = first + all.hours_of[station];
    for (std::size_t i = first; i < end; ++i) {
        if (i > first && local_day(i) > local_day(i - 1)) {
            close_day(day);
            day = {};
            const auto days_in = (local_day(i) - local_day(first)).count();
            if (days_in % window_days == 0) {
                close_window(window);
                window = {};
            }
        }
        if (i < begin || i >= begin + estimate.hours.size()) continue;
        const std::size_t e = i - begin;
        const double temperature = estimate.hours.temperature_degc[e], measured = all.temperature_degc[station][i];
        const double dew_point = estimate.hours.dew_point_degc[e], measured_dew = all.dew_point_degc[station][i];
        const double rain = estimate.hours.rain_mm[e], measured_rain = all.rain_mm[station][i];
        out.temperature.add(temperature, measured);
        out.dew_point.add(dew_point, measured_dew);
        out.rain.add(rain, measured_rain);
        if (!std::isnan(temperature - measured)) {
            ++day.both;
            day.estimated += temperature;
            day.measured += measured;
        }
        if (!std::isnan(rain - measured_rain)) {
            ++day.rain_hours;
            day.estimated_rain += rain;
            day.measured_rain += measured_rain;
        }
        if (std::isnan(temperature - measured + dew_point - measured_dew)) continue;
        ++window.wet_hours;
        window.estimated_depression += std::max(0.0, temperature - dew_point);
        window.measured_depression += std::max(0.0, measured - measured_dew);
        window.estimated_warm_wet += is_warm_wet(temperature, estimate.hours.relative_humidity_pct[e]) ? 1.0 : 0.0;
        window.measured_warm_wet += is_warm_wet(measured, all.relative_humidity_pct[station][i]) ? 1.0 : 0.0;
    }
    close_day(day);
    close_window(window);
    out.told = out.temperature.n > 0.0 || out.rain.n > 0.0;
    return out;
}

}  // namespace

LeaveOneOut leave_stations_out(const StationNetwork& network, int window_days, int threads, const Progress& progress) {
    LeaveOneOut out;
    out.window_days = window_days;
    const std::size_t n = network.stations().size();
    const auto ways = static_cast<std::size_t>(network.settings().way) + 1;
    std::vector<StationSums> of(n * ways);
    parallel_blocks(
        static_cast<long long>(of.size()), threads,
        [&](long long block) {
            const auto at = static_cast<std::size_t>(block);
            of[at] = errors_at(network, at % n, static_cast<WeatherWay>(at / n), window_days);
        },
        progress, "stations left out");
    for (std::size_t w = 0; w < ways; ++w) {
        StationSums sums;
        WayErrors errors;
        errors.way = static_cast<WeatherWay>(w);
        for (std::size_t s = 0; s < n; ++s) {
            const StationSums& one = of[w * n + s];
            errors.stations += one.told ? 1 : 0;
            sums.temperature.add(one.temperature);
            sums.dew_point.add(one.dew_point);
            sums.rain.add(one.rain);
            sums.daily_mean.add(one.daily_mean);
            sums.daily_rain.add(one.daily_rain);
            sums.warm_wet.add(one.warm_wet);
            sums.depression.add(one.depression);
        }
        errors.temperature_degc = sums.temperature.error();
        errors.dew_point_degc = sums.dew_point.error();
        errors.rain_mm = sums.rain.error();
        errors.daily_mean_degc = sums.daily_mean.error();
        errors.daily_rain_mm = sums.daily_rain.error();
        errors.warm_wet_hours = sums.warm_wet.error();
        errors.depression_degc = sums.depression.error();
        out.ways.push_back(errors);
    }
    return out;
}

}  // namespace models
