#pragma once

#include <string>
#include <vector>

#include "app/commands/krige_targets.h"
#include "app/commands/point_columns.h"
#include "models/progress.h"
#include "models/spatial/kriging.h"
#include "models/spatial/variogram_fit.h"

namespace app::commands {

/// What a mean over shapes cannot be asked together with, and where it may go.
/// @throws models::Error  in the words of the options
void check_areas_request(const KrigeRequest& request);

/// Means over the areas or along the lines of a vector file or a table of corners, into a table or a vector file.
int run_areas(const KrigeRequest& request, const PointSet& points, const std::vector<std::string>& drift,
              const models::KrigingSettings& settings, const models::VariogramFit& fit,
              const models::Progress& progress);

}  // namespace app::commands
