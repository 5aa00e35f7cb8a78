#pragma once

#include "app/workflow.h"
#include "models/disease/disease_model.h"

namespace app::commands {

/// All models as a list: what they look at, the days they need, their skill, their region and where they come from.
void print_models(bool include_unconfirmed, bool json);

/// Fields in rows and models in columns, each model's skill above.
void print_side_by_side(const RisksByModels& risks, bool json);

}  // namespace app::commands
