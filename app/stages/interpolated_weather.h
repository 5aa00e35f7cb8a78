#pragma once

#include <memory>

#include "app/stages/field_weather.h"
#include "models/weather/interpolation.h"

namespace app {

/// Weather of a field from several stations around it, by distance or by kriging (models/weather/interpolation.h): each
/// outline is a source of its own, at its middle and elevation, and there are no others to fall back on, for a gap of
/// one station is bridged by the rest. The stations that speak in the season are read together and once, in all its
/// days (weather_days_of); days before those are missing. Weather stations are averaged with weather stations alone;
/// cells of a grid, with one another, speak only where no weather station does. A single station speaks alone, whatever
/// the way. Without an outline nothing is near; none_because says how far the nearest station is where all stand too
/// far away.
/// @param settings  the way must not be `nearest`: that is nearest_stations
/// @param store, data  outlive it
/// @throws models::Error  a power, number or reach that is none
std::unique_ptr<FieldWeather> interpolated_weather(const geo::Store& store, const SeasonData& data, int season,
                                                   const models::InterpolationSettings& settings,
                                                   const std::optional<models::LocalDay>& as_of = {});

}  // namespace app
