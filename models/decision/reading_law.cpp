#include "models/decision/reading_law.h"

#include <cmath>
#include <numbers>
#include <utility>

#include "models/decision/even_numbers.h"

namespace models {

namespace reading_law_parts {

/// ln of the standard normal distribution function. Below -8 by the first terms of the asymptotic series
/// (Abramowitz & Stegun 26.2.12), for erfc loses its digits where the result underflows.
double log_normal_cdf(double z) {
    if (z > -8.0) return std::log(0.5 * std::erfc(-z / std::numbers::sqrt2));
    const double w = 1.0 / (z * z);
    return -0.5 * z * z - std::log(-z) - 0.5 * std::log(2.0 * std::numbers::pi) +
           std::log1p(-w * (1.0 - 3.0 * w * (1.0 - 5.0 * w)));
}

}  // namespace reading_law_parts

ReadingLaw lognormal_reading_law(std::function<double(double)> cv, std::optional<double> low_mg_per_kg,
                                 std::optional<double> high_mg_per_kg) {
    const auto log_variance = [cv](double c) {
        const double fraction = cv(c);
        return std::log1p(fraction * fraction);
    };
    ReadingLaw law;
    law.log_density = [log_variance](const PossibleReading& reading, const Eigen::ArrayXd& true_mg_per_kg) {
        Eigen::ArrayXd out(true_mg_per_kg.size());
        const double log_reading = std::log(reading.don_mg_per_kg);
        for (Eigen::Index i = 0; i < out.size(); ++i) {
            const double q = log_variance(true_mg_per_kg[i]);
            const double z = (log_reading - std::log(true_mg_per_kg[i]) + 0.5 * q) / std::sqrt(q);
            switch (reading.reading) {
                case Reading::value:
                    out[i] = -0.5 * z * z - 0.5 * std::log(q);
                    break;
                case Reading::below:
                    out[i] = reading_law_parts::log_normal_cdf(z);
                    break;
                case Reading::above:
                    out[i] = reading_law_parts::log_normal_cdf(-z);
                    break;
                case Reading::invalid:
                    out[i] = 0.0;
                    break;
            }
        }
        return out;
    };
    law.sample = [log_variance, low_mg_per_kg, high_mg_per_kg](double true_mg_per_kg, double u,
                                                               double) -> PossibleReading {
        const double q = log_variance(true_mg_per_kg);
        const double y = std::exp(std::log(true_mg_per_kg) - 0.5 * q + std::sqrt(q) * normal_quantile(u));
        if (low_mg_per_kg && y < *low_mg_per_kg) return {Reading::below, *low_mg_per_kg};
        if (high_mg_per_kg && y > *high_mg_per_kg) return {Reading::above, *high_mg_per_kg};
        return {Reading::value, y};
    };
    return law;
}

}  // namespace models
