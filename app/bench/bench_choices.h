#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "models/assay/kit_lot.h"
#include "models/records.h"

namespace app {

/// What somebody who sits down at the bench can begin with, so that nothing has to be known by heart: the kit lots that
/// have not expired, the newest in use first; who tested last; and the samples of grain that wait for their result, the
/// newest first. `most` of each are named.
struct BenchChoices {
    std::vector<std::string> kit_lots, operators;
    std::vector<models::Sample> samples;
    std::size_t more_samples = 0;  ///< that wait as well
};

/// @param tests  as they count, by time. A void test is no result.
BenchChoices choices_at_bench(const std::vector<models::KitLot>& lots, const std::vector<models::Sample>& samples,
                              const std::vector<models::Test>& tests, models::LocalDay today, std::size_t most = 6);

}  // namespace app
