#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/records.h"

namespace models {

/// Where grain stands against one limit.
///   over       a valid result of the grain itself breaks the limit, or the exceedance is above the user's upper cap
///   cleared    no valid result breaks it, and the exceedance is known and at most the load cap
///   undecided  neither: hold, take a second sample, ask a laboratory
enum class ClearingState { cleared, over, undecided };

/// A result of the grain itself (not of its neighbours), on the basis on which it was reported. Every valid one is to
/// be given, those that a later test corrects are not.
struct OwnResult {
    std::string test;
    Reading reading = Reading::value;
    double don_mg_per_kg = 0.0;
    Method method = Method::strip;
    Basis basis = Basis::as_is;
    double moisture = 0.0;  ///< fraction, of what was tested; looked at only where the limit is on another basis
    /// The sample that was taken, also where a split of it was tested; empty: not known.
    std::string sample = {};
    /// It and other samples of the same grain cannot be explained together (models/contamination/disagreement.h): then
    /// nothing clears the grain until it is known which of them speaks of it.
    bool contradicted = false;
};
/// Whether a strip is answered: a laboratory has a valid result of the very sample that the strip read. Then the
/// laboratory's number stands in the strip's place, whichever way they differ. A strip of another sample of the grain
/// stays what it is, for nobody has looked at that sample again.
/// Source: (EU) 2023/2782, Annex II, 4.2 (a suspected sample is verified by a full analysis of it, which decides).
bool answered_by_laboratory(const OwnResult& result, const std::vector<OwnResult>& all);
/// The result as a limit on that basis meets it. @throws Error  moisture outside 0 to 1
OwnResult on_basis(OwnResult result, Basis basis);

/// The chances a cleared load may have, and above which grain counts as over without a result of its own.
struct ClearingCaps {
    double load_cap = 0.05;  ///< 0 to 1; 5 % is this program's own choice and is printed with the decision
    std::optional<double> upper_cap = std::nullopt;  ///< 0 to 1, the user's; none: only an own result makes grain over
    double guard_mg_per_kg = 0.0;                    ///< of the limit's decision rule: see outcome_of
};

struct Clearing {
    ClearingState state = ClearingState::undecided;
    std::string reason;         ///< one sentence: "own strip 1.3 mg/kg is over 1.0: suspected, hold and confirm ..."
    std::string in_short;       ///< a few words for a table: "own strip 1.3 is over 1.0", "12 % chance over 1.0"
    bool suspected = false;     ///< over by strips alone: for a person this is "suspected: hold, confirm"
    bool contradicted = false;  ///< undecided for nothing but samples that contradict one another
    int results_counted = 0;    ///< valid ones
    std::optional<double> exceedance = std::nullopt;  ///< as given
};

/// Whether a load, a zone or the grain in a bin is cleared for a limit. A result over the limit is never outvoted:
/// not by a second one under it, not by neighbours, risk or the model. A result that cannot decide (below 2.5 where
/// the limit is 1) neither clears nor condemns; the model has already taken it into the exceedance. A result on another
/// basis than the limit's is converted at its own moisture before it is compared.
/// @param exceedance  chance that the grain's mean is over, from the model; none where the store has no result at all
/// @throws Error  a cap, a guard or the exceedance lies outside its range
Clearing clear_grain(const std::vector<OwnResult>& results, std::optional<double> exceedance, const Limit& limit,
                     const ClearingCaps& caps = {});

std::string in_words(ClearingState state);  ///< "cleared", "over", "undecided"

}  // namespace models
