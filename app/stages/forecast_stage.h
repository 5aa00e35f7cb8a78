#pragma once

#include <vector>

#include "app/workflow.h"
#include "geo/store/kept_forecasts.h"

namespace app {

/// What the program says now of each field of the season and its limit, to be kept in the store and held against what
/// is found later; of a view as of a past day what it would have said then, marked as such. Fields without a number are
/// left out: a ranking foretells nothing.
/// @throws models::Error  the view has no limit, or hindsight is in it: that is no forecast
std::vector<geo::KeptForecast> forecasts_of(const SeasonView& view, bool hindsight);

}  // namespace app
