#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// The hours of 15 to 30 degC with a humidity of at least 90 % (both included) from flowering to ten days after it; the
/// count is TRH9010 of De Wolf, Madden & Lipps (2003), Phytopathology 93:428-435, the equation is not theirs. x in
/// hours:
///     logit p = -1.651340 + resistance + group + 0.01775268 x
/// (very susceptible +0.7414358, moderately susceptible -0.5658126, moderately resistant -1.186852; winter wheat after
/// maize +0.8656005, spring wheat +0.1010478). Leaving one year out: AUC 0.686, Brier 0.1808.
DiseaseModel warm_wet_hours_after_flowering();

}  // namespace models
