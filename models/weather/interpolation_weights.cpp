#include <cassert>
#include <cmath>

#include <Eigen/Dense>

#include "models/weather/interpolation.h"

namespace models {

namespace {

constexpr int most_places = 16;
using SmallMatrix = Eigen::Matrix<double, Eigen::Dynamic, Eigen::Dynamic, 0, most_places + 1, most_places + 1>;
using SmallVector = Eigen::Matrix<double, Eigen::Dynamic, 1, 0, most_places + 1, 1>;

}  // namespace

std::vector<double> ordinary_kriging_weights(const VariogramModel& model, const std::vector<PointM>& places,
                                             const PointM& place) {
    assert(!places.empty() && places.size() <= most_places);
    const auto n = static_cast<Eigen::Index>(places.size());
    SmallMatrix system = SmallMatrix::Zero(n + 1, n + 1);
    SmallVector target(n + 1);
    bool apart = true;
    for (Eigen::Index i = 0; i < n; ++i) {
        const PointM& at = places[static_cast<std::size_t>(i)];
        for (Eigen::Index j = 0; j < i; ++j) {
            const PointM& other = places[static_cast<std::size_t>(j)];
            system(i, j) = system(j, i) = model.semivariance(at.x_m - other.x_m, at.y_m - other.y_m);
            if (at == other) apart = false;
        }
        target(i) = model.semivariance(at.x_m - place.x_m, at.y_m - place.y_m);
    }
    // The row of the constant in the size of the others: the system is solved in rounding of one size.
    const double size = std::max(system.maxCoeff(), target.head(n).maxCoeff());
    if (!(size > 0.0)) return std::vector<double>(places.size(), 1.0 / static_cast<double>(n));
    system.row(n).head(n).setConstant(size);
    system.col(n).head(n).setConstant(size);
    target(n) = size;
    // Two stations at one place make it singular; the shortest solution shares their weight.
    const SmallVector solved = apart ? SmallVector(system.partialPivLu().solve(target))
                                     : SmallVector(system.completeOrthogonalDecomposition().solve(target));
    return {solved.data(), solved.data() + n};
}

std::vector<double> inverse_distance_weights(double power, const std::vector<PointM>& places, const PointM& place) {
    std::vector<double> weights(places.size(), 0.0);
    double sum = 0.0;
    for (std::size_t k = 0; k < places.size(); ++k) {
        const double away_m = distance_m(places[k], place);
        if (away_m == 0.0) {
            std::fill(weights.begin(), weights.end(), 0.0);
            weights[k] = 1.0;
            return weights;
        }
        weights[k] = std::pow(away_m, -power);
        sum += weights[k];
    }
    for (double& weight : weights) weight /= sum;
    return weights;
}

}  // namespace models
