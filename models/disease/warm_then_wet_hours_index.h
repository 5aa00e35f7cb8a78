#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// Warm hours before flowering times warm and wet hours after it as an index. With x = product / 18984, held between 0
/// and 1.2:
///     index = 1 / (1 + exp(3.7251 - 10.5097 x))
/// Windows and hours as in warm_then_wet_hours.h; source of the coefficients as in warm_wet_hours_index.h (INT3 there).
/// The scale is a guess, 168 h x 113 h, that nothing confirms; fitted to 55 early field-years it is 24 600.
/// Unconfirmed.
DiseaseModel warm_then_wet_hours_index();

}  // namespace models
