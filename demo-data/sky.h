#pragma once

#include <array>
#include <string>
#include <vector>

#include "demo-data/landscape.h"
#include "models/calendar.h"

namespace demo {

constexpr std::array<int, 3> seasons = {2024, 2025, 2026};  ///< wet, dry, and wet early then dry
constexpr int first_season = seasons.front();
constexpr int weather_days = 101;  ///< 1 April to 10 July
constexpr std::chrono::minutes clock_offset{120};

/// What the air at a station was, and what its logger made of it.
struct SkyHour {
    double temperature_degc = 0.0;
    double dew_point_degc = 0.0;
    double rain_mm = 0.0;
    double shown_temperature_degc = 0.0;  ///< as logged: rounded, or stuck
    double shown_humidity_pct = 0.0;
    bool logged = true;  ///< false: no row
    bool rain_logged = true;
};

/// One station in one season, hour by hour from 1 April, local midnight.
struct StationSeason {
    std::size_t station = 0;
    int season = 0;
    std::vector<SkyHour> hours;
};

/// The weather of all stations and seasons: spells of wet and fair days shared by the district, the daily course of
/// warmth, dew point of the air mass, rain in bouts that make the air moist, showers of a station's own. Then the
/// gaps: a logger dead for some days, a sensor stuck, nights missing, a rain gauge blocked, single hours lost.
std::vector<StationSeason> make_weather(const std::vector<DemoStation>& stations);

/// Mean of temperature less dew point over the days [from, to], both included, as it truly was.
double mean_depression_degc(const StationSeason& weather, models::LocalDay from, models::LocalDay to);

models::LocalDay first_weather_day(int season);

}  // namespace demo
