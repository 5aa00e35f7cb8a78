#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/contamination/leave_one_out.h"
#include "models/contamination/model_state.h"
#include "models/contamination/parameter_integral.h"

namespace models::contamination {

/// Chance that all checks of residuals together have of a doubt in a season that is as assumed; ours. With the effect
/// of the risk, which is judged by its posterior, 7 to 11 % of 200 simulated seasons were doubted without cause
/// (tests/bench/honesty).
inline constexpr double false_doubts = 0.10;
/// A check that had found what it is to find in less than this of all cases tells nothing where it finds nothing; ours.
inline constexpr double enough_chance_to_find = 0.8;

/// The list of assumptions and what the results of the newest season say of each (doubts.h). Six are conditions of the
/// data (where samples, weather and dates come from, what compares a kit lot), one is a posterior (the effect of the
/// risk: doubted where its 90 % interval holds none at all and leaves the published one out, followed where it is above
/// none and the results alone, without what is published, say so with the same chance), five are checks of what
/// the model leaves over, their chances taken together (residual_checks.h). Needs a result in some season.
std::vector<Doubt> find_doubts(const ContaminationModel::State& state, const ParameterIntegral& found,
                               const LeftOut& left);

/// Those that are conditions of the data: kit lots, stage, reason, weather, increments.
std::vector<Doubt> doubts_of_data(const ContaminationModel::State& state, const ParameterIntegral& found);

/// The newest season of the input, and its field-seasons.
std::vector<std::size_t> fields_of_newest_season(const Layout& layout);

}  // namespace models::contamination
