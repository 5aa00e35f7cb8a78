#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/assay/error_variance.h"
#include "models/assay/variance_components.h"

namespace app {

/// The errors that results are taken to have: published ones, or what the store's own duplicates tell in their place.
struct ErrorsInUse {
    models::ErrorModel strip;
    models::ErrorModel laboratory{.analysis_by_horwitz = true};
    std::optional<models::VarianceComponents> own;  ///< of the store's duplicates, where they were asked for
    std::vector<std::string> notes;                 ///< what they tell, sentences without their full stop
};

/// @param own_duplicates  a step that the duplicates of the store tell replaces the published one, at every content. A
///   laboratory grinds and reads by itself, so that of a laboratory only the sampling does
/// @throws models::Error  own duplicates are asked for and there are none, or they tell nothing
ErrorsInUse errors_in_use(const SeasonData& data, bool own_duplicates);

}  // namespace app
