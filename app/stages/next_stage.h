#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/bins_stage.h"
#include "app/stages/load_advice.h"
#include "app/stages/load_evidence.h"
#include "models/decision/second_sample.h"

namespace app {

/// One bin for one load: whether a rule stands against it, and what is expected to be lost there.
struct BinChoice {
    std::string bin;
    models::Purpose purpose = models::Purpose::food;
    models::Clearing clearing;  ///< of the load against the bin's limit; undecided where it has none
    std::string against;        ///< the rule that it would break; empty: none
    /// What the plan has against it where no rule stands against it: "59.9 t are planned for ..."; empty: nothing.
    std::string given = {};
    std::optional<double> loss;  ///< expected; none: nothing is known, or it only waits there
    bool advised = false;

    // What stands against it, each by itself: the first of them is `against`.
    bool misplaced = false;      ///< by its tag or commodity
    bool too_small = false;      ///< it has less room than the load needs
    bool not_cleared = false;    ///< the load is over its limit or undecided, or it has none
    double room_t = 0.0;         ///< as it is now, whatever the plan sends there
    std::string closed_because;  ///< empty: it is open
    std::string limit;           ///< its number; empty: it has none
};

/// The truck on the scale.
struct NextLoad {
    std::string load;
    double mass_t = 0.0;
    std::string advised;             ///< bin; empty: none takes it
    std::vector<BinChoice> choices;  ///< by loss those that neither rule nor plan stands against, then those that the
                                     ///< plan does not send there, then the others by the table
    bool in_money = false;           ///< losses are in money, else in tonnes
    /// Of another test of it, for the nearest food bin; where that would hardly clear it for food, or a result is over
    /// for food, and it is undecided for feed, for feed.
    std::optional<models::SecondSample> second;
    std::optional<double> test_cost;  ///< of that test, in money: `test` and `sample` of the costs
    bool second_pays = false;         ///< it saves more than it costs
    std::string second_bin;           ///< that it is asked for
    std::string second_says;          ///< one sentence without its full stop
    /// Of these purposes it is undecided, and no test is taken for them: it would clear it with a chance under 5 %
    /// (ours), or, of feed after that of food, it does not pay or no bin for it is open.
    std::vector<models::Purpose> no_test_for;
    bool has_result = false;    ///< a valid one of its own
    std::string unread_sample;  ///< taken of it and not read; empty: none
    std::string tested_sample;  ///< the one that read highest; empty: none is named
    LoadEvidence evidence;
    LoadAdvice advice;
};

/// What one load loses where. With p the chance that it is over a bin's limit, m its tonnes and t what lies in the bin:
///   into a bin under a limit  a p (t + m), for one bad truck spoils the bin, and in one that is not for food also
///   elsewhere than food       r m (1 - chance that it is over the mildest food limit here)
/// with a and r the store's costs wrong_acceptance_per_t and wrong_rejection_per_t, both 1 where one of them is
/// missing. Another sample pays where it saves more than it costs (where losses are tonnes: more than 0.05 t).
/// @param at  waits count to it; none: to the last record of grain
/// @throws models::Error  the load does not wait
NextLoad next_load(const SeasonData& data, const BinsView& bins, const std::string& load, bool own_duplicates,
                   const std::optional<models::Stamp>& at = {});

}  // namespace app
