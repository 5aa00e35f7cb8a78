#pragma once

#include <string>
#include <vector>

#include "models/records.h"

namespace models {

/// A content that is a number, or only known to lie below or above one.
struct BoundedContent {
    Reading reading = Reading::value;  ///< value, below or above; `invalid` is left out
    double don_mg_per_kg = 0.0;        ///< the number, or the bound; > 0
};

/// The lognormal law that makes such results most likely. A fit that has no maximum (nothing but bounds on one side, or
/// no spread) is a result that says so.
///   logL = sum over values [-ln x - ln sigma - ln(2 pi)/2 - z^2/2] + sum over "< L" ln F(z_L) + sum over "> U" ln
///   F(-z_U) with z = (ln x - mu) / sigma and F the normal distribution function
/// Source: Helsel (2012), Statistics for Censored Environmental Data, 2nd ed., ch. 6.
struct CensoredLognormal {
    double mu = 0.0, sigma = 0.0;  ///< of ln mg/kg
    double log_likelihood = 0.0;
    bool settled = false;
    std::string message;  ///< for a person
    double median_mg_per_kg() const;
    double mean_mg_per_kg() const;
};

/// @throws Error  a content is not above zero or not finite; no result at all
CensoredLognormal fit_censored_lognormal(const std::vector<BoundedContent>& results);

}  // namespace models
