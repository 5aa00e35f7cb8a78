#include "models/contamination/parameter_mode.h"

#include <algorithm>
#include <cmath>

#include <Eigen/Eigenvalues>

namespace models::contamination {

namespace {

/// Value, gradient and curvature about a place, by differences.
struct LocalShape {
    double value = 0.0;
    Eigen::VectorXd gradient;
    Eigen::MatrixXd curvature;
};

using LogDensity = std::function<Eigen::VectorXd(const Eigen::MatrixXd&)>;

LocalShape shape_about(const Eigen::VectorXd& at, const LogDensity& log_density) {
    constexpr double h = 0.15;
    const Eigen::Index d = at.size();
    Eigen::MatrixXd points = at.transpose().replicate(1 + 2 * d + d * (d - 1) / 2, 1);
    Eigen::Index row = 1;
    for (Eigen::Index i = 0; i < d; ++i) {
        points(row++, i) += h;
        points(row++, i) -= h;
    }
    for (Eigen::Index i = 0; i < d; ++i)
        for (Eigen::Index j = 0; j < i; ++j, ++row) {
            points(row, i) += h;
            points(row, j) += h;
        }
    const Eigen::VectorXd f = log_density(points);
    LocalShape shape{f[0], Eigen::VectorXd(d), Eigen::MatrixXd(d, d)};
    for (Eigen::Index i = 0; i < d; ++i) {
        shape.gradient[i] = (f[1 + 2 * i] - f[2 + 2 * i]) / (2.0 * h);
        shape.curvature(i, i) = (f[1 + 2 * i] - 2.0 * f[0] + f[2 + 2 * i]) / (h * h);
    }
    row = 1 + 2 * d;
    for (Eigen::Index i = 0; i < d; ++i)
        for (Eigen::Index j = 0; j < i; ++j, ++row)
            shape.curvature(i, j) = shape.curvature(j, i) = (f[row] - f[1 + 2 * i] - f[1 + 2 * j] + f[0]) / (h * h);
    return shape;
}

}  // namespace

ParameterMode most_probable_parameters(const Eigen::VectorXd& start, const LogDensity& log_evidence) {
    constexpr int most_steps = 12;
    constexpr double least_curvature = 0.3, longest_step = 1.5, settled_step = 0.02;
    const LogDensity log_density = [&](const Eigen::MatrixXd& points) {
        return Eigen::VectorXd(log_evidence(points) - 0.5 * points.rowwise().squaredNorm());
    };
    ParameterMode mode;
    Eigen::VectorXd at = start, step = Eigen::VectorXd::Zero(start.size());
    LocalShape here = shape_about(at, log_density);
    for (;; ++mode.steps) {
        const Eigen::SelfAdjointEigenSolver<Eigen::MatrixXd> own(-here.curvature);
        const Eigen::VectorXd curvature = own.eigenvalues().cwiseMax(least_curvature);
        const Eigen::MatrixXd covariance =
            own.eigenvectors() * curvature.cwiseInverse().asDiagonal() * own.eigenvectors().transpose();
        mode.law = {at.transpose(), covariance};
        mode.log_evidence = here.value + 0.5 * at.squaredNorm();
        // The prior's normalisation cancels against that of Laplace's integral.
        mode.laplace_log_evidence = here.value - 0.5 * curvature.array().log().sum();
        step = covariance * here.gradient;
        if (step.norm() > longest_step) step *= longest_step / step.norm();
        mode.settled = step.norm() < settled_step;
        if (mode.settled || mode.steps >= most_steps) return mode;
        LocalShape next = shape_about(at + step, log_density);
        if (!(next.value > here.value)) {
            Eigen::MatrixXd shorter(4, start.size());
            for (Eigen::Index k = 0; k < 4; ++k) shorter.row(k) = (at + std::pow(0.4, k + 1) * step).transpose();
            Eigen::Index best = 0;
            if (!(log_density(shorter).maxCoeff(&best) > here.value)) return mode;
            step *= std::pow(0.4, best + 1);
            next = shape_about(at + step, log_density);
        }
        at += step;
        here = std::move(next);
    }
}

}  // namespace models::contamination
