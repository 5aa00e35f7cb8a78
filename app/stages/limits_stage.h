#pragma once

#include <vector>

#include "app/stages/season_data.h"

namespace app {

/// The limits of the store as somebody chooses among them.
struct LimitsToChoose {
    /// In force at the season's harvest, for food or feed of the grain that is grown: those of bins and contracts
    /// first, then those of the grain itself, then those of grain in general.
    std::vector<models::Limit> fitting;
    std::vector<models::Limit> others;  ///< the rest, as the store lists them
};

/// @param season  its crop records say which grain is meant: wheat, durum or both
LimitsToChoose limits_to_choose(const SeasonData& data, int season);

}  // namespace app
