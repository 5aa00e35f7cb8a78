#pragma once

#include <cstddef>
#include <map>
#include <string>
#include <vector>

#include "models/assay/control_check.h"
#include "models/assay/kit_lot.h"
#include "models/records.h"

namespace app {

/// What somebody who sits down at the bench can begin with, so that nothing has to be known by heart: the kit lots that
/// have not expired, the newest in use first; who tested last; and the samples of grain that wait for their result, the
/// newest first. `most` of each are named.
struct BenchChoices {
    std::vector<std::string> kit_lots, operators;
    /// Kit lots, named here or not, of which the last control failed: "its last control, C1, failed on 2026-07-14".
    std::map<std::string, std::string> failed_lots;
    std::vector<models::Sample> samples;
    std::size_t more_samples = 0;  ///< that wait as well
};

/// @param tests   as they count, by time. A void test is no result.
/// @param failed  controls of strips that failed (models/assay/control_check.h)
BenchChoices choices_at_bench(const std::vector<models::KitLot>& lots, const std::vector<models::Sample>& samples,
                              const std::vector<models::Test>& tests, const std::vector<models::FailedControl>& failed,
                              models::LocalDay today, std::size_t most = 6);

}  // namespace app
