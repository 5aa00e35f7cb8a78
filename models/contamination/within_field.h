#pragma once

#include <cstddef>
#include <optional>
#include <string>
#include <vector>

#include "models/geometry.h"
#include "models/progress.h"
#include "models/records.h"

namespace models {

/// One result of a sample that was taken at a single place of a field.
struct PlacedResult {
    std::size_t field = 0;  ///< results with the same number share a field and its mean
    PointM place;
    Reading reading = Reading::value;  ///< value, below or above; `invalid` is refused
    double don_mg_per_kg = 0.0;        ///< value or bound, > 0
    double log_error_variance = 0.0;   ///< of ln reading about ln of the content at the place, >= 0
};

/// How contents at the places of a field scatter about their mean, on the log scale.
struct WithinFieldParameters {
    double sd = 0.4;                ///< of ln content between places far apart
    double structured_share = 0.0;  ///< of the variance that places near one another share, 0 to 1; 0: no structure
    double range_m = 1.0;           ///< what they share falls to 1/e at this distance (to 5 % at three times it)
};

/// A field's mean of ln content where it is known beforehand; a flat one is learnt from the field's own results alone.
struct KnownFieldMean {
    double log_content = 0.0;
    double variance = 0.0;  ///< of that, >= 0
};

struct WithinFieldSettings {
    double sd_median = 0.4, sd_spread = 0.5;    ///< sd ~ LN(ln median, spread)
    double least_ratio = 3.0;                   ///< evidence ratio from which structure is said to be supported, >= 2
    std::vector<KnownFieldMean> known_means{};  ///< by field number; empty: all flat
    int points = 192;                           ///< values of the parameters that are averaged
    double enough_effective = 48.0;             ///< under this effective number they are drawn anew
    int threads = 0;                            ///< 0: as many as the machine has; the result does not depend on it
};

/// A middle value and how far it may be off: 5, 50 and 95 % quantiles.
struct LikelyRange {
    double median = 0.0, low90 = 0.0, high90 = 0.0;
};

/// What one value of the parameters makes of a field's results: the mixture of these is the posterior.
struct WithinFieldPoint {
    double weight = 0.0;  ///< they add up to 1
    WithinFieldParameters parameters;
    /// Of each of the field's results, ln mg/kg: a value with its error; an inequality as the value with an error that
    /// tells the same of the content, given all other results (the factor of expectation propagation).
    std::vector<double> log_content, error_variance;
};

/// A field with fewer places has no surface of its own, whatever other fields show.
inline constexpr int fewest_places_of_a_surface = 10;

/// Whether the places of a season's fields differ in a way that a map could show.
struct WithinFieldStructure {
    bool supported = false;
    std::string reason;  ///< "supported: ..." or "not supported: ...", one sentence without its full stop
    int results = 0, bounds = 0, fields = 0;  ///< that could tell: of fields with two places or more and a value

    double log_evidence_plain = 0.0;       ///< ln of the density of the results, share 0
    double log_evidence_structured = 0.0;  ///< the same, share above 0
    double evidence_ratio = 1.0;           ///< structured over plain
    double chance_structured = 0.5;        ///< ratio / (1 + ratio): both were as likely beforehand
    /// 1 - mean squared error of predicting each value from all other results / by the mean of the field's others.
    double leave_one_out_skill = 0.0;
    LikelyRange sd;                         ///< over both
    LikelyRange structured_share, range_m;  ///< where there is structure
    double effective_points = 0.0;

    /// How likely these very places would have led to "supported", were `sought` the truth.
    double power = 0.0;
    WithinFieldParameters sought;  ///< sd as found, 30 % of the variance left to each place alone

    struct Field {
        std::size_t field = 0;
        int places = 0, bounds = 0;
        double chance_structured = 0.5;  ///< of this field, all results considered
        double leave_one_out_skill = 0.0;
        /// Supported over all, places enough for a surface, the field's own odds of structure as high as those asked of
        /// all, and its own skill over 0, beside other fields over 0.05.
        bool mapped = false;
        std::vector<std::size_t> results;      ///< indices into the results, in the order in which the points have them
        std::vector<WithinFieldPoint> points;  ///< for a map of it: at most 13
    };
    std::vector<Field> by_field;  ///< in the order of their numbers
};

/// Structure within fields, pooled over the fields of a season: one covariance for all of them, each with a mean of its
/// own. With z the log of the content at a place s of field f,
///   z = mean_f + w(s),  cov(w(s), w(t)) = sd^2 (share exp(-|s - t| / range) + (1 - share) [s = t])
///   ln reading = z - q/2 + N(0, q),  q the result's own error variance; below and above range the probability of that
/// Beforehand there is no structure (share 0) with chance 1/2, else share ~ U(0, 1) and ln range ~ U between the median
/// distance to the nearest place and half the diameter of the widest field (or twice the first, if more), in all
/// fields with chance 1/2, else in some (each with one chance that is itself U(0, 1); the others have share 0); sd ~
/// LN(ln 0.4, 0.5). Means are flat, so the densities are those of contrasts within fields (as in restricted
/// likelihood). The parameters are integrated over fixed quasi-random points, values in closed form, inequalities by
/// expectation propagation given the values.
///
/// Structure is supported where the evidence ratio reaches `least_ratio` AND leaving each value out in turn, the
/// average over both cases predicts it better than the mean of its field does. Each left-out prediction is the
/// posterior without that value (weights over p(value | the others)). `least_ratio` was calibrated on simulated fields
/// without structure (tests/bench/structure_within_fields.cpp): at 3 at most 7 % of them are called structured, at 1
/// alone a tenth to two fifths. Power is the chance that these places reach the ratio, from mean and variance of the
/// likelihood ratio of `sought` over its best description without structure, taken as normal.
///
/// Two results that share a place share its content. Fields without a value, or with a single place, tell nothing.
/// Cost: some 600 factorisations of each field's matrix: 60 results take 0.03 s, 500 in one field 5 s on two cores.
/// Sources: Rasmussen & Williams (2006), Gaussian Processes for Machine Learning, sections 2.7, 3.6 and 5.4.2;
/// Patterson & Thompson (1971), Biometrika 58, 545-554 (contrasts); Gelfand, Dey & Chang (1992), Bayesian Statistics 4,
/// 147-167 (leaving out by weights); Kass & Raftery (1995), J Am Stat Assoc 90, 773-795 (evidence ratios).
///
/// @throws Error  a place, content or error is not finite or out of range; two values without error at one place; a
///                void reading; known means that do not reach every field; least_ratio under 2
WithinFieldStructure within_field_structure(const std::vector<PlacedResult>& results,
                                            const WithinFieldSettings& settings = {}, const Progress& progress = {});

/// ln of the density of the results for given parameters, contrasts within fields where means are flat.
double within_field_log_likelihood(const std::vector<PlacedResult>& results, const WithinFieldParameters& parameters,
                                   const WithinFieldSettings& settings = {});

}  // namespace models
