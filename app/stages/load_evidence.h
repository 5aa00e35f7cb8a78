#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "app/stages/season_data.h"
#include "models/decision/clearing.h"

namespace app {

/// How much DON a load is taken to hold and what says so: results of its own, and those of the grain beside it.
struct LoadEvidence {
    std::optional<double> median_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg;  ///< as is; none: nothing is known
    int own_results = 0, field_results = 0;
    /// "its strip reads 0.72, but the 3 other results of its field R05 read about 2.1: together 1.4 mg/kg (90 %:
    /// 0.9 to 2.2)", without its full stop.
    std::string says;
};

/// Median and 90 % interval of the draws of the load, and beside them the medians of what was read: of its own valid
/// results, and of those of the same season from the fields that it came from (of samples of the field and of other
/// loads from it alone), all on grain as delivered. A bound stays one: where the middle one is "below 2.5", so is
/// what is said of them. "but" stands where the two lie more than a fifth apart.
/// @param draws  as is; empty: nothing is known
/// @param own    its own valid results
LoadEvidence evidence_of_load(const SeasonData& data, const models::Load& load,
                              const std::vector<models::OwnResult>& own, const Eigen::VectorXd& draws);

}  // namespace app
