#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/decision/limit_rule.h"
#include "models/decision/sampling_plan.h"
#include "models/records.h"

namespace models {

/// How one result lies about the content of the lot, were that content just at the limit: the one place where the
/// error decides. Taken there and not at the reading, a low reading gains no weight by being low.
///   normal     x ~ N(C, u^2), u the standard uncertainty in mg/kg
///   lognormal  ln x ~ N(ln C - q/2, q + s), q = ln(1 + CV^2): without s the mean of results is C; s is what results
///              share, a kit lot or a curve, which lies about ln x symmetrically (as in budget.h)
/// Whether sampling is part of it is the caller's choice: it has to be where the decision is about the lot (Eurachem
/// guide on uncertainty from sampling, 2nd ed., 2019), and is not where it is about the sample alone.
struct ResultError {
    ReadingShape shape = ReadingShape::lognormal;
    double standard_uncertainty_mg_per_kg = 0.0;  ///< of the normal shape
    double log_variance = 0.0;                    ///< q of the lognormal shape
    double shared_log_variance = 0.0;             ///< s of the lognormal shape
};
ResultError normal_error(double standard_uncertainty_mg_per_kg);
ResultError lognormal_error(double log_variance);
/// Of a result that came about like that plan, sampling included; its CV taken at the limit's breaking point.
ResultError error_at_limit(const SamplingPlan& plan, const Limit& limit, ReadingShape shape = ReadingShape::lognormal,
                           const ErrorModel& error = {});
/// That error with more of what a result shares with others (its kit lot, its curve), as a log variance.
ResultError with_shared(ResultError error, double shared_log_variance, const Limit& limit);

/// 1.645, the one-sided 95 % point of the normal distribution.
inline constexpr double usual_guard_factor = 1.6448536269514722;

/// What one result says about a limit once its uncertainty counts, for information and for a decision that names its
/// risk beforehand.
struct Conformity {
    /// Chance that the content meets the limit: one number for a value (both the same); for "below x" at least the
    /// first, for "above x" at most the second; 0 and 1 for a void test.
    double probability_low = 0.0, probability_high = 1.0;
    /// Results up to the first are accepted, from the second on they break the limit, between them nothing is decided.
    double accept_to_mg_per_kg = 0.0, break_from_mg_per_kg = 0.0;
    double guard_factor = usual_guard_factor;
    double wrong_decision = 0.05;  ///< greatest chance of either wrong decision: F(-guard factor)
    LimitOutcome guarded = LimitOutcome::undecided;
    LimitOutcome without_guard = LimitOutcome::undecided;  ///< by the limit's comparison and rounding alone
    std::string says;                                      ///< one sentence, the guard factor in it
};

/// With A the limit's breaking point (its rounding and comparison count: where a contract writes results to 0.1 and the
/// limit is 2.0, A is 2.05 and 2.04 meets it; else A is the limit and results are compared as they are) and k the guard
/// factor:
///   normal     p = F((A - x) / u),                           accept to A - k u,              break from A + k u
///   lognormal  p = F((ln A - ln x - q/2) / sqrt(q + s)),     accept to A exp(-q/2 - k sqrt(q + s)), break from
///   A exp(-q/2 + k sqrt(q + s))
/// p is the chance that grain just at A would have read x or more. For the normal shape that is the conformity
/// probability of JCGM 106:2012, 7.5, without prior knowledge; for the lognormal one the same on the log scale. At the
/// end of acceptance p is F(k), where breaking begins F(-k). Between them the result is undecided: hold, test again by
/// the fixed procedure, or confirm. With k = 0 both ends are the result that says as much for as against.
/// A result that does not meet the limit by its own comparison is never accepted, and one that meets it never breaks.
/// Source: JCGM 106:2012, 7.5, 8.3.2 (guarded acceptance), 8.3.3 (guarded rejection); Eurachem/CITAC guide Use of
/// uncertainty information in compliance assessment, 2nd ed. (2021).
/// @param don_mg_per_kg  on the limit's own basis
/// @throws Error  a content that is no number or below 0; an uncertainty or log variance not above 0; a guard factor
///   below 0 or not finite
Conformity conformity_of(Reading reading, double don_mg_per_kg, const ResultError& error, const Limit& limit,
                         double guard_factor = usual_guard_factor);

/// What is known of the analysis alone, for the rule of official control.
struct AnalysisOnly {
    std::optional<double> standard_uncertainty_mg_per_kg;  ///< of the analysis; none: the default of 50 % for 2 u
    std::optional<double> recovery;                        ///< fraction, 0.85 is 85 %
    bool recovery_corrected = false;                       ///< the result already is
};

/// What official control in the European Union would conclude from that result. It is information, apart from every
/// decision here: grain is not cleared by it.
struct OfficialConclusion {
    std::optional<bool> over = std::nullopt;  ///< none: the result is a bound or void, and it cannot be said
    double corrected_mg_per_kg = 0.0, expanded_uncertainty_mg_per_kg = 0.0;
    std::string says;                ///< begins "Official control in the European Union would"
    std::vector<std::string> notes;  ///< what was assumed, one sentence each
};
/// Over only where (result corrected for recovery) - U > limit; U = 2 u, analytical uncertainty only. A recovery of 90
/// to 110 % needs no correction. Where no uncertainty is given, U is half the result, as the regulation allows a
/// laboratory that meets its precision criteria. The limit counts as it is, without a contract's rounding.
/// Source: Commission Implementing Regulation (EU) 2023/2782, Annex I, part II, A (acceptance) and Annex II, point 4.3.
/// @throws Error  an uncertainty below 0; a recovery not above 0; a content that is no number or below 0
OfficialConclusion official_conclusion(Reading reading, double don_mg_per_kg, const AnalysisOnly& analysis,
                                       const Limit& limit);

std::string in_words(LimitOutcome outcome);  ///< "meets the limit", "breaks the limit", "undecided"

}  // namespace models
