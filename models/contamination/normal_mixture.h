#pragma once

#include <vector>

namespace models::contamination {

/// A weighted mixture of normal laws; weights add up to 1.
struct NormalMixture {
    std::vector<double> weight, mean, sd;

    void add(double w, double m, double s) {
        weight.push_back(w);
        mean.push_back(m);
        sd.push_back(s);
    }
    double cdf(double x) const;
    /// x with cdf(x) = p, 0 < p < 1: Newton inside a bracket that shrinks, to 1e-12 of the spread.
    double quantile(double p) const;
    double expectation() const;
    double variance() const;
    double expectation_of_exp() const;  ///< mean on the scale whose log this is
};

}  // namespace models::contamination
