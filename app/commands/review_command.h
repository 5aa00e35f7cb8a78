#pragma once

#include "app/command_line.h"

namespace app::commands {

/// `lodicule review`: what past seasons teach. JSON keys, those of severity first:
///   {seasons, model, kind, limit_mg_per_kg, n, diseased, auc, auc_low, auc_high (DeLong, over these fields),
///    auc_within_seasons, auc_over_seasons:{value, standard_error, low95, high95, not_told, without:[{season, value}]},
///    brier, reliability, resolution, uncertainty, within_groups, table:[{predicted, observed, n}],
///    brier_over_seasons, skill (against the share of the other seasons), skill_over_seasons, by_season:[{season, n,
///    diseased, mean_predicted, auc, brier}], local_calibration:{offered, reason, intercept, slope, prior,
///    brier_published, brier_local, gain_standard_error, without:[]}, scouting:{visits, fields, notes:[]},
///    don:{n, over, auc, auc_low, auc_high, auc_within_seasons, auc_over_seasons, notes:[]}, models:[{model, kind, n,
///    auc, auc_low, auc_high, brier, skill, don_n, don_auc}], forecasts:{kept, of_other_limits, followed,
///    classes:[{own_results_known, n, brier, .., table, brier_as_read, skill, seasons:[{season, n, over,
///    mean_exceedance, brier, intervals, inside90, intervals_with_error, inside90_with_error}], fields:[{season, field,
///    made, exceedance, test, time, reading, don_mg_per_kg, over, chance_read_over, ..}]}]}, strips:[{season, strips,
///    laboratory, void, controls, samples, money, fields_compared, came_within_cap, left_cap, ..}], load_cap, files:[]}
/// With --field: {field, name, grower, area_ha, model, results_known_up_to, limit_mg_per_kg, seasons:[{season, part,
///    crop, cultivar, flowering_day, risk, median_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg, exceedance, tests,
///    load_tests, severity_pct, scouted_day, ..}]}
/// What cannot be told is null.
Command make_review_command();

}  // namespace app::commands
