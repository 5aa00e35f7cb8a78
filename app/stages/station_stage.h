#pragma once

#include <array>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/disease/disease_model.h"
#include "models/progress.h"
#include "models/weather/leave_one_out.h"
#include "models/weather/neighbour_check.h"

namespace app {

struct StationSettings {
    std::string model;  ///< whose weeks and windows count; empty: the default one
    bool include_unconfirmed = false;
    models::InterpolationSettings ways;  ///< power, number of stations and reach; `way` is set here
    int threads = 0;
};

/// One station in one season.
struct StationReport {
    long long hours = 0;                            ///< of the season with a temperature
    std::optional<double> coverage;                 ///< 0 to 1 of the hours of the weeks that matter; none: no weeks
    std::optional<double> nearest_m;                ///< to the next station with hours
    int neighbours = 0;                             ///< that could speak about it
    std::string not_judged;                         ///< why they could not; empty where they did
    std::vector<models::WeatherFlag> flags;         ///< its own and its neighbours', in the order of hours
    std::array<int, models::flag_kinds> of_kind{};  ///< how many of each
};

/// The stations of a season: what is odd about their hours, and what each way of bringing weather to a field would make
/// of it. Nothing is left out or changed for a flag.
struct StationsView {
    int season = 0;
    std::string model, model_title;
    std::optional<models::DayWindow>
        weeks;  ///< of all crops of the season whose flowering (or heading) is known, three
                ///< days about it, as far as the model asks; none where no date is known
    std::vector<models::StationWeather> stations;  ///< by name
    std::vector<StationReport> reports;            ///< one a station
    models::LeaveOneOut errors;                    ///< no ways where none can be tried
    models::ElevationCourse elevation;
    std::vector<std::string> notes;  ///< what cannot be told and why; sentences without their full stop
};
StationsView stations_of_season(const geo::Store& store, const SeasonData& data, int season,
                                const StationSettings& settings, const models::Progress& progress = {});

/// The hours of all stations (of a store with grid cells alone, of those) in some days, at their places: what brings
/// weather to fields (models/weather/interpolation). In a store without outlines the places are those of a flat system
/// around the stations.
std::vector<models::StationWeather> weather_of_stations(const geo::Store& store, const SeasonData& data,
                                                        const models::DayWindow& days,
                                                        const models::Progress& progress = {});

}  // namespace app
