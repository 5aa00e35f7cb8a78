#include "models/spatial/kriging_factor.h"

#include <algorithm>

#include <Eigen/QR>

#include "models/error.h"
#include "models/spatial/parallel.h"

namespace models {

KrigingFactor::KrigingFactor(const PreparedData& data, const PreparedCovariance& covariance,
                             const VariogramModel& model, int threads) {
    const auto& table = kernels::kernel_table();
    const Eigen::Index n = data.x.size(), p = data.drift.cols();
    factor_.resize(n, n);
    parallel_blocks((n + 31) / 32, threads, [&](long long block) {
        for (Eigen::Index j = block * 32; j < std::min<Eigen::Index>(n, (block + 1) * 32); ++j) {
            table.covariances(covariance.arrays(), data.x.data() + j, data.y.data() + j, static_cast<int>(n - j),
                              data.x[j], data.y[j], factor_.col(j).data() + j);
            factor_(j, j) += data.error_variances[j];
        }
    });
    if (table.factor(factor_.data(), static_cast<int>(n)) >= 0 ||
        !(factor_.diagonal().minCoeff() > 1e-8 * factor_.diagonal().maxCoeff())) {
        throw Error("the covariances of the points cannot be told apart (their matrix is singular)",
                    "variogram \"" + model.to_text() + "\"",
                    "give the observations an error variance, add a small nugget, or take a rougher shape");
    }
    if (p == 0) return;
    drift_factor_ = data.drift;
    table.forward_solve(factor_.data(), static_cast<int>(n), drift_factor_.data(), static_cast<int>(p));
    const Eigen::HouseholderQR<Eigen::MatrixXd> qr(drift_factor_);
    orthogonal_ = qr.householderQ() * Eigen::MatrixXd::Identity(n, p);
    triangle_ = qr.matrixQR().topRows(p).triangularView<Eigen::Upper>();
}

Eigen::MatrixXd KrigingFactor::solve(Eigen::MatrixXd& values) const {
    const auto& table = kernels::kernel_table();
    const int n = static_cast<int>(values.rows()), sets = static_cast<int>(values.cols());
    table.forward_solve(factor_.data(), n, values.data(), sets);
    Eigen::MatrixXd coefficients(drift_factor_.cols(), sets);
    if (drift_factor_.cols() > 0) {
        coefficients = triangle_.triangularView<Eigen::Upper>().solve(orthogonal_.transpose() * values);
        values.noalias() -= drift_factor_ * coefficients;
    }
    table.backward_solve(factor_.data(), n, values.data(), sets);
    return coefficients;
}

KrigingFactor::Spread KrigingFactor::spread(Eigen::VectorXd covariances, const Eigen::VectorXd& drift,
                                            double own) const {
    kernels::kernel_table().forward_solve(factor_.data(), static_cast<int>(factor_.rows()), covariances.data(), 1);
    Spread found{own - covariances.squaredNorm(), 0.0};
    if (drift_factor_.cols() > 0) {
        const auto upper = triangle_.triangularView<Eigen::Upper>();
        // (X'C^-1 X)^-1 = (R'R)^-1
        const Eigen::VectorXd gap = drift - drift_factor_.transpose() * covariances;
        const Eigen::VectorXd half = upper.transpose().solve(gap);
        found.variance += half.squaredNorm();
        found.lagrange = drift.dot(upper.solve(half));
    }
    found.variance = std::max(0.0, found.variance);
    return found;
}

}  // namespace models
