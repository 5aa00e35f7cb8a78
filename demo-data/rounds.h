#pragma once

#include "demo-data/strips.h"
#include "demo-data/truth.h"

namespace demo {

/// What the agronomist does before the cut in the three seasons: composites of standing wheat (some by order of risk,
/// some by plan, some at random, some because they looked bad or the grower asked), second strips, controls, letters
/// from the laboratory; and in 2026 sixty and twenty-five single places in two fields.
void walk_the_fields(const Landscape& landscape, const std::vector<CropRow>& crops,
                     const std::vector<CropTruth>& truths, Bench& bench);

}  // namespace demo
