#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// What is known without any weather: resistance, wheat type and maize residue. What the other refits must beat.
///     logit p = -1.067617 + resistance + group
/// (very susceptible +0.6908573, moderately susceptible -0.5430653, moderately resistant -1.222619; winter wheat after
/// maize +0.9045618, spring wheat +0.0822067). Leaving one year out: AUC 0.641, Brier 0.1866.
DiseaseModel cultivar_and_residue();

}  // namespace models
