#pragma once

#include <string>

#include <nlohmann/json_fwd.hpp>

#include "app/stages/split_stage.h"

namespace app::commands {

/// Zones of split fields as tables with what they are worth, why others are cut as one, and all of it as JSON.
std::string split_text(const SplitsOfSeason& splits);
nlohmann::ordered_json split_json(const SplitsOfSeason& splits);

}  // namespace app::commands
