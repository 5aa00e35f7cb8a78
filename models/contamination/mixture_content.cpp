#include "models/contamination/mixture_content.h"

#include <cmath>

namespace models::contamination {

Content content_of(const NormalMixture& mixture) {
    Content c;
    c.median = std::exp(mixture.quantile(0.5));
    c.mean = mixture.expectation_of_exp();
    c.low90 = std::exp(mixture.quantile(0.05));
    c.high90 = std::exp(mixture.quantile(0.95));
    c.low50 = std::exp(mixture.quantile(0.25));
    c.high50 = std::exp(mixture.quantile(0.75));
    return c;
}

double share_over(const NormalMixture& mixture, double limit_mg_per_kg) {
    if (!(limit_mg_per_kg > 0.0)) return 1.0 - mixture.none;
    NormalMixture mirrored = mixture;
    mirrored.none = 0.0;
    for (double& m : mirrored.mean) m = -m;
    return mirrored.cdf(-std::log(limit_mg_per_kg));  // so that a small exceedance keeps its digits
}

}  // namespace models::contamination
