#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/workflow.h"
#include "models/spatial/experimental_variogram.h"

namespace app {

/// How unlike results are as their places lie farther apart, with the number of pairs behind each class.
/// The value of a pair is half the squared difference of ln mg/kg. Classes hold about as many pairs each, thirty or
/// more where there are as many; pairs farther apart than half the greatest distance are left away.
struct PairsByDistance {
    std::vector<models::VariogramClass> classes;
    long long pairs = 0;          ///< in all, near and far
    int values = 0, bounds = 0;   ///< fields (or places) with a number; those that only read below or above the range
    double error_variance = 0.0;  ///< what testing and sampling alone put into each class, mean over values
    /// What the program takes for true beside it, errors left out: local + shared (1 - exp(-h / range_m)).
    struct Believed {
        double local = 0.0, shared = 0.0, range_m = 1.0;
        double at(double distance_m) const;
    };
    std::optional<Believed> believed;
    std::string verdict;    ///< in words, a sentence without its full stop; empty: nothing was weighed
    int values_needed = 0;  ///< so many more are missing for thirty pairs; 0: there are enough
};

/// A result as all others foretell it.
struct ForetoldResult {
    std::string sample, grain;  ///< grain: "C06", "load L07"
    models::Reading reading = models::Reading::value;
    double read_mg_per_kg = 0.0;
    double median = 0.0, low90 = 0.0, high90 = 0.0;  ///< of a reading of it, by all others
};

/// What the results of a season say of whether places and fields near one another are alike, and how well the others
/// foretell each. To be looked at beside the verdicts, which come from the model and not from these points.
struct SeasonEvidence {
    /// Of fields: mean ln reading of each field and season less what its disease risk and how it was kept foretell;
    /// only fields of one season make pairs, so that its level has no part in it. All seasons up to this one.
    PairsByDistance between;
    /// Of places within one field of this season: pairs of one field only, so that its mean has no part in it.
    PairsByDistance within;
    std::vector<ForetoldResult> foretold;  ///< of this season
    int numbers = 0, inside = 0;           ///< of the foretold: that read a number; of these within 90 %
    double typical_factor = 1.0;  ///< exp of the root mean square of ln read - ln median, over those that read a number
};

/// Thirty pairs are wanted in a class; common practice, no source. Results wanted for a plot of the foretold; ours.
inline constexpr int pairs_wanted = 30, foretold_wanted = 5;

/// Needs view.contamination; a ranking only has no evidence at all.
/// @param own_duplicates  as the season was looked at
SeasonEvidence evidence_of_season(const SeasonView& view, bool own_duplicates = false);

}  // namespace app
