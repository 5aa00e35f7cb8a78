#pragma once

#include <string>
#include <vector>

#include "app/report/season_report.h"

namespace app::report {

/// All that the page of a season says, for programs: the same numbers and sentences under stable keys, units in the
/// names of the keys, codes as the tables write them (stage "truck", basis "pct12"). Figures are named by their titles;
/// what they show stands in the tables. UTF-8, two spaces deep; the same report gives the same bytes.
///
///   {season, store, program, limit:{words, source, confirmed, limit_mg_per_kg, basis}, hindsight, ranking_only,
///    load_cap, disease_risk:{model, source, holds_for, extrapolated:[]}, structure_sentence, what_next:[], notes:[],
///    fields:[{field, tests, median_mg_per_kg, .., exceedance, disease_risk, ..}],
///    tests:[{test, time, sample, .., reading, don_mg_per_kg, .., over_limit, corrected}], controls_outside:[],
///    loads:[{load, .., state, reason, bin, is_there, waits}],
///    bins:[{bin, content_t, .., exceedance, rejection_probability}], chain:{records, last_sha256, unbroken, detail},
///    cautions:[], figures:[], files:[]}
/// @param files  what was written, at the end under `files`
std::string season_report_json(const SeasonReport& report, const std::vector<std::string>& files);

}  // namespace app::report
