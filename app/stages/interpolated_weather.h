#pragma once

#include <memory>

#include "app/stages/field_weather.h"
#include "models/weather/interpolation.h"

namespace app {

/// Weather of a field from several stations around it, by distance or by kriging (models/weather/interpolation.h): each
/// outline is a source of its own, at its middle and elevation, and there are no others to fall back on, for a gap of
/// one station is bridged by the rest. A season's stations are read together and once: all hours of the year in which
/// the days asked for end, and of the year before, so that the answer does not depend on what was asked earlier. Days
/// before those two years are missing. Weather stations are averaged with weather stations alone; cells of a grid, with
/// one another, speak only where the store has no weather station. Without an outline nothing is near; none_because
/// says how far the nearest station is where all stand too far away.
/// @param settings  the way must not be `nearest`: that is nearest_stations
/// @param store, data  outlive it
/// @throws models::Error  (from days) kriging of fewer than two stations; from here, a power, number or reach that is
///                        none
std::unique_ptr<FieldWeather> interpolated_weather(const geo::Store& store, const SeasonData& data,
                                                   const models::InterpolationSettings& settings,
                                                   const std::optional<models::LocalDay>& as_of = {});

}  // namespace app
