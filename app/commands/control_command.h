#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule control`: charts of controls for each kit lot, recovery, duplicates, changes between kit lots. JSON keys:
///   {season, charts:[{control, method, kit_lot, assigned_mg_per_kg, readings_a_point, logarithm, says, limits:
///    {centre_mg_per_kg, low_3sd_mg_per_kg, high_3sd_mg_per_kg, reading_sd, range_high, points, provisional}, points:
///    [{tests, time, reading, don_mg_per_kg, sds, range, sets_limits, outside_bounds, broken_rules:[{rule, words}]}]}],
///    recovery:[{control, kit_lot, mean_pct, low90_pct, high90_pct, holds_all, says, readings:[{test, recovery_pct,
///    standard_uncertainty_from_assigned_pct}]}], duplicates:[{what, says, repeatability_cv_pct, limit_pct, pairs:[]}],
///    refused_duplicates:[], lot_changes:[{of, old_lot, new_lot, change_pct, low90_pct, high90_pct, outcome, says}],
///    marks:[], refused:[], files:[]}
/// reading_sd, range and range_high are on the logarithm where `logarithm` is true, else in mg/kg.
Command make_control_command();

}  // namespace app::commands
