#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/assay/control_chart.h"
#include "models/assay/duplicates.h"
#include "models/assay/lot_change.h"
#include "models/assay/recovery.h"

namespace app {

/// What is asked about the bench.
struct ControlQuestion {
    std::optional<int> season;  ///< the kit lots that a control was read with in it, each whole; none: all
    std::string control;        ///< one control; empty: all, and the duplicates
    models::ChartSettings charts;
    std::optional<double> repeatability_cv;  ///< stated; none: from the pairs
    std::optional<double> lot_bound;         ///< how much of a change between lots would matter, a fraction
};

/// Controls of the bench: charts and recovery of each control and kit lot, duplicates, changes between kit lots.
struct ControlView {
    std::vector<models::ControlChart> charts;     ///< by control, method and first reading
    std::vector<models::LotRecovery> recoveries;  ///< of the same, in the same order
    std::vector<models::DuplicateChart> duplicates;
    std::vector<models::RefusedDuplicate> refused_duplicates;
    std::vector<models::LotChange> lot_changes;
    std::vector<models::FailedControl> failed;  ///< of these controls and lots, by the rules asked for
    std::vector<models::RefusedControlTest> refused;
};
/// @throws models::Error  no such control; one without an assigned content; a season that the store has no records
///                        of; a setting that makes no sense
ControlView look_at_control(const SeasonData& data, const ControlQuestion& question);

}  // namespace app
