#include "models/spatial/kriging_refinement.h"

#include <algorithm>

#include "models/spatial/parallel.h"

namespace models {

namespace {

using Extended = Eigen::Matrix<long double, Eigen::Dynamic, 1>;
using ExtendedMatrix = Eigen::Matrix<long double, Eigen::Dynamic, Eigen::Dynamic>;

/// Covariances of the observations without the errors, which stand on the diagonal of the data.
struct ExtendedCovariance {
    VariogramModel structured;
    long double at_zero;

    ExtendedCovariance(const VariogramModel& model, double level) : at_zero(level) {
        for (const VariogramTerm& term : model.terms) {
            if (term.shape == VariogramShape::error) continue;
            structured.terms.push_back(term);
            const bool bounded = term.shape != VariogramShape::linear && term.shape != VariogramShape::power;
            if (bounded) at_zero += static_cast<long double>(term.partial_sill);
        }
    }
    long double operator()(long double dx_m, long double dy_m) const {
        return at_zero - structured.extended_semivariance(dx_m, dy_m);
    }
};

}  // namespace

bool is_ill_conditioned(const Eigen::MatrixXd& factor) {
    return factor.diagonal().minCoeff() < 1e-2 * factor.diagonal().maxCoeff();
}

void refine_weights(const FactoredKriging& system, double known_mean, int threads, Eigen::VectorXd& weights,
                    Eigen::VectorXd& coefficients) {
    constexpr int most_steps = 6;
    constexpr Eigen::Index rows_a_block = 32;
    const auto& table = kernels::kernel_table();
    const PreparedData& data = system.data;
    const Eigen::Index n = data.x.size(), p = data.drift.cols();
    const ExtendedCovariance covariance(system.model, system.level);
    const ExtendedMatrix drift = data.drift.cast<long double>();
    Extended w = weights.cast<long double>(), b = coefficients.cast<long double>();
    double last_step = 0.0;
    for (int step = 0; step < most_steps; ++step) {
        Extended left = data.values.cast<long double>().array() - static_cast<long double>(known_mean);
        if (p > 0) left -= drift * b;
        // Each row is summed by one thread in one order.
        parallel_blocks((n + rows_a_block - 1) / rows_a_block, threads, [&](long long block) {
            for (Eigen::Index i = block * rows_a_block; i < std::min<Eigen::Index>(n, (block + 1) * rows_a_block);
                 ++i) {
                long double sum = static_cast<long double>(data.error_variances[i]) * w[i];
                for (Eigen::Index j = 0; j < n; ++j) {
                    sum += covariance(static_cast<long double>(data.x[i]) - data.x[j],
                                      static_cast<long double>(data.y[i]) - data.y[j]) *
                           w[j];
                }
                left[i] -= sum;
            }
        });
        // C dw + X db = left, X' dw = -X'w.
        Eigen::VectorXd dw = left.cast<double>();
        table.forward_solve(system.factor.data(), static_cast<int>(n), dw.data(), 1);
        Eigen::VectorXd db(p);
        if (p > 0) {
            const Eigen::VectorXd gap = (drift.transpose() * w).cast<double>();
            const auto upper = system.triangle.triangularView<Eigen::Upper>();
            db = upper.solve(system.orthogonal.transpose() * dw + upper.transpose().solve(gap));
            dw -= system.drift_factor * db;
        }
        table.backward_solve(system.factor.data(), static_cast<int>(n), dw.data(), 1);
        const double moved = dw.norm();
        if (step > 0 && !(moved < 0.5 * last_step)) break;
        last_step = moved;
        w += dw.cast<long double>();
        if (p > 0) b += db.cast<long double>();
        if (moved <= 1e-17 * static_cast<double>(w.norm())) break;
    }
    weights = w.cast<double>();
    coefficients = b.cast<double>();
}

}  // namespace models
