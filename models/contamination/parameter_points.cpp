#include "models/contamination/parameter_points.h"

#include <array>
#include <cassert>
#include <cmath>
#include <cstdint>
#include <numbers>

#include <Eigen/Cholesky>

#include "models/contamination/normal.h"

namespace models::contamination {

namespace {

struct SobolDimension {
    int degree;
    std::uint32_t polynomial;
    std::array<std::uint32_t, 5> start;
};

/// Dimensions 2 to 10 of Joe & Kuo's table; the first is the radical inverse.
constexpr std::array<SobolDimension, 9> joe_kuo{{{1, 0, {1}},
                                                 {2, 1, {1, 3}},
                                                 {3, 1, {1, 3, 1}},
                                                 {3, 2, {1, 1, 1}},
                                                 {4, 1, {1, 1, 3, 3}},
                                                 {4, 4, {1, 3, 5, 13}},
                                                 {5, 2, {1, 1, 5, 5, 17}},
                                                 {5, 4, {1, 1, 5, 5, 5}},
                                                 {5, 7, {1, 1, 7, 11, 19}}}};

std::array<std::uint32_t, 32> direction_numbers(int dimension) {
    std::array<std::uint32_t, 32> v{};
    if (dimension == 0) {
        for (std::size_t i = 0; i < 32; ++i) v[i] = 1u << (31 - i);
        return v;
    }
    const SobolDimension& d = joe_kuo[static_cast<std::size_t>(dimension - 1)];
    const auto s = static_cast<std::size_t>(d.degree);
    for (std::size_t i = 0; i < 32; ++i) {
        if (i < s) {
            v[i] = d.start[i] << (31 - i);
            continue;
        }
        v[i] = v[i - s] ^ (v[i - s] >> s);
        for (std::size_t k = 1; k < s; ++k)
            if ((d.polynomial >> (s - 1 - k)) & 1u) v[i] ^= v[i - k];
    }
    return v;
}

/// x with P(chi-square of 4 degrees of freedom <= x) = p.
double chi_square_4_quantile(double p) {
    double low = 0.0, high = 200.0;
    for (int halving = 0; halving < 100; ++halving) {
        const double x = 0.5 * (low + high);
        (1.0 - std::exp(-0.5 * x) * (1.0 + 0.5 * x) < p ? low : high) = x;
    }
    return 0.5 * (low + high);
}

double effective_number(const Eigen::VectorXd& weight) {
    return weight.sum() * weight.sum() / weight.squaredNorm();
}

/// Weights raised to the largest power (at most 1) that leaves `wanted` effective points.
Eigen::VectorXd tempered(const Eigen::VectorXd& log_weight, double wanted) {
    const Eigen::VectorXd relative = log_weight.array() - log_weight.maxCoeff();
    Eigen::VectorXd weight = relative.array().exp();
    if (effective_number(weight) >= wanted) return weight / weight.sum();
    double low = 0.0, high = 1.0;
    for (int halving = 0; halving < 50; ++halving) {
        const double power = 0.5 * (low + high);
        weight = (power * relative.array()).exp();
        (effective_number(weight) >= wanted ? low : high) = power;
    }
    weight = (low * relative.array()).exp();
    return weight / weight.sum();
}

}  // namespace

Eigen::MatrixXd sobol_points(int n, int dimensions) {
    assert(dimensions >= 1 && dimensions <= 10);
    Eigen::MatrixXd points(n, dimensions);
    for (int d = 0; d < dimensions; ++d) {
        const auto v = direction_numbers(d);
        std::uint32_t x = 0;
        for (int i = 0; i < n; ++i) {
            // Gray code: the number of trailing ones of i says which direction number comes in.
            std::size_t bit = 0;
            for (auto k = static_cast<std::uint32_t>(i); k & 1u; k >>= 1) ++bit;
            x ^= v[bit];
            points(i, d) = (static_cast<double>(x) + 0.5) * 0x1p-32;
        }
    }
    return points;
}

WeightedPoints integrate_parameters(
    int n, int dimensions, double enough, int least_rounds,
    const std::function<Eigen::VectorXd(const Eigen::MatrixXd&, const WeightedPoints& last)>& log_evidence,
    const std::optional<RoughLaw>& rough) {
    constexpr int most_rounds = 6;
    WeightedPoints at;
    const Eigen::MatrixXd uniform = sobol_points(n, dimensions + 1);
    const Eigen::MatrixXd standard =
        uniform.leftCols(dimensions).unaryExpr([](double u) { return normal::quantile(u); });
    Eigen::VectorXd log_ratio = Eigen::VectorXd::Zero(n);  // prior over the law that the points are from
    Eigen::MatrixXd points = standard;
    const auto draw_about = [&](const Eigen::RowVectorXd& centre, const Eigen::MatrixXd& scale) {
        const Eigen::LLT<Eigen::MatrixXd> factor(scale);
        const Eigen::MatrixXd lower = factor.matrixL();
        const double log_determinant = 2.0 * lower.diagonal().array().log().sum();
        constexpr double freedom = 4.0;
        const double constant = std::lgamma(0.5 * (freedom + dimensions)) - std::lgamma(0.5 * freedom) -
                                0.5 * dimensions * std::log(freedom * std::numbers::pi) - 0.5 * log_determinant;
        for (int i = 0; i < n; ++i) {
            const double stretch = std::sqrt(freedom / chi_square_4_quantile(uniform(i, dimensions)));
            const Eigen::VectorXd step = stretch * standard.row(i).transpose();
            points.row(i) = centre + (lower * step).transpose();
            const double log_law = constant - 0.5 * (freedom + dimensions) * std::log1p(step.squaredNorm() / freedom);
            const double log_prior =
                -0.5 * points.row(i).squaredNorm() - 0.5 * dimensions * std::log(2.0 * std::numbers::pi);
            log_ratio[i] = log_prior - log_law;
        }
    };
    if (rough) draw_about(rough->centre, rough->covariance);
    for (int round = 1;; ++round) {
        const Eigen::VectorXd log_weight = log_evidence(points, at) + log_ratio;
        const double top = log_weight.maxCoeff();
        const Eigen::VectorXd weight = (log_weight.array() - top).exp();
        at.points = points;
        at.log_evidence = top + std::log(weight.mean());
        at.effective = effective_number(weight);
        at.weight = weight / weight.sum();
        at.rounds = round;
        if ((at.effective >= enough && round >= least_rounds) || round >= most_rounds) return at;
        const Eigen::VectorXd fit_weight = tempered(log_weight, std::min(20.0, 0.25 * n));
        const Eigen::RowVectorXd centre = fit_weight.transpose() * points;
        const Eigen::MatrixXd off = points.rowwise() - centre;
        Eigen::MatrixXd scale = off.transpose() * fit_weight.asDiagonal() * off;
        scale.diagonal().array() += 1e-3;
        draw_about(centre, scale);
    }
}

}  // namespace models::contamination
