#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// The mean relative humidity from ten days before flowering to ten days after it. With x in percent:
///     logit p = -9.446708 + resistance + group + 0.1175096 x
/// (very susceptible +0.7014351, moderately susceptible -0.5200232, moderately resistant -1.095426; winter wheat after
/// maize +0.7658499, spring wheat +0.0554881). Leaving one year out: AUC 0.727, Brier 0.1743. A sensor that reads 2
/// points too high moves the logit by 0.235.
DiseaseModel humidity_around_flowering();

}  // namespace models
