#pragma once

#include <string>
#include <vector>

#include <Eigen/Core>

#include "app/stages/bins_stage.h"

namespace app {

/// Fields that are still to be cut, as a plan ahead looks at them: by the day of their expected cut, those that say
/// none last, then by name. Their tonnes are the expected yield minus what of them was delivered. Every valid result of
/// a composite sample of the field counts as its own; those of single points have their say in the model alone. A field
/// keeps apart what its latest own load did, else its class where a bin keeps that class apart.
struct StandingGrain {
    models::WaitingGrain grain;
    std::size_t crop = 0;          ///< its record, index into SeasonData::crops
    std::size_t field_season = 0;  ///< its column among the model's draws
    double delivered_t = 0.0;      ///< of the field
    /// Of a zone: its content against the field's mean, by draw of the model. Empty: it is the field's mean.
    Eigen::VectorXd relative = {};
    bool tonnes_assumed = false;  ///< nobody wrote a yield down
    std::optional<models::LocalDay> cut;
};
std::vector<StandingGrain> standing_grain(const SeasonData& data, const ContaminationView& view, int season,
                                          const Moistures& moistures);

}  // namespace app
