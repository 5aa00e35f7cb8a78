#pragma once

#include <vector>

namespace models::contamination {

/// A weighted mixture of normal laws and, where there is one, of nothing at all (minus infinity: a content of 0);
/// weights add up to 1.
struct NormalMixture {
    std::vector<double> weight, mean, sd;
    double none = 0.0;  ///< weight of minus infinity

    void add(double w, double m, double s) {
        weight.push_back(w);
        mean.push_back(m);
        sd.push_back(s);
    }
    double cdf(double x) const;
    /// x with cdf(x) = p, 0 < p < 1: Newton inside a bracket that shrinks, to 1e-12 of the spread; minus infinity for p
    /// up to `none`.
    double quantile(double p) const;
    double expectation() const;  ///< of the normal laws alone; so is the variance
    double variance() const;
    double expectation_of_exp() const;  ///< mean on the scale whose log this is
};

}  // namespace models::contamination
