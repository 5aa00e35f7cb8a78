#pragma once

#include <string>
#include <vector>

#include "app/workflow.h"

namespace app {

/// Where the disease risks of a season are extrapolated: weather, crop or region that the model's data do not hold.
/// What holds for many fields is said once for them.
struct Extrapolations {
    /// "All 36 disease risks are extrapolated: outside the region of the model's data (17 states of the USA,
    /// 1982-2015)", "2 of 36 disease risks are extrapolated (Long Acre; Mill Piece): durum, and the model's data hold
    /// common wheat". Fields without a risk are not counted. Empty where nothing is extrapolated.
    std::vector<std::string> sentences;
    std::vector<std::string> of_all;  ///< the reasons that hold for every field

    /// The reasons of one field that do not hold for all, for its own row; empty where there are none.
    std::string beside(const models::DiseaseRisk& risk) const;
    std::vector<std::string> each_beside(const models::DiseaseRisk& risk) const;  ///< the same one by one
};
Extrapolations extrapolations_of(const SeasonView& view);

/// All reasons of one field, for where it stands alone; empty where it is not extrapolated.
std::string extrapolation_in_words(const models::DiseaseRisk& risk);

}  // namespace app
