#include "models/contamination/normal_mixture.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include "models/contamination/normal.h"

namespace models::contamination {

double NormalMixture::cdf(double x) const {
    double sum = none;
    for (std::size_t k = 0; k < weight.size(); ++k)
        sum += weight[k] * (sd[k] > 0.0 ? normal::cdf((x - mean[k]) / sd[k]) : (x >= mean[k] ? 1.0 : 0.0));
    return std::min(sum, 1.0);  // the weights add up to 1 but for rounding
}

double NormalMixture::quantile(double p) const {
    if (none > 0.0) {
        if (p <= none) return -std::numeric_limits<double>::infinity();
        NormalMixture rest{weight, mean, sd};
        for (double& w : rest.weight) w /= 1.0 - none;
        return rest.quantile((p - none) / (1.0 - none));
    }
    // Between the least and the greatest quantile of the components.
    const double z = normal::quantile(p);
    double low = mean[0] + z * sd[0], high = low;
    for (std::size_t k = 1; k < weight.size(); ++k) {
        low = std::min(low, mean[k] + z * sd[k]);
        high = std::max(high, mean[k] + z * sd[k]);
    }
    double x = std::clamp(expectation() + z * std::sqrt(variance()), low, high);
    for (int step = 0; step < 200 && high - low > 1e-13 * (1.0 + std::abs(x)); ++step) {
        double mass = 0.0, slope = 0.0;
        for (std::size_t k = 0; k < weight.size(); ++k) {
            if (sd[k] <= 0.0) {
                mass += x >= mean[k] ? weight[k] : 0.0;
                continue;
            }
            const double u = (x - mean[k]) / sd[k];
            mass += weight[k] * normal::cdf(u);
            slope += weight[k] * normal::density(u) / sd[k];
        }
        (mass < p ? low : high) = x;
        double next = slope > 0.0 ? x - (mass - p) / slope : low;
        if (!(next > low && next < high)) next = 0.5 * (low + high);
        if (std::abs(next - x) < 1e-13 * (1.0 + std::abs(x))) return next;
        x = next;
    }
    return x;
}

double NormalMixture::expectation() const {
    double sum = 0.0;
    for (std::size_t k = 0; k < weight.size(); ++k) sum += weight[k] * mean[k];
    return sum / (1.0 - none);
}

double NormalMixture::variance() const {
    const double centre = expectation();
    double sum = 0.0;
    for (std::size_t k = 0; k < weight.size(); ++k)
        sum += weight[k] * (sd[k] * sd[k] + (mean[k] - centre) * (mean[k] - centre));
    return sum / (1.0 - none);
}

double NormalMixture::expectation_of_exp() const {
    double sum = 0.0;
    for (std::size_t k = 0; k < weight.size(); ++k) sum += weight[k] * std::exp(mean[k] + 0.5 * sd[k] * sd[k]);
    return sum;
}

}  // namespace models::contamination
