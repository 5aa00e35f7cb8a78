#include "models/decision/reading_law.h"

#include <cmath>
#include <utility>

#include "models/contamination/normal.h"

namespace models {

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
                    out[i] = normal::log_cdf(z);
                    break;
                case Reading::above:
                    out[i] = normal::log_cdf(-z);
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
        const double y = std::exp(std::log(true_mg_per_kg) - 0.5 * q + std::sqrt(q) * normal::quantile(u));
        if (low_mg_per_kg && y < *low_mg_per_kg) return {Reading::below, *low_mg_per_kg};
        if (high_mg_per_kg && y > *high_mg_per_kg) return {Reading::above, *high_mg_per_kg};
        return {Reading::value, y};
    };
    return law;
}

}  // namespace models
