#pragma once

#include <functional>
#include <vector>

#include "tests/bench/honesty/record.h"

namespace honesty {

/// One season as it is compared: with the same season without tests, the same season of the assumed world, and the same
/// season with its tests placed otherwise.
struct Season {
    const Record* record = nullptr;
    const Record* no_tests = nullptr;
    const Record* assumed = nullptr;
    const Record* otherwise = nullptr;
};
using Seasons = std::vector<Season>;
using Statistic = std::function<double(const Seasons&)>;

/// A figure with its 95 % interval, from 1,000 resamples of whole seasons (fields of one season share its level, slope
/// and parameters, so they are no independent cases). What is compared is resampled together: differences are paired.
/// Source: Efron & Tibshirani (1993), An Introduction to the Bootstrap, chapter 13 (percentiles).
struct Estimate {
    double value = 0.0, low95 = 0.0, high95 = 0.0;
    int seasons = 0;
};
Estimate estimate(const Seasons& seasons, const Statistic& statistic);

/// Of all fields of the seasons together.
double held90(const Seasons& seasons);
double held50(const Seasons& seasons);
double held90_with_don(const Seasons& seasons);
double held90_as_told(const Seasons& seasons);
double exact_held90(const Seasons& seasons);
double brier(const Seasons& seasons);
double reliability(const Seasons& seasons);
double exact_reliability(const Seasons& seasons);
double pinball(const Seasons& seasons);             ///< a field and quantile
double pinball_over_exact(const Seasons& seasons);  ///< ratio of sums
double pinball_less_exact(const Seasons& seasons);  ///< a field and quantile
double loss(const Seasons& seasons);                ///< a tonne
double exact_loss(const Seasons& seasons);
double loss_over_exact(const Seasons& seasons);
double loss_less_exact(const Seasons& seasons);     ///< a tonne
double loss_less_no_tests(const Seasons& seasons);  ///< a tonne
double expected_loss(const Seasons& seasons);       ///< a tonne, as the fits themselves expect
double loss_less_otherwise(const Seasons& seasons);
double loss_over_otherwise(const Seasons& seasons);
double expected_loss_over_otherwise(const Seasons& seasons);
double factor90(const Seasons& seasons);  ///< high / low of the 90 % interval, geometric mean

/// The seasons of the lowest, middle and highest third of a parameter.
std::vector<Seasons> thirds(const Seasons& seasons, double Record::*parameter);

}  // namespace honesty
