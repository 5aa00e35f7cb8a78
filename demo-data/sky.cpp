#include "demo-data/sky.h"

#include <algorithm>
#include <cmath>
#include <numbers>

#include "demo-data/counter_random.h"

namespace demo {

namespace {

using std::size_t;

constexpr int sky_hours = weather_days * 24;

/// How much the season leans to wet weather on a day; 0 is even.
double lean_to_wet(int season, int day) {
    const auto bump = [day](double middle, double width) {
        const double z = (day - middle) / width;
        return std::exp(-0.5 * z * z);
    };
    switch (season) {
        case 2024:
            return -0.05 + 0.62 * bump(58.0, 14.0) + 0.3 * bump(86.0, 6.0);  // wet from mid May into June
        case 2025:
            return -0.75 + 0.8 * bump(18.0, 6.0) + 0.5 * bump(80.0, 4.0);  // dry but for April
        default:
            return -0.27 + 1.0 * bump(19.0, 6.0) + 1.2 * bump(53.0, 5.5) - 0.8 * bump(74.0, 8.0) +
                   0.6 * bump(97.0, 4.0);
    }
}

/// How wet each day is, 0 to 1: a slow walk that leans as the season does.
std::vector<double> wetness_of_days(int season) {
    Draws draws("spells of wet and fair days", static_cast<size_t>(season));
    std::vector<double> wetness;
    double walk = draws.normal();
    for (int day = 0; day < weather_days; ++day) {
        walk = 0.66 * walk + std::sqrt(1.0 - 0.66 * 0.66) * draws.normal();
        const double z = 0.85 * walk + 1.05 * lean_to_wet(season, day) - 0.25;
        wetness.push_back(0.5 * std::erfc(-z / std::numbers::sqrt2));
    }
    return wetness;
}

std::vector<double> warmth_of_days(int season) {
    Draws draws("warm and cool days", static_cast<size_t>(season));
    std::vector<double> warmth;
    double walk = draws.normal();
    for (int day = 0; day < weather_days; ++day) {
        walk = 0.74 * walk + std::sqrt(1.0 - 0.74 * 0.74) * draws.normal();
        const double share = day / 100.0;
        const double usual = 10.3 + 11.0 * (0.5 - 0.5 * std::cos(std::numbers::pi * std::min(1.0, share * 0.97)));
        warmth.push_back(usual + 2.3 * walk);
    }
    return warmth;
}

/// Between the middles of the days in a straight line.
double at_hour(const std::vector<double>& of_days, int hour) {
    const double place = (hour - 11.5) / 24.0;
    const double clamped = std::clamp(place, 0.0, static_cast<double>(of_days.size() - 1));
    const auto day = std::min(static_cast<size_t>(clamped), of_days.size() - 2);
    const double share = clamped - static_cast<double>(day);
    return of_days[day] * (1.0 - share) + of_days[day + 1] * share;
}

/// -1 at five in the morning, +1 at three in the afternoon.
double daily_course(int hour_of_day) {
    if (hour_of_day >= 5 && hour_of_day < 15) return -std::cos(std::numbers::pi * (hour_of_day - 5) / 10.0);
    const int since = hour_of_day >= 15 ? hour_of_day - 15 : hour_of_day + 9;
    return std::cos(std::numbers::pi * since / 14.0);
}

/// Rising and falling of the rain, hour by hour: a walk of variance 1.
std::vector<double> bouts(Draws draws, double memory) {
    std::vector<double> walk;
    double value = draws.normal();
    for (int hour = 0; hour < sky_hours; ++hour) {
        value = memory * value + std::sqrt(1.0 - memory * memory) * draws.normal();
        walk.push_back(value);
    }
    return walk;
}

double round_to(double value, double step) {
    return std::round(value / step) * step;
}

/// Saturation over water: Alduchov and Eskridge 1996, J Appl Meteorol 35:601-609.
double humidity_pct(double temperature_degc, double dew_point_degc) {
    const auto exponent = [](double t) { return 17.625 * t / (243.04 + t); };
    return 100.0 * std::exp(exponent(dew_point_degc) - exponent(temperature_degc));
}

/// What a station's logger lost. Days count from 1 April, hours from local midnight.
void lose_hours(StationSeason& weather, const std::string& name) {
    const auto lose = [&](int from_day, int from_hour, int to_day, int to_hour) {
        for (int h = from_day * 24 + from_hour; h < to_day * 24 + to_hour; ++h) weather.hours[size_t(h)].logged = false;
    };
    Draws draws("hours lost", weather.station, static_cast<size_t>(weather.season));
    for (SkyHour& hour : weather.hours) hour.logged = !draws.chance(0.0025);
    if (name == "Umbrath" && weather.season == 2026) lose(59, 9, 64, 16);  // dead logger, 30 May to 4 June
    if (name == "Dorrim" && weather.season == 2024) lose(30, 14, 39, 8);   // battery, first days of May
    if (name == "Tesvorn" && weather.season == 2026) {                     // solar panel covered: dark hours missing
        for (int day = 51; day < 63; ++day) lose(day, 0, day, 5), lose(day, 22, day + 1, 0);
    }
    if (name == "Ambril" && weather.season == 2025) {  // humidity sensor stuck, 1 to 3 June
        for (int h = 61 * 24 + 3; h < 64 * 24 + 6; ++h) weather.hours[size_t(h)].shown_humidity_pct = 71.0;
    }
    if (name == "Hasveth" && weather.season == 2024) {  // rain gauge blocked by a nest
        for (int h = 70 * 24; h < 79 * 24 + 11; ++h) weather.hours[size_t(h)].rain_logged = false;
    }
}

}  // namespace

models::LocalDay first_weather_day(int season) {
    return models::day_of(season, 4, 1);
}

std::vector<StationSeason> make_weather(const std::vector<DemoStation>& stations) {
    std::vector<StationSeason> all;
    for (const int season : seasons) {
        const auto year = static_cast<size_t>(season);
        const auto wetness = wetness_of_days(season);
        const auto warmth = warmth_of_days(season);
        const auto district_bouts = bouts(Draws("bouts of rain", year), 0.86);
        for (size_t s = 0; s < stations.size(); ++s) {
            const DemoStation& station = stations[s];
            StationSeason weather{s, season, {}};
            const auto own_bouts = bouts(Draws("showers of a station", year, s), 0.6);
            Draws draws("air of a station", year, s);
            double drift_t = 0.0, drift_d = 0.0;
            for (int h = 0; h < sky_hours; ++h) {
                const double wet = at_hour(wetness, h);
                const double course = daily_course(h % 24);
                drift_t = 0.8 * drift_t + 0.4 * draws.normal();
                drift_d = 0.93 * drift_d + 0.16 * draws.normal();
                const double swing = 7.4 - 4.9 * wet;
                double t = at_hour(warmth, h) - 2.2 * (wet - 0.4) + swing * course + station.warmer_by_degc + drift_t;
                if (course < 0.0) t += station.colder_nights_by_degc * course * (1.0 - wet);
                double d = at_hour(warmth, h) - 2.2 * (wet - 0.4) - (9.6 - 8.6 * wet) + 0.6 * course +
                           station.moister_by_degc + drift_d;

                const double showers = h % 24 >= 13 && h % 24 <= 20 ? 0.25 : 0.0;
                const double bout = 0.93 * district_bouts[size_t(h)] + 0.37 * own_bouts[size_t(h)] + showers * wet;
                const double excess = bout - (2.75 - 2.45 * wet);
                double rain = 0.0;
                if (excess > 0.0 && wet > 0.18) {
                    rain = round_to(excess * -std::log(draws.uniform()) * 2.0, 0.2);
                    t -= std::min(2.2, 0.7 + 0.4 * rain);
                    d = std::max(d, t - 1.6 + 0.4 * draws.uniform());  // falling rain moistens the air
                }
                d = std::min(d, t - 0.15);  // what is too much falls as dew
                SkyHour hour{t, d, rain, 0.0, 0.0, true, true};
                hour.shown_temperature_degc = round_to(t + draws.normal(0.0, 0.1), 0.1);
                hour.shown_humidity_pct =
                    std::clamp(std::round(humidity_pct(t, d) + draws.normal(0.0, 0.8)), 8.0, 100.0);
                weather.hours.push_back(hour);
            }
            lose_hours(weather, station.station);
            all.push_back(std::move(weather));
        }
    }
    return all;
}

double mean_depression_degc(const StationSeason& weather, models::LocalDay from, models::LocalDay to) {
    const auto first = (from - first_weather_day(weather.season)).count() * 24;
    const auto last = ((to - first_weather_day(weather.season)).count() + 1) * 24;
    double sum = 0.0;
    for (auto h = first; h < last; ++h) {
        const SkyHour& hour = weather.hours[static_cast<size_t>(h)];
        sum += hour.temperature_degc - hour.dew_point_degc;
    }
    return sum / static_cast<double>(last - first);
}

}  // namespace demo
