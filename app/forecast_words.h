#pragma once

#include <string>
#include <vector>

#include "app/stages/forecast_review.h"

namespace app {

/// Whether the forecasts were any good, in plain sentences for whoever never heard of a score: of so many fields so
/// many came out on the side of the limit that was foretold, what the chances add up to, how often the lowest and the
/// highest ones came true. A paragraph for each kind of forecast that there is (forecasts_in_short); where there is
/// none, why. The same in the window and under the command `review`.
std::vector<std::string> forecasts_in_words(const ForecastReview& review);

}  // namespace app
