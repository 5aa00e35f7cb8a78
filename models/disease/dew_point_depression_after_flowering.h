#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// The mean of temperature less dew point from flowering to ten days after it. With x in degC:
///     logit p = 1.010430 + resistance + group - 0.3712351 x
/// (very susceptible +0.7391417, moderately susceptible -0.5070586, moderately resistant -1.103216; winter wheat after
/// maize +0.9295611, spring wheat +0.0809794). Leaving one year out: AUC 0.708, Brier 0.1768.
DiseaseModel dew_point_depression_after_flowering();

}  // namespace models
