#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/spatial/experimental_variogram.h"
#include "models/spatial/variogram_model.h"

namespace models {

enum class FitWeights {
    pairs_over_distance_squared,  ///< N/h^2: near pairs count most; the default, as in gstat
    pairs_over_gamma_squared,     ///< N/gamma^2 of the fitted model, iterated (Cressie 1985)
    pairs,                        ///< N
    equal,
};

/// A likelihood of more places than can be taken together conditions each value on its nearest few, and says what that
/// is worth, at the variogram found.
struct NeighbourApproximation {
    int neighbours = 0;              ///< that each value was conditioned on
    double change_with_twice = 0.0;  ///< log-likelihood with twice as many neighbours less that with these
    int compared_places = 0;         ///< so many places lying together were also taken exactly
    double error_there = 0.0;        ///< their log-likelihood with these neighbours less the exact one
};

/// A fit that did not settle, or that says there is nothing to see, is a result to look at, not an error.
struct VariogramFit {
    VariogramModel model;
    std::string method = "not run";     ///< "least squares, weights N/h^2"
    bool found = true;                  ///< false: fewer than two classes to fit; the model is then their mean alone
    bool settled = false;               ///< false: not found, or the best range lies at a bound
    bool pure_nugget = false;           ///< the data show no structure: a map is flat
    double objective = 0.0;             ///< sum of weight * (gamma - model)^2; for a likelihood: the log-likelihood
    std::vector<std::string> at_bound;  ///< "range of term 2 at its upper bound 4500", in the unit of the positions
    std::string message = "not run";    ///< for a person
    std::vector<std::string> notes;     ///< what else a person should know: sentences
    std::optional<NeighbourApproximation> approximation;  ///< of the likelihood, where there are many places
};

/// From so many pairs on the mean of a class can be relied on: 30 to 50 (Journel & Huijbregts 1978, Mining
/// Geostatistics, ch. III). A fit none of whose classes holds so many says so in its notes.
inline constexpr long long pairs_of_a_class_that_holds = 30;

/// The variogram that lies nearest to the experimental one by weighted least squares. For given ranges the best sills
/// that are not negative follow in closed form, so only the ranges are searched: a scan over [h_min/5, 5 h_max] of
/// every range, then a polish of the best starts. The result cannot have a negative sill or range and no start value
/// can spoil it.
/// @param shapes  its terms say which shapes to sum; smoothness, exponent, azimuth and ratio are taken as given,
///                sills and ranges are found (what they are beforehand does not matter). A nugget is found only if
///                there is a nugget term; an error term is kept as given.
/// @throws Error  shapes has no terms, or more than three with a range
/// Source: Cressie (1985), Math. Geology 17, 563-586; variable projection: Golub & Pereyra (1973).
VariogramFit fit_variogram(const std::vector<VariogramClass>& classes, const VariogramModel& shapes,
                           FitWeights weights = FitWeights::pairs_over_distance_squared);

/// The best of nugget + spherical and nugget + exponential: what is used where nobody named a shape.
VariogramFit fit_variogram(const std::vector<VariogramClass>& classes,
                           FitWeights weights = FitWeights::pairs_over_distance_squared);

/// Weighted sum of squares of any model, to compare fits.
double weighted_sum_of_squares(const std::vector<VariogramClass>& classes, const VariogramModel& model,
                               FitWeights weights);

}  // namespace models
