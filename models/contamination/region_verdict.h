#pragma once

#include "models/contamination/model_state.h"
#include "models/contamination/parameter_integral.h"

namespace models::contamination {

/// Whether near fields are alike: Learnt::Region, with a note where their range cannot be told. The evidence ratio is
/// that of the whole model against the same one without a regional effect, each integrated over its parameters (at
/// fixed parameters: of those). Supported from 3 to 1 on, and only where results are not foretold worse with a regional
/// effect than without; both thresholds are ours.
/// Source: Kass & Raftery (1995), J Am Stat Assoc 90, 773-795 (3 to 1: "positive" evidence).
void judge_region(ContaminationModel::State& state, const ParameterIntegral& with, const Progress& progress);

/// The verdict in the language that is spoken. A fit may be older than that: region.sentence is in the language of
/// then.
std::string sentence_of(const Learnt::Region& region);

}  // namespace models::contamination
