#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/decision/clearing.h"
#include "models/decision/conformity.h"
#include "models/decision/sampling_plan.h"

namespace models {

/// "If the first result is suspected, one more portion of the ground sample is tested; the mean of all valid results
/// stands against the cut-off. A void test is made good; a single result over the limit stays suspected." In words that
/// can be printed and signed. @throws Error  a number of repeats below 0
std::string in_words(const RepeatProcedure& procedure);

/// One test at the counter. A void one is kept with its reason and counts for nothing.
struct CounterResult {
    OwnResult result;
    std::string void_reason = {};
};

/// The content from which a strip is suspected, and where it comes from ("20 + 20 samples, kit lot K77"). From
/// validation data (screening_cutoff) where there are any, else the end of guarded acceptance.
struct CounterCutoff {
    double mg_per_kg = 0.0;
    std::string from;
};
/// The end of guarded acceptance as a cut-off: grain just at the limit passes with F(-guard factor).
/// @param error  with what results share in it
/// @throws Error  as conformity_of; a guard so wide that no result would pass
CounterCutoff cutoff_from_guard(const ResultError& error, const Limit& limit, double guard_factor = usual_guard_factor);

/// Another way of making the result, and what it would be called: "a finer grind and a 25 g portion".
struct Improvement {
    std::string words;
    SamplingPlan plan;
    ErrorModel error;
};
/// Steps that help, those that change something: a portion of 25 g, a sample of 1 kg, a second strip, a second portion,
/// both of the first two. With a coefficient of variation of the preparation measured on a finer grind, that grind,
/// alone and with the portion.
std::vector<Improvement> usual_improvements(const SamplingPlan& plan, const ErrorModel& error,
                                            std::optional<double> finer_grind_cv = std::nullopt);

struct CounterQuestion {
    std::string grain = "the truck";     ///< as the sentence names it
    std::vector<CounterResult> results;  ///< all of this grain in the order in which they were made
    Limit limit;
    CounterCutoff cut_off;
    RepeatProcedure procedure;
    SamplingPlan plan;  ///< how one result came about
    ErrorModel error;
    ReadingShape shape = ReadingShape::lognormal;
    /// Log variance of what repeats do not average out: the kit lot, the curve, how the grain differs in the lot.
    double shared_log_variance = 0.0;
    double shared_log_mean = 0.0;  ///< what they are known to add to ln of a reading; taken off for the chance
    std::vector<Improvement> improvements;
    /// What forbids to take the results at their word, each a sentence without its full stop: they contradict one
    /// another, one cannot be brought to the limit's basis. Then the grain is never below the cut-off.
    std::vector<std::string> unsettled = {};
    double load_cap = ClearingCaps{}.load_cap;  ///< a chance of being over above this is said beside the cut-off
};

/// Where grain stands at the counter. A strip never condemns it.
///   below_cut_off       the mean of all valid results is below the cut-off. That is not yet cleared (clear_grain): a
///                       cut-off from validation knows how strips read, not how grain is spread in the lot
///   suspected           it is at the cut-off or above, or a single result is over the limit: hold and confirm
///   undecided           no valid result, the end of the strip's range leaves it open, or results that cannot be taken
///                       at their word (`unsettled`): hold and test
///   laboratory_decides  a laboratory has tested this grain, and no strip of another sample is over the limit: the
///                       laboratory's result stands, by the limit's own rule
enum class CounterState { below_cut_off, suspected, undecided, laboratory_decides };

struct Conclusion {
    CounterState state = CounterState::undecided;
    std::string
        sentence;  ///< for the counter: "Suspected: hold and confirm; 34 % chance the truck is over 1.0 mg/kg; ..."
    std::optional<LimitOutcome> laboratory = std::nullopt;  ///< what a laboratory's results say, where they decide
    int repeats_due = 0;                                    ///< that the procedure still asks for
    int results_counted = 0;
    /// Mean of all valid strips on the limit's basis; both the same but where a result is only a bound.
    std::optional<double> mean_low_mg_per_kg = std::nullopt, mean_high_mg_per_kg = std::nullopt;
    /// Chance that the grain is over, from these results alone; a range where a result is only a bound.
    std::optional<double> chance_over_low = std::nullopt, chance_over_high = std::nullopt;
    std::optional<Improvement> improvement = std::nullopt;  ///< the one the sentence names
    std::optional<double> chance_with_improvement = std::nullopt;
    std::vector<std::string> notes;  ///< voids with their reasons, results beyond the procedure, the procedure
};

/// What the person at the counter is told.
///   mean of all valid strips < cut-off                          below the cut-off
///   else, or a single strip breaks the limit by its own rule    suspected
/// Every valid result counts but strips that a laboratory has answered (answered_by_laboratory). Results that the fixed
/// procedure did not ask for count too, but never lift a suspicion that stood without them. "Below x" counts as
/// anything from 0 to x, "above x" as x or more. The chance of being over is 1 less the conformity probability of the
/// mean (conformity_of), its error that of the plan with the repeats in it, at the limit. What an improvement would
/// bring is the chance if the better result read the same as the mean does now; the one with the smallest error at the
/// limit is named, where it changes that chance by 5 percent points or by half.
/// @throws Error  a cut-off that is not above 0 or lies above the limit's breaking point; a result that is no number;
///   as plan_cv, conformity_of, convert_basis
Conclusion conclude(const CounterQuestion& question);

/// "below the cut-off", "no valid result", "laboratory: over": for a table.
std::string state_in_words(const Conclusion& conclusion);
std::string in_words(CounterState state);  ///< "below the cut-off", "suspected", "undecided", "laboratory decides"

}  // namespace models
