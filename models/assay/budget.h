#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/assay/error_variance.h"
#include "models/records.h"

namespace models {

/// An error that results have in common, by the name of what they share: "kit lot K77", "operator Ada". Another result
/// that shares it does not average it out.
struct SharedPart {
    std::string what;
    double log_variance = 0.0;
};

/// A result with all that is known of how it came about.
struct MeasuredResult {
    Reading reading = Reading::value;  ///< a value, or below / above a bound
    double don_mg_per_kg = 0.0;        ///< the value or the bound, > 0
    AssayProcedure procedure;
    ErrorModel error;
    int increments = 1;          ///< handfuls of the sample
    double increments_cv = 0.0;  ///< between places of the grain that the result speaks for; 0: for the sample alone
    double curve_log_variance = 0.0;  ///< of the content from the strip's curve, signal and parameters together
    /// A laboratory's (u / y)^2: covers preparation and analysis in place of the error model's, at every content.
    std::optional<double> stated_relative_variance = std::nullopt;
    std::vector<SharedPart> shared = {};
    /// What the shared effects are known to add to ln of the reading (kit_lot_effect); it is taken off.
    double shared_log_mean = 0.0;
};

/// Variances of ln of the result, by where they come from; they add up.
struct BudgetParts {
    double sampling = 0.0;     ///< increments and sample mass
    double preparation = 0.0;  ///< grind and portion; 0 with a stated uncertainty, which has it in the assay
    double assay = 0.0;        ///< reading and curve, or what a laboratory states
    double shared = 0.0;       ///< kit lot, run, operator, grinder
    double total() const { return sampling + preparation + assay + shared; }
};

/// The true content as one result, or several, tell it. `low90` and `high90` are its 5 and 95 % ends; of a result below
/// the range there is only the high one and of one above only the low one, each right in 95 of 100 cases by itself.
struct TrueContent {
    std::optional<double> content_mg_per_kg;  ///< as likely too high as too low; none: below or above the range
    std::optional<double> low90_mg_per_kg, high90_mg_per_kg;
};

/// What somebody could do, and the interval about the same content that it would bring.
struct Remedy {
    std::string what;  ///< "a sample of 908 g", "a portion of 25 g"
    TrueContent brings;
    double log_width = 0.0;  ///< of the 90 % interval; of a bound its distance from the bound
    std::string basis = {};  ///< where the number rests on more than the error model: "theory, not measured: ..."
};

/// The uncertainty of one result.
struct ResultBudget {
    TrueContent truth;
    BudgetParts parts;  ///< at the content, or at the bound of a result that is none
    double log_width = 0.0;
    std::vector<SharedPart> shared;
    std::vector<Remedy> remedies;  ///< the one that narrows it most first
    std::vector<std::string> assumptions;
};

/// The uncertainty budget of one result. For a true content C and z = ln C the result is lognormal,
///   ln y ~ N(z + e - q(C)/2, q(C) + curve + shared),   e the known part of shared effects,   q = ln(1 + CV^2) of
///   sampling, preparation and reading at C, CV_sampling^2 = published or own + increments_cv^2 / increments
/// (the mean of y is C; curve and shared effects lie about ln y symmetrically). Every variance is taken at the content
/// that is asked about, never at the reading:
///   t(C) = (ln y - e - z + q(C)/2) / sqrt(q(C) + curve + shared)
/// is standard normal whatever C is, so t = 0 is the content and t = 1.645 and -1.645 its ends: the interval holds the
/// truth in 90 of 100 results at every content, and half of the contents are too high, whatever the shape of q. (The
/// mode under a flat prior on ln C lies higher, because a steep q speaks for contents with a small variance: in the
/// median 10 % at 0.5 mg/kg and 14 % at 0.2.) Of "below x" the high end is the content that reads below x in 5 of 100
/// cases, of "above x" the low end likewise.
/// Remedies: variances are divided as a second reading, portion, mass or number of increments divides them; a grind
/// half as coarse divides preparation by eight, the variance being in proportion to the cube of the particle size (Gy
/// 1998, Sampling for Analytical Purposes). A second reading does not touch curve or shared parts.
/// Sources: Ramsey & Ellison (eds., 2019), Eurachem guide Measurement uncertainty arising from sampling, 2nd ed.; Cox &
/// Hinkley (1974), Theoretical Statistics, section 7.2 (intervals from a pivot).
/// @throws Error  content not above zero; void; a variance, mass, portion or number out of its range; a portion larger
///                than its sample
ResultBudget budget_of(const MeasuredResult& result);

/// Several results of the same grain, each of a sample of its own, as one content: with w = 1/q_i(C)
///   T(C) = sum w_i (ln y_i - z + q_i/2) / sqrt(sum w_i + sum over shared parts v (sum of w_i that share it)^2)
/// Weights are of the content that is asked about, so that a low reading counts no more than a high one.
/// @throws Error  as above; no result; a result below or above the range
TrueContent combined_content(const std::vector<MeasuredResult>& results);

/// Chance that the true content is over a limit by this result and no other knowledge, its variance taken at the limit:
/// F(t(limit)). Of "below x" it is at most this, of "above x" at least.
/// @throws Error  as above; limit not above zero
double chance_over(const MeasuredResult& result, double limit_mg_per_kg);

/// Log variance of such a result at a content, all parts together. @throws Error  as above; content not above zero
double log_variance_at(const MeasuredResult& result, double content_mg_per_kg);
/// The part of it that other results of the same kit lot, run, operator or reader share: of the lot's curve, and of
/// each of `shared`.
double shared_log_variance(const MeasuredResult& result);

/// "0.35 mg/kg (90 % interval 0.075 to 0.65)"; "below 0.25 mg/kg: the content is at most 0.62 mg/kg, right in 95 of
/// 100 such results".
std::string in_words(const MeasuredResult& result, const TrueContent& truth);

}  // namespace models
