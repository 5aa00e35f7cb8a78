#pragma once

#include <vector>

#include "models/progress.h"
#include "models/weather/interpolation.h"

namespace models {

/// How far estimates were from what was measured, estimate less measurement.
struct ErrorOf {
    long long counted = 0;
    double mean_error = 0.0;  ///< 0 where nothing was counted
    double rmse = 0.0;
};

/// One way of bringing weather to a place, tried on the stations: each was left out in turn and told from the others.
struct WayErrors {
    WeatherWay way = WeatherWay::nearest;
    int stations = 0;          ///< that others within reach could tell anything of
    ErrorOf temperature_degc;  ///< of an hour
    ErrorOf dew_point_degc;    ///< of an hour
    ErrorOf rain_mm;           ///< of an hour
    ErrorOf daily_mean_degc;   ///< of days of 18 hours or more that both have
    ErrorOf daily_rain_mm;     ///< of days of 20 hours or more that both have
    ErrorOf warm_wet_hours;    ///< of a window: hours of 15 to 30 degC and at least 90 %
    ErrorOf depression_degc;   ///< of a window: mean of temperature less dew point
};

struct LeaveOneOut {
    std::vector<WayErrors> ways;  ///< nearest, distance, kriging
    int window_days = 0;          ///< windows lie end to end from the first day on
};

/// What each way would have made of every station's hours, had it not been there. A window counts where both have 90 %
/// of its hours, and the hours that both have are compared. The variograms and the elevation course are those of all
/// stations: leaving each out of them, too, would change little.
/// A field is nearer to its stations than these are to one another, so its errors are smaller in most cases.
/// @param network      made for kriging; with another way only the ways up to that one are tried
/// @param window_days  of the disease model that the weather is for
LeaveOneOut leave_stations_out(const StationNetwork& network, int window_days, int threads = 0,
                               const Progress& progress = {});

}  // namespace models
