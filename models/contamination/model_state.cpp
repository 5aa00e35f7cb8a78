#include "models/contamination/model_state.h"

#include <cmath>

#include "models/contamination/fields_without_don.h"

namespace models::contamination {

using State = ContaminationModel::State;

namespace {

/// One law at every point, mixed by the points' weights.
template <typename LawAtPoint>
NormalMixture mixture_of(const State& state, const LawAtPoint& law_at) {
    NormalMixture mixture;
    for (const PointPosterior& point : state.points) {
        const LogLaw law = law_at(point);
        mixture.add(point.weight, law.mean, std::sqrt(law.variance));
    }
    return mixture;
}

}  // namespace

NormalMixture field_mixture(const State& state, std::size_t field_season) {
    NormalMixture mixture;
    for (const PointPosterior& point : state.points) {
        const LogLaw law = field_law(state.layout, state.linearisation, point, field_season);
        const ToGivenDon to = to_given_don(state.layout, point, field_season);
        const double none = chance_without_don(state.layout, point, field_season);
        mixture.none += point.weight * none;
        mixture.add(point.weight * (1.0 - none), to.add + to.times * law.mean, to.times * std::sqrt(law.variance));
    }
    return mixture;
}

NormalMixture load_mixture(const State& state, std::size_t load) {
    NormalMixture mixture;
    for (std::size_t k = 0; k < state.points.size(); ++k) {
        const PointPosterior& point = state.points[k];
        if (state.loads_of_point.empty()) {
            add_load_law(state.layout, state.linearisation, point, load, point.weight, mixture);
            continue;
        }
        const NormalMixture& kept = state.loads_of_point[k][load];
        for (std::size_t i = 0; i < kept.weight.size(); ++i)
            mixture.add(point.weight * kept.weight[i], kept.mean[i], kept.sd[i]);
        mixture.none += point.weight * kept.none;
    }
    return mixture;
}

NormalMixture column_mixture(const State& state, int column) {
    return mixture_of(state, [&](const PointPosterior& point) {
        Eigen::VectorXd unit = Eigen::VectorXd::Zero(point.beta.size());
        unit[column] = point.column_scale[column];
        point.beta_factor.triangularView<Eigen::Lower>().solveInPlace(unit);
        return LogLaw{point.column_scale[column] * point.beta[column], unit.squaredNorm()};
    });
}

}  // namespace models::contamination
