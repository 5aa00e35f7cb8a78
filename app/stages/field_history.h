#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"
#include "models/records.h"

namespace app {

/// One crop record of a field: what was known of it and what came of it.
struct FieldYear {
    int season = 0;
    std::string part;  ///< empty: the whole field
    models::Crop crop = models::Crop::wheat;
    std::string cultivar;
    std::optional<models::LocalDay> flowering;
    bool flowering_observed = false;
    std::optional<double> risk, risk_low, risk_high;
    std::optional<models::Content> content;  ///< by all results up to the last season that is asked for
    std::optional<double> exceedance;        ///< with a limit
    int tests = 0, load_tests = 0;           ///< valid ones of its own samples, and of its loads
    std::optional<double> severity_pct;      ///< of the visit that counts
    std::optional<models::LocalDay> scouted;
};

struct FieldHistory {
    std::string field, name, grower;
    std::optional<double> area_ha;
    std::string model;  ///< the disease model
    models::RiskKind kind = models::RiskKind::probability;
    int known_up_to = 0;           ///< the season up to which results are known
    std::vector<FieldYear> years;  ///< by season, then part
};

/// @param view      of the last season, with risks and contents of all seasons before it (Upto::contamination)
/// @param first     the first season to tell
/// @throws models::Error  the store knows no such field (the nearest are named), or it has no crop record in them
FieldHistory history_of_field(const SeasonView& view, const std::vector<models::Scouting>& scouting,
                              const std::string& field, int first);

}  // namespace app
