#include "models/spatial/variogram_map.h"

#include <cmath>

#include <Eigen/QR>
#include <fmt/format.h>

#include "models/error.h"
#include "models/spatial/whitening.h"

namespace models {

std::vector<VariogramMapCell> variogram_map(const Eigen::MatrixX2d& positions_m, const Eigen::VectorXd& values,
                                            double cutoff_m, double width_m, const Progress& progress) {
    if (positions_m.rows() != values.size()) {
        throw Error(fmt::format("there are {} places but {} values", positions_m.rows(), values.size()));
    }
    if (values.size() < 2) throw Error("a variogram compares pairs of points", "", "give at least two points");
    if (!positions_m.allFinite() || !values.allFinite()) {
        throw Error("value or place is no finite number", "", "leave such points out");
    }
    if (!(cutoff_m > 0.0) || !(width_m > 0.0) || !std::isfinite(cutoff_m) || !std::isfinite(width_m)) {
        throw Error(fmt::format("the cutoff is {} and the width {}; both must be greater than 0", cutoff_m, width_m));
    }
    if (cutoff_m / width_m > 500.0) {
        throw Error("more than a million squares are asked for", "", "give a larger width");
    }
    const int half = static_cast<int>(std::ceil(cutoff_m / width_m - 1e-9)), side = 2 * half + 1;
    Eigen::MatrixXd sums = Eigen::MatrixXd::Zero(side, side);
    Eigen::Matrix<long long, Eigen::Dynamic, Eigen::Dynamic> pairs =
        Eigen::Matrix<long long, Eigen::Dynamic, Eigen::Dynamic>::Zero(side, side);
    for (Eigen::Index i = 0; i < values.size(); ++i) {
        if (i % 256 == 0) {
            progress.step("variogram map", static_cast<double>(i) / static_cast<double>(values.size()));
        }
        for (Eigen::Index j = 0; j < values.size(); ++j) {
            if (i == j) continue;
            const double east = (positions_m(i, 0) - positions_m(j, 0)) / width_m,
                         north = (positions_m(i, 1) - positions_m(j, 1)) / width_m;
            if (std::abs(east) > half + 0.5 || std::abs(north) > half + 0.5) continue;
            const int column = std::min(half, static_cast<int>(std::floor(east + 0.5))) + half,
                      row = half - std::max(-half, static_cast<int>(std::ceil(north - 0.5)));
            sums(row, column) += 0.5 * (values[i] - values[j]) * (values[i] - values[j]);
            ++pairs(row, column);
        }
    }
    std::vector<VariogramMapCell> found;
    for (int row = 0; row < side; ++row) {
        for (int column = 0; column < side; ++column) {
            if (pairs(row, column) == 0) continue;
            found.push_back({(column - half) * width_m, (half - row) * width_m,
                             sums(row, column) / static_cast<double>(pairs(row, column)), pairs(row, column)});
        }
    }
    return found;
}

Eigen::VectorXd generalised_residuals(const SpatialData& data, const VariogramModel& model) {
    const PreparedData used(data, model, {});
    if (used.x.size() > most_places_together && model.has_sill()) {
        const NearestWhitening nearest(used, model, usual_neighbours);
        const Whitened whitened = nearest.whiten(PreparedCovariance(model), usual_neighbours);
        if (!whitened.told_apart) {
            throw Error("the covariances of the points cannot be told apart", "variogram \"" + model.to_text() + "\"",
                        "add a small nugget or an error variance");
        }
        const Eigen::VectorXd best = whitened.drift.householderQr().solve(whitened.values);
        return data.values - used.drift_of_targets(data.values.size(), data.drift) * best;
    }
    const Eigen::VectorXd coefficients = Kriging(data, model).coefficients();
    Eigen::VectorXd mean = Eigen::VectorXd::Constant(data.values.size(), coefficients[0]);
    if (data.drift.cols() > 0) mean += data.drift * coefficients.tail(data.drift.cols());
    return data.values - mean;
}

}  // namespace models
