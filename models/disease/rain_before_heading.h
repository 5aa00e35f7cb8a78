#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// DON in mg/kg of winter wheat in southern Ontario, from the days before half the heads are out. With R the days with
/// more than 5 mm of rain and C those with a minimum under 10 degC, both 7 to 4 days before heading:
///     content = exp(-0.30 + 1.84 R - 0.43 R^2 - 0.56 C) - 0.1, at least 0
/// After Hooker, Schaafsma & Tamburic-Ilincic (2002), Using weather variables pre- and post-heading to predict
/// deoxynivalenol content in winter wheat, Plant Disease 86:611-619: days and variables as in its abstract, the
/// coefficients from memory. Unconfirmed. It knows no cultivar and no residue.
DiseaseModel rain_before_heading();

}  // namespace models
