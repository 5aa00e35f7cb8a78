#pragma once

#include "models/contamination/model_state.h"
#include "models/progress.h"

namespace models::contamination {

/// Where a season was cut into groups of near fields (near_groups.h): Learnt::groups and a note of it. At the most
/// probable of the model's points each group in turn is joined with the fields around it, the nearest to any field of
/// its own, as many again as it has tested ones; the readings are propagated anew in that law, and every field of the
/// group is compared: its median, and the width of its 90 % interval, both in mg/kg. Where the fields around are the
/// whole rest of the season that is the exact law. One group of each season is worked out at a time, of a season with
/// more than 12 groups every so manieth. The parameters are held.
void say_what_groups_cost(ContaminationModel::State& state, const Progress& progress);

}  // namespace models::contamination
