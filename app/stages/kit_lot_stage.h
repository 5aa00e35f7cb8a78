#pragma once

#include <map>
#include <string>

#include "app/stages/season_data.h"
#include "models/assay/error_variance.h"
#include "models/assay/kit_lot_effect.h"

namespace app {

/// How far each kit lot of the store reads from the truth, by every strip of it that stands beside a laboratory's
/// result of the same sample or read a control of known content; by the name of the lot. A lot without either has what
/// the prior says of any lot. Readings below or above the range are not compared: they have no number.
std::map<std::string, models::KitLotEffect> kit_lot_effects(const SeasonData& data, const models::ErrorModel& strips,
                                                            const models::ErrorModel& laboratories, double prior_sd);

}  // namespace app
