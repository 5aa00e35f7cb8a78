#pragma once

#include <string>
#include <string_view>
#include <vector>

#include "models/disease/disease_model.h"

namespace models {

/// All models, the default one first.
const std::vector<DiseaseModel>& disease_models();
std::vector<std::string> model_names();
const DiseaseModel& default_model();
/// @throws Error  no such model; the sentence names the nearest, or all of them
const DiseaseModel& find_model(std::string_view name);

}  // namespace models
