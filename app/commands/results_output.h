#pragma once

#include <nlohmann/json_fwd.hpp>

#include "app/stages/results_stage.h"

namespace app::commands {

/// The results of a season as `lodicule results` prints them: with a limit what each grain's results mean at the
/// counter, then the table of results, then each remark once.
void print_results(const ResultsView& view);
/// The same for machines. Keys are stable.
nlohmann::ordered_json json_of_results(const ResultsView& view);

}  // namespace app::commands
