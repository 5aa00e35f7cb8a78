#pragma once

#include <string>
#include <vector>

#include <nlohmann/json.hpp>

#include "app/stages/round_stage.h"
#include "app/stages/walk_stage.h"
#include "app/workflow.h"

namespace app::commands {

/// What `first` says: the order of tests, the round through them and the walks in their fields, as tables and as JSON.
nlohmann::ordered_json json_of_order(const SeasonView& view);
void print_order(const SeasonView& view, int tests);

nlohmann::ordered_json json_of_round(const SeasonView& view, const RoundOfTests& round);
void print_round(const SeasonView& view, const RoundOfTests& round, const RoundSettings& settings);

nlohmann::ordered_json json_of_walks(const SeasonView& view, const FieldWalks& walks,
                                     const std::vector<std::string>& files);
void print_walks(const FieldWalks& walks, const std::vector<std::string>& files, const std::string& folder);

}  // namespace app::commands
