#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// The mean of temperature less dew point from ten days before flowering to ten days after it. With x in degC:
///     logit p = 1.903244 + resistance + group - 0.5009485 x
/// (very susceptible +0.6944069, moderately susceptible -0.5089622, moderately resistant -1.086868; winter wheat after
/// maize +0.7662684, spring wheat +0.0610538). Leaving one year out: AUC 0.730, Brier 0.1733. Best of the single means.
DiseaseModel dew_point_depression();

}  // namespace models
