#pragma once

#include "models/spatial/kriging.h"
#include "models/spatial/variogram_fit.h"

namespace models {

enum class LikelihoodKind {
    restricted,  ///< REML: of the contrasts that do not depend on mean and drift; not biased towards small sills
    full,        ///< ML
};

struct LikelihoodSettings {
    /// What a value is conditioned on: 0 is all places, or the nearest 30 where there are more than 3,000.
    int neighbours = 0;
    int threads = 0;  ///< 0: as many as there are processors; the result is the same for any number
};

/// Logarithm of the probability density of the values under a Gaussian field with this variogram, mean and drift
/// coefficients at their best. With C the covariance matrix (error variances on its diagonal), X the constant and
/// drift, n values, p columns, r the generalised residuals:
///   full        -1/2 (n log 2 pi + log|C| + r'C^-1 r)
///   restricted  -1/2 ((n - p) log 2 pi + log|C| + log|X'C^-1 X| - log|X'X| + r'C^-1 r)
/// Both are densities of the values themselves, so that fits can be compared whatever the scale of a drift column.
/// Of more than 3,000 places each value is conditioned on its nearest 30 (NearestWhitening), in the same formulas.
/// Source: Diggle & Ribeiro (2007), Model-based Geostatistics, ch. 5; Harville (1974), Biometrika 61, 383-385;
/// Vecchia (1988), J. R. Statist. Soc. B 50, 297-312; Stein, Chi & Welty (2004), J. R. Statist. Soc. B 66, 275-296.
/// @throws Error  as Kriging does; a variogram without a sill; a negative number of neighbours
double log_likelihood(const SpatialData& data, const VariogramModel& model, LikelihoodKind kind,
                      const LikelihoodSettings& settings = {}, const Progress& progress = {});

/// The variogram under which the values are most likely. The overall scale and the mean follow in closed form where no
/// error is known beforehand; ranges and ratios of sills are searched from several starts, ranges between a fifth of
/// the shortest distance and five times the extent of the data: a likelihood can rise for ever with the range.
/// Of more than 3,000 places (or with neighbours asked for) the likelihood is that of values conditioned on their
/// nearest few, and the result shows its error: `approximation` in numbers, `notes` in words.
/// @param shapes  as for fit_variogram: shapes with smoothness, azimuth and ratio; an error term is kept as given
/// @returns objective is the log-likelihood
VariogramFit fit_variogram_by_likelihood(const SpatialData& data, const VariogramModel& shapes,
                                         LikelihoodKind kind = LikelihoodKind::restricted,
                                         const Progress& progress = {}, const LikelihoodSettings& settings = {});

}  // namespace models
