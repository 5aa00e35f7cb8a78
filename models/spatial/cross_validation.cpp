#include "models/spatial/cross_validation.h"

#include <algorithm>
#include <cmath>
#include <numbers>

namespace models {

namespace {

/// Half widths of the central intervals of a standard normal distribution, as many digits as a double has.
constexpr std::array<double, 4> half_widths = {0.674489750196081743, 1.281551565544600467, 1.644853626951472715,
                                               1.959963984540054236};

}  // namespace

double normal_crps(double residual, double spread) {
    if (!(spread > 0.0)) return std::abs(residual);
    const double z = residual / spread;
    const double density = std::exp(-0.5 * z * z) / std::sqrt(2.0 * std::numbers::pi);
    return spread * (z * std::erf(z / std::numbers::sqrt2) + 2.0 * density - 1.0 / std::sqrt(std::numbers::pi));
}

ValidationScores validation_scores(const Eigen::VectorXd& residuals, const Eigen::VectorXd& spreads) {
    ValidationScores scores;
    for (Eigen::Index i = 0; i < residuals.size(); ++i) {
        const double residual = residuals[i];
        if (!std::isfinite(residual)) continue;
        ++scores.counted;
        const double standardised = residual / spreads[i];
        scores.mean_error += residual;
        scores.rmse += residual * residual;
        scores.mean_square_standardised_error += standardised * standardised;
        scores.crps += normal_crps(residual, spreads[i]);
        for (std::size_t k = 0; k < half_widths.size(); ++k) {
            scores.coverage[k] += std::abs(residual) <= half_widths[k] * spreads[i] ? 1.0 : 0.0;
        }
    }
    const double count = static_cast<double>(std::max<long long>(1, scores.counted));
    scores.mean_error /= count;
    scores.rmse = std::sqrt(scores.rmse / count);
    scores.mean_square_standardised_error /= count;
    scores.crps /= count;
    for (double& share : scores.coverage) share /= count;
    return scores;
}

}  // namespace models
