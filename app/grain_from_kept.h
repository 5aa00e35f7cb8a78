#pragma once

#include "app/workflow.h"

namespace app {

/// look_at_season_from_kept where every load in the bins is drawn, too: for lots that are sold from them.
SeasonView look_at_all_grain_from_kept(const geo::Store& store, const Question& question,
                                       const models::Progress& progress = {});

}  // namespace app
