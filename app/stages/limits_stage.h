#pragma once

#include <optional>
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

/// The limit that speaks of a grain where the one that everything is judged by does not: one number is asked for, and a
/// field of durum among wheat has another in most rules. A limit that is given by hand is taken to be meant for the
/// grain that most crop records of the season are of.
/// @param asked  by which all fields are judged
/// @return  in force at the season's harvest, for the same purpose, on the same basis, the nearest of limits_to_choose;
///   nullopt where `asked` speaks of that grain itself or of cereals, where there is none, or it is the same number
std::optional<models::Limit> limit_of_grain(const SeasonData& data, int season, const models::Limit& asked,
                                            models::Crop crop);

}  // namespace app
