#pragma once

#include "app/report/season_report.h"
#include "app/workflow.h"

namespace app {

/// A season put into the record that a buyer, an auditor or a neighbour can read.
report::SeasonReport report_of_season(const geo::Store& store, const SeasonView& view);

}  // namespace app
