#include "models/contamination/disagreement.h"

#include <algorithm>
#include <cmath>

#include <Eigen/Core>

namespace models::contamination {

namespace {

constexpr double grid_step = 0.05;      ///< of ln content
constexpr double most_variance = 30.0;  ///< a factor of 200 each way

/// ln likelihood of a sample on a grid of its own content.
Eigen::ArrayXd own_likelihood(const SampleOfSame& sample, double low, Eigen::Index count) {
    Eigen::ArrayXd sum = Eigen::ArrayXd::Zero(count);
    for (const SiteTable* table : sample.tables) {
        for (Eigen::Index k = 0; k < count; ++k) sum[k] += (*table)(low + grid_step * static_cast<double>(k));
    }
    return sum;
}

/// The best that a sample can say when what it was taken from has each content of the grid: it differs from that by
/// N(-v/2, v).
Eigen::ArrayXd profile(const Eigen::ArrayXd& own, double variance) {
    const Eigen::Index count = own.size();
    const auto reach = static_cast<Eigen::Index>(10.0 * std::sqrt(variance) / grid_step) + 1;
    const double shift = 0.5 * variance / grid_step;
    Eigen::ArrayXd best = Eigen::ArrayXd::Constant(count, -1e300);
    for (Eigen::Index k = 0; k < count; ++k) {
        const auto centre = static_cast<Eigen::Index>(std::lround(static_cast<double>(k) - shift));
        const Eigen::Index first = std::max<Eigen::Index>(0, centre - reach),
                           last = std::min(count - 1, centre + reach);
        for (Eigen::Index j = first; j <= last; ++j) {
            const double off = grid_step * (static_cast<double>(j - k) + shift);
            best[k] = std::max(best[k], own[j] - 0.5 * off * off / variance);
        }
    }
    return best;
}

/// The 99 % quantile of chi-square.
double most_expected(double degrees) {
    const double a = 2.0 / (9.0 * degrees);
    return degrees * std::pow(1.0 - a + 2.3263478740408408 * std::sqrt(a), 3.0);
}

}  // namespace

double variance_of_disagreement(const std::vector<SampleOfSame>& samples) {
    if (samples.size() < 2) return 0.0;
    const double low = samples[0].tables[0]->low();
    const auto count = static_cast<Eigen::Index>((samples[0].tables[0]->high() - low) / grid_step) + 1;
    std::vector<Eigen::ArrayXd> own;
    double apart = 0.0;
    for (const SampleOfSame& sample : samples) {
        own.push_back(own_likelihood(sample, low, count));
        apart += own.back().maxCoeff();
    }
    const auto excess = [&](double added) {
        Eigen::ArrayXd together = Eigen::ArrayXd::Zero(count);
        for (std::size_t i = 0; i < samples.size(); ++i) {
            together += profile(own[i], std::max(samples[i].variance + added, 1e-4));
        }
        return 2.0 * (apart - together.maxCoeff());
    };
    const double expected = most_expected(static_cast<double>(samples.size() - 1));
    if (excess(0.0) <= expected) return 0.0;
    double too_little = 0.0, enough = most_variance;
    while (enough - too_little > 1e-3 * enough) {
        const double middle = 0.5 * (too_little + enough);
        (excess(middle) > expected ? too_little : enough) = middle;
    }
    return enough;
}

}  // namespace models::contamination
