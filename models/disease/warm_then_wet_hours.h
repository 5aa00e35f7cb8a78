#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// Warm hours (15 to 30 degC) from seven days before flowering to the day itself, times the warm and wet ones (and at
/// least 90 %) from flowering to ten days after; the product is INT3 of De Wolf, Madden & Lipps (2003), Phytopathology
/// 93:428-435, the equation is not theirs. With x in hours squared:
///     logit p = -1.565548 + resistance + group + 0.0001153066 x
/// (very susceptible +0.7396000, moderately susceptible -0.5815497, moderately resistant -1.205587; winter wheat after
/// maize +0.8741584, spring wheat -0.0018819). Leaving one year out: AUC 0.685, Brier 0.1810.
DiseaseModel warm_then_wet_hours();

}  // namespace models
