#pragma once

#include <cstdint>
#include <vector>

#include <Eigen/Core>

#include "models/decision/reading_law.h"
#include "models/progress.h"
#include "models/records.h"

namespace models {

/// Contents of many fields as one normal law, whatever the shape of each: what ways of reckoning need that follow the
/// outcomes of many tests together (class NormalValue).
struct JointScores {
    Eigen::VectorXd over;            ///< share of a field's draws that breaks the limit
    Eigen::MatrixXd correlation;     ///< fields x fields, of their scores
    Eigen::VectorXd error_variance;  ///< of one reading, the score's own variance being 1; only of fields asked about
};

struct ScoresQuestion {
    std::vector<Eigen::Index> columns;  ///< of the draws: the fields, in the order of the answer
    std::vector<bool> asked;            ///< as many: fields that a test might be made of
    Limit limit;
    ReadingLaw law;
    std::uint64_t seed = 1;
    int outcomes = 64;  ///< readings tried per field, spread evenly over what it may give
    int threads = 1;    ///< results do not depend on it
};

/// A draw's score is the normal quantile of its rank among the draws of its field, (rank - 1/2) / n, draws that are
/// equal (grain without any DON) sharing the mean of theirs; scaled to variance 1. For a lognormal content that is its
/// logarithm, standardised; heavier tails and a lump at 0 become normal too, so a chance of being over is right under
/// the normal law for each field by itself.
///
/// Correlations r of n draws are drawn to 0 by the share that chance has in them,
///   r (1 - a),   a = sum (1 - r^2)^2 / n / sum r^2   over all pairs, at most 1,
/// which leaves the matrix a covariance. Source: Schaefer & Strimmer (2005), Statistical Applications in Genetics and
/// Molecular Biology 4(1), 32.
///
/// What a reading tells is measured on the draws, ends of the working range included: the share of the variance of
/// "over the limit" that it resolves,
///   w = Var( P(over | reading) ) / ( p (1 - p) ),
/// with readings tried at evenly spread draws and probabilities (the same for all fields, so that an order does not
/// jitter) and chances after them that average to the chance before. The error variance is that of the normal reading
/// y = score + error which resolves as much:
///   P(two scores with correlation 1 / (1 + variance) are both over) = p^2 + w p (1 - p).
/// Where fewer than 2 % of the draws lie on one side of the limit, the content that leaves 2 % there stands in for it.
/// Draws are gathered in up to 128 classes of equal count (64 where more than 256 fields are open), split at the limit,
/// and weighed by the density at the class's geometric mean. Source of the chance of both: Plackett (1954), Biometrika
/// 41(3/4), 351-360.
///
/// @param draws_mg_per_kg  n_draws x fields, joint draws of the fields' means, 0 or more
JointScores joint_scores(const Eigen::MatrixXd& draws_mg_per_kg, const ScoresQuestion& question,
                         const Progress& progress = {});

/// The error variance of a normal reading of a standard normal score that resolves the share w (0 to 1) of the variance
/// of "score beyond its quantile 1 - chance"; chance between 0 and 1. No less than 1e-9, no more than 1e9.
double error_variance_resolving(double share, double chance);

}  // namespace models
