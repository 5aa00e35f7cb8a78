#pragma once

#include <string>

#include "app/workflow.h"

namespace app::commands {

/// "2007-2026", or one season.
/// @throws models::Error  neither, or the last before the first
SeasonRange season_range(const std::string& text);

/// For each model fields in rows and seasons in columns.
void print_seasons(const SeasonsSideBySide& view);
/// {seasons, how, models, fields:[{field, seasons:[{season, crop, flowering_day, risks:[{model, value, low, high,
/// ...}]}]}], notes}
void print_seasons_json(const SeasonsSideBySide& view);

}  // namespace app::commands
