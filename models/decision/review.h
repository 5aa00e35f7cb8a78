#pragma once

#include <string>
#include <vector>

#include <Eigen/Core>

namespace models {

/// What was predicted against what was found. Predictions are chances or any score that rises with the event; found is
/// whether it happened (severity at or over a bound, a content over a limit).

/// Whether predictions rank events before non-events: the chance that an event had the higher prediction, ties half.
/// All that may be asked of a disease risk where contents were found.
struct RankSkill {
    int events = 0, non_events = 0;
    double auc = 0.0;
    double standard_error = 0.0;       ///< DeLong, DeLong & Clarke-Pearson (1988), Biometrics 44(3), 837-845
    double low95 = 0.0, high95 = 1.0;  ///< auc -+ 1.96 standard errors, kept within 0 to 1
    /// Hanley & McNeil (1982), Radiology 143(1), 29-36: from the ratings themselves, and by their negative exponential
    /// approximation Q1 = A / (2 - A), Q2 = 2 A^2 / (1 + A).
    double standard_error_hanley_mcneil = 0.0, standard_error_exponential = 0.0;
};
/// @throws Error  sizes differ; a prediction is not a number; fewer than two events or two non-events
RankSkill rank_skill(const Eigen::Ref<const Eigen::VectorXd>& predicted, const std::vector<bool>& happened);

/// One row of a reliability table: cases of like prediction.
struct ReliabilityRow {
    double predicted = 0.0;  ///< mean of the group
    double observed = 0.0;   ///< share that happened
    int n = 0;
};
/// Mean square of prediction - found, and what it is made of:
///   Brier = reliability - resolution + uncertainty (+ within)
///   reliability = sum n_k (p_k - o_k)^2 / N, resolution = sum n_k (o_k - o)^2 / N, uncertainty = o (1 - o)
/// `within` is what differing predictions inside a group leave over; 0 where groups are equal predictions.
/// Murphy (1973), Journal of Applied Meteorology 12(4), 595-600.
struct BrierParts {
    int n = 0;
    double brier = 0.0, reliability = 0.0, resolution = 0.0, uncertainty = 0.0, within = 0.0;
    double skill = 0.0;  ///< 1 - brier / uncertainty: against the share that happened over all; 0 where all are alike
    std::vector<ReliabilityRow> table;
};
/// @param groups  0: one group for each value of the prediction; else about so many groups of equal size, ties together
/// @throws Error  sizes differ or nil; a prediction is no chance; groups below 0
BrierParts brier_parts(const Eigen::Ref<const Eigen::VectorXd>& predicted, const std::vector<bool>& happened,
                       int groups = 0);

/// Logistic regression: ln p / (1 - p) = x b, by Newton steps on the log likelihood, with a normal prior on b where one
/// is given (for a local re-calibration: intercept around 0, slope of the published logit around 1).
/// Hosmer & Lemeshow (2000), Applied Logistic Regression, 2nd ed., ch. 1-2.
struct LogisticFit {
    Eigen::VectorXd coefficients, standard_errors;
    double log_likelihood = 0.0;  ///< without the prior
    bool settled = false;
    std::string message;  ///< for a person: "settled after 5 steps", "the classes separate: ..."
};
struct CoefficientPrior {
    Eigen::VectorXd mean = {}, sd = {};  ///< as many as columns; empty: no prior
};
/// @param design  n x k, a column of ones for an intercept
/// @throws Error  sizes differ; a number is not finite; fewer cases than coefficients and no prior
LogisticFit fit_logistic(const Eigen::Ref<const Eigen::MatrixXd>& design, const std::vector<bool>& happened,
                         const CoefficientPrior& prior = {});

}  // namespace models
