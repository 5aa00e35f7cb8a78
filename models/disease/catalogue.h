#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/disease/disease_model.h"

namespace models {

/// All models, the default one first; those whose numbers nobody confirmed only where they are asked for, at the end.
const std::vector<DiseaseModel>& disease_models(bool include_unconfirmed = false);
std::vector<std::string> model_names(bool include_unconfirmed = false);
const DiseaseModel& default_model();
/// @throws Error  no such model; the sentence names the nearest, or all of them. Or one that is unconfirmed and was not
///                asked for.
const DiseaseModel& find_model(std::string_view name, bool include_unconfirmed = false);

}  // namespace models
