#pragma once

#include <optional>
#include <vector>

#include "models/calendar.h"
#include "models/records.h"
#include "models/weather/known_weather.h"

namespace geo {

class Store;

/// The weather of a station in [from, to] as it was known at the end of a day: what it had observed, and from there on
/// what the forecasts made by then said (models/weather/known_weather.h). Without a day all that the store has.
/// @param forecasts  of the store, all of them: those that speak of the station are chosen
models::KnownHours known_weather(const Store& store, const models::Station& station,
                                 const std::vector<models::Station>& forecasts, models::LocalDay from,
                                 models::LocalDay to, const std::optional<models::LocalDay>& as_of);

}  // namespace geo
