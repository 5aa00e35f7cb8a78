#pragma once

#include <vector>

#include "models/contamination/contamination.h"
#include "models/contamination/layout.h"
#include "models/contamination/normal_mixture.h"
#include "models/contamination/point_posterior.h"

namespace models {

/// What a fitted model consists of: the layout of its input and the posterior at each value of the covariance
/// parameters that has weight.
struct ContaminationModel::State {
    State(const ContaminationInput& input, const ContaminationPriors& priors, const ContaminationSettings& settings)
        : layout(input, priors, settings) {}
    contamination::Layout layout;
    contamination::Linearisation linearisation;
    std::vector<contamination::PointPosterior> points;  ///< those with weight; weights add up to 1
    /// Laws of the loads at each point, by point and load, where covariances are not kept.
    std::vector<std::vector<contamination::NormalMixture>> loads_of_point;
    double enough_effective = 0.0;  ///< number of points that the averages were to reach
    Learnt learnt;
};

namespace contamination {

NormalMixture field_mixture(const ContaminationModel::State& state, std::size_t field_season);
NormalMixture load_mixture(const ContaminationModel::State& state, std::size_t load);
/// A column's coefficient, on the log scale.
NormalMixture column_mixture(const ContaminationModel::State& state, int column);

/// Which draws are made at which point: picked by a shifted radical inverse, so that any first part of the draws covers
/// the points evenly by their weights.
std::vector<std::vector<int>> draws_of_points(const ContaminationModel::State& state, int n, std::uint64_t seed);

/// Fills `learnt` from the points: parameters, seasons, ratios, and notes on how they were averaged.
void say_what_was_learnt(ContaminationModel::State& state);

}  // namespace contamination
}  // namespace models
