#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// The mean relative humidity from seven days before flowering to the day itself; it needs no weather after flowering.
/// With x in percent:
///     logit p = -5.843212 + resistance + group + 0.06830215 x
/// (very susceptible +0.6337341, moderately susceptible -0.5491025, moderately resistant -1.168775; winter wheat after
/// maize +0.7188365, spring wheat +0.0325025). Leaving one year out: AUC 0.706, Brier 0.1783.
DiseaseModel humidity_before_flowering();

}  // namespace models
