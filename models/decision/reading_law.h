#pragma once

#include <functional>
#include <optional>

#include <Eigen/Core>

#include "models/records.h"

namespace models {

/// A reading that a test might give: a value, or below / above a number.
struct PossibleReading {
    Reading reading = Reading::value;
    double don_mg_per_kg = 0.0;
};

/// How a reading comes about from the true content of what is tested, sampling, preparation and assay together. The
/// contamination model supplies it, so that decisions and posterior speak of one and the same test.
struct ReadingLaw {
    /// Log density of the reading for each true content; for below x: ln P(reading < x), for above x: ln
    /// P(reading > x), for any x. A factor that does not depend on the true content may be left out of a value's
    /// density, not of the others. Contents in mg/kg, any number of them; the same number comes back.
    std::function<Eigen::ArrayXd(const PossibleReading& reading, const Eigen::ArrayXd& true_mg_per_kg)> log_density;
    /// The reading for two numbers u and v in (0, 1), both excluded, given the true content; even numbers give readings
    /// that are spread as the law says.
    std::function<PossibleReading(double true_mg_per_kg, double u, double v)> sample;
};

/// The plain law: reading ~ lognormal with mean c and coefficient of variation CV(c) at the true content c,
///   ln y ~ N(ln c - q/2, q),  q = ln(1 + CV(c)^2),
/// and below `low` / above `high` only that it lies there is seen.
/// @param cv  CV as a fraction, > 0, for a true content in mg/kg
ReadingLaw lognormal_reading_law(std::function<double(double true_mg_per_kg)> cv,
                                 std::optional<double> low_mg_per_kg = {}, std::optional<double> high_mg_per_kg = {});

}  // namespace models
