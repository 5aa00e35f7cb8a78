#pragma once

#include <optional>
#include <string>
#include <vector>

#include "app/stages/bins_stage.h"
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
};

/// The truck on the scale.
struct NextLoad {
    std::string load;
    double mass_t = 0.0;
    std::string advised;             ///< bin; empty: none takes it
    std::vector<BinChoice> choices;  ///< by loss those that neither rule nor plan stands against, then those that the
                                     ///< plan does not send there, then the others by the table
    bool in_money = false;  ///< losses are in money, else in tonnes
    /// Of another test of it, for the nearest food bin; where it is over for food and undecided for feed, for feed.
    std::optional<models::SecondSample> second;
    std::string second_says;  ///< one sentence without its full stop
};

/// What one load loses where. With p the chance that it is over a bin's limit, m its tonnes and t what lies in the bin:
///   into a bin under a limit  a p (t + m), for one bad truck spoils the bin, and in one that is not for food also
///   elsewhere than food       r m (1 - chance that it is over the mildest food limit here)
/// with a and r the store's costs wrong_acceptance_per_t and wrong_rejection_per_t, both 1 where one of them is
/// missing.
/// @throws models::Error  the load does not wait
NextLoad next_load(const SeasonData& data, const BinsView& bins, const std::string& load, bool own_duplicates);

}  // namespace app
