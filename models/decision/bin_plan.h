#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/decision/clearing.h"
#include "models/decision/reading_law.h"
#include "models/records.h"

namespace models {

enum class GrainKind { load, zone, field };

/// Grain that waits for a place.
struct WaitingGrain {
    std::string name;  ///< of the load, zone or field
    GrainKind kind = GrainKind::load;
    double mass_t = 0.0;
    std::string keep_apart;          ///< class, organic, contract, seed: never meets grain with another tag, or none
    std::string commodity;           ///< compared with the limit's where both are said
    std::string grower;              ///< for the comparison "one bin per grower" only
    std::vector<OwnResult> results;  ///< of this grain itself
    /// Fraction of its mass that is water: how a limit on dry matter or at 12 % meets it. Not looked at by one as is.
    double moisture = 0.0;
    /// Over every food limit for a reason recorded elsewhere (a probe of its zone): counts as a result does.
    bool known_over = false;
    std::string known_over_reason;
    /// Whether it may go into several bins: a field is many trucks, a load on the scale is one. Every piece has the
    /// content of the whole in each draw, so a piece is as sure as the whole; the truck that comes is judged again.
    bool may_split = false;
};

/// A bin as the plan finds it.
struct BinForPlan {
    Bin bin;                                    ///< capacity, purpose, keep_apart
    std::optional<Limit> limit = std::nullopt;  ///< none: only a bin of purpose hold or other may do without
    double content_t = 0.0;
    Eigen::VectorXd content_draws_mg_per_kg;  ///< n_draws, as is; empty where the bin is empty or not known
    double content_moisture = 0.0;            ///< fraction, of all that lies in it
    std::string content_keep_apart;           ///< the tag of what lies in it, where the bin itself has none
    bool closed = false;  ///< nothing goes in (a result over the limit came after dumping, for example)
    std::string closed_reason;
};

/// A sale of what lies in bins under one limit. Of several under a limit the dearest counts, the first of equals.
struct ContractForPlan {
    std::string contract, limit_id;  ///< bins whose limit has this id are sold under it
    double price_per_t = 0.0;
    struct Step {
        double from_mg_per_kg = 0.0;  ///< the bin's mean, rounded as the limit says and on its basis
        double change_per_t = 0.0;    ///< from here to the next step
    };
    std::vector<Step> steps;                 ///< any order
    std::optional<double> tonnes_left = {};  ///< of what is still to come; none: no end
};

/// Money, only where the user gives it.
struct PlanPrices {
    double food_per_t = 0.0, feed_per_t = 0.0, other_per_t = 0.0;  ///< where no contract takes it
    double wrong_acceptance_per_t = 0.0;  ///< of every tonne in a food bin that a load over the limit spoils
    std::vector<ContractForPlan> contracts = {};
    std::string assumed = {};  ///< what stands in for a price that nobody gave, in a sentence; empty: nothing
};

struct BinPlanProblem {
    std::vector<WaitingGrain> grain;  ///< in the order in which it arrives
    Eigen::MatrixXd
        draws_mg_per_kg;  ///< n_draws x grain, as is; empty: no DON result in the store, nothing can be cleared
    std::vector<BinForPlan> bins;
    ClearingCaps caps;
    double bin_cap = 0.05;  ///< 0 to 1: the chance that a bin's mean is over its limit stays at most this
    std::optional<ReadingLaw> buyer =
        std::nullopt;  ///< of the buyer's one test of an outbound lot; none: no rejection chance
    std::optional<PlanPrices> prices = std::nullopt;
    double least_piece_t = 5.0;  ///< of grain that is split, ours: less is not worth a trailer
    int most_nodes = 400;        ///< of the solver, each time it is asked (plan_choice.h)
    int threads = 1;             ///< 0: as many as there are processors; the plan is the same
};

struct Assignment {
    std::string name;
    GrainKind kind = GrainKind::load;
    std::string bin;
    double mass_t = 0.0;
    ClearingState state = ClearingState::undecided;  ///< against that bin's limit; of hold: against the best purpose's
    std::string reason;                              ///< the whole of it, in one sentence
    std::string in_short = {};                       ///< one line of a table: "37 % chance over 1.0: take a sample"
    bool contradicted = false;                       ///< its samples contradict one another, and in_short says so
};
struct UnplacedGrain {
    std::string name;
    GrainKind kind = GrainKind::load;
    double mass_t = 0.0;
    ClearingState state = ClearingState::undecided;
    bool turn_away = false;  ///< over, not by strips alone, and no bin here may take it
    std::string reason;
    std::string in_short = {};
    bool contradicted = false;  ///< as of an Assignment
};
/// What the plan itself has against a load in a bin that no rule of the bin shuts: its room, or the bin, is planned for
/// other grain, or it is no grain for a bin on hold. `reason` is a sentence without its full stop.
struct GivenAway {
    std::string name, bin, reason;
};
struct BinOutlook {
    std::string bin;
    double content_t = 0.0;
    /// On the basis of the bin's limit, as is where it has none. None: empty or not known.
    std::optional<double> mean_mg_per_kg, low90_mg_per_kg, high90_mg_per_kg, exceedance;
    std::optional<double> rejection_probability =
        std::nullopt;                    ///< chance that a buyer's single test of the mix is over the limit
    std::string note;                    ///< "what lies in it is not known", "closed: ..."
    std::string closed_reason = {};      ///< why nothing more may go into it; empty: it is open
    std::vector<std::string> sent = {};  ///< names of grain that the plan sends there, in its order
    double sent_t = 0.0;                 ///< of it; content_t has it in
};

/// What a way of sending grain to bins comes to. Expectations over the draws, of the grain that is sent.
struct PlanScore {
    std::string rule;  ///< "this plan", "first come", "own number against the limit", "one bin per grower"
    double tonnes_in_food_bins = 0.0;
    double tonnes_over_in_food_bins = 0.0;  ///< themselves over that bin's limit
    /// In a food bin in which anything is itself over the bin's limit: one bad truck spoils the lot, for the rest may
    /// not be mixed with it.
    double tonnes_spoilt_in_food_bins = 0.0;
    double tonnes_good_elsewhere = 0.0;            ///< in feed, other or nowhere though under a food limit here
    double tonnes_not_cleared_in_food_bins = 0.0;  ///< put there against the clearing rule
    double tonnes_held = 0.0;
    /// Without prices, tonnes: in food bins - spoilt in them - good elsewhere. With prices, money (bin_value.h).
    double value = 0.0;
};

/// What keeps grain from a better place than it has: with more of it the plan could be another.
struct Binding {
    enum class What { capacity, cap, keep_apart, clearing, closed };
    What what = What::capacity;
    std::string name;                    ///< of the bin; of clearing: "food", the purpose it is not clear for
    std::vector<std::string> keeps_out;  ///< names of grain
    double mass_t = 0.0;                 ///< of it
};
std::string in_words(const Binding& binding);  ///< "capacity of S1: L3, L5 (41.0 t)"

/// How far the plan is from the best there can be, under the aims above the last one.
struct PlanProof {
    std::string of;  ///< "value", "tonnes in food bins": what `bound` bounds
    double reached = 0.0;
    double bound = 0.0;  ///< no plan that serves the aims before it as well reaches more
    double gap = 0.0;    ///< 0 to 1 and more: (bound - reached) / max(1, |reached|)
    int nodes = 0;       ///< of the solver; 0: all ways were gone through without it
    int rounds = 0;      ///< how often it was asked
};

struct BinPlan {
    std::vector<Assignment> assignments;  ///< in the order of the grain
    std::vector<UnplacedGrain> unplaced;
    std::vector<GivenAway> given_away;  ///< of loads, in their order: the bins they do not go to by the plan alone
    std::vector<BinOutlook> bins;       ///< in the order of the bins, after the plan
    PlanScore score;
    std::vector<PlanScore> compared_with;
    bool value_in_money = false;
    bool best_of_all = true;  ///< proved: no other way serves the aims better (proof.gap is 0)
    PlanProof proof = {};
    std::vector<Binding> binds = {};  ///< the most tonnes first
    std::string says;                 ///< caps used and what the plan goes by, in one or two sentences
    std::string value_says;           ///< what the value of a plan is, in one
};

/// Where each waiting load, zone or field goes. Where it may go is a matter of rule: for every purpose in the order
/// food, feed, other, the grain's state is the best it has against the limits of the bins of that purpose:
///   cleared    any bin of that purpose for whose own limit it is cleared; where none takes it, the next purpose is
///   asked undecided  a hold bin, and no further over       the next purpose is asked; after the last a bin of purpose
///   other that asks for no limit, or turned away
/// A bin takes it where there is capacity left for all of it, all of it and the bin have the same keep_apart tag, the
/// bin is open and what lies in it is known, and with everything in it the chance that the bin's mean is over its limit
/// is at most bin_cap (and was before: grain never thins what is over). A food or feed bin without a limit takes
/// nothing.
///
/// Which of these bins is chosen over all waiting grain together, so that no bin is given to a class or crop before it
/// is known who else needs it. The plan is the one with, in this order, the most loads that find a place (grain that
/// may be split is counted by its tonnes alone), the most tonnes that do, then
///   without prices  the most tonnes in food bins, then in feed bins, then in other bins (class Standing of placing.h)
///   with prices     the greatest value over the draws: what contracts and prices pay minus what spoilt lots cost
///                   (bin_value.h has the formula)
/// between equals what arrives first goes first, into the fullest bin (least room left, then the table's order).
/// A truck stands in the yard, so a place comes before money; that order of aims is this program's own. Money chooses
/// only among bins that grain is cleared for. How it is chosen: plan_choice.h.
///
/// Compared with, on the same draws: "first come" (the first bin with room and the same tag, food before feed before
/// other, whatever the results say), "own number against the limit" (the latest own result meets the limit of the first
/// such bin: in; grain without a number is held) and "one bin per grower" (every grower's loads into one food bin after
/// the other that no other grower has).
///
/// @throws Error  shapes differ, no bins, names twice, masses not positive, a cap outside 0 to 1, a draw that is no
///   number of 0 or more, a bin fuller than it is large is not an error but takes nothing
BinPlan plan_bins(const BinPlanProblem& problem);

/// Every rule that the plan breaks, in words; empty for a plan that may be followed. Made apart from plan_bins, so
/// that any maker of plans can be held to it.
std::vector<std::string> broken_rules(const BinPlanProblem& problem, const BinPlan& plan);

/// Chance that the buyer's single reading of a lot is over the limit: the mean over draws of P(reading breaks |
/// content).
double rejection_probability(const Eigen::Ref<const Eigen::VectorXd>& lot_mean_draws_mg_per_kg, const Limit& limit,
                             const ReadingLaw& buyer);

std::string in_words(GrainKind kind);  ///< "load", "zone", "field"

}  // namespace models
