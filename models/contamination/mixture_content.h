#pragma once

#include "models/contamination/contamination.h"
#include "models/contamination/normal_mixture.h"

namespace models::contamination {

/// Median, mean and intervals on the mg/kg scale of a mixture of laws of ln content.
Content content_of(const NormalMixture& mixture);
/// P(content > limit), so that a small one keeps its digits; for a limit of nothing, that there is any.
double share_over(const NormalMixture& mixture, double limit_mg_per_kg);

}  // namespace models::contamination
