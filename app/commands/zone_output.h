#pragma once

#include <string>

#include <nlohmann/json_fwd.hpp>

#include "app/stages/zone_stage.h"

namespace app::commands {

/// Contents of zones as a table with what it rests on, and as JSON.
std::string zones_text(const ZonesOfSeason& zones);
nlohmann::ordered_json zones_json(const ZonesOfSeason& zones);

}  // namespace app::commands
