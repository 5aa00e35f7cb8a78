#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// DON in mg/kg of winter wheat in southern Ontario, from the days around the one when half the heads are out. With R
/// and C as in rain_before_heading.h, and after heading B the days with more than 3 mm of rain of days 3 to 6, D those
/// of days 7 to 10, and H the days 3 to 6 with a maximum over 32 degC, at least 0:
///     B > 0:  content = exp(-2.15 + 2.21 R - 0.61 R^2 + 0.85 B + 0.52 D - 0.30 C - 1.10 H) - 0.1
///     B = 0:  content = exp(-0.84 + 0.78 R + 0.40 D - 0.42 C) - 0.1
/// Source as in rain_before_heading.h: Hooker, Schaafsma & Tamburic-Ilincic (2002), Plant Disease 86:611-619, the
/// coefficients from memory. Unconfirmed.
DiseaseModel rain_around_heading();

}  // namespace models
