#pragma once

#include <cstdint>
#include <map>
#include <string>
#include <vector>

#include "models/contamination/contamination.h"
#include "models/decision/test_order.h"
#include "tests/support/season_simulator.h"
#include "tests/support/simulated_input.h"

namespace season_simulator {

/// How somebody goes about the tests of a season. Costs are of a tonne wrongly taken and wrongly turned away.
struct WayOfTesting {
    enum class By {
        value,   ///< what `first` says
        chance,  ///< the habit: the highest chance of being over the limit
        risk,    ///< the habit: the highest disease risk
        random,  ///< as the simulator shuffles
    };
    By by = By::value;
    int batch = 0;            ///< tests whose results are in before the next are placed; 0: all at once
    bool knows_costs = true;  ///< of `value`: false weighs both wrong decisions alike
};

/// One simulated season under several ways of testing. A field has the same truth, and when tested the same reading,
/// whichever way it was chosen; a fit is made once for each set of tests.
class TestedSeason {
 public:
    TestedSeason(World world, std::uint64_t seed, double limit_mg_per_kg, double wrong_acceptance_per_t,
                 models::ContaminationSettings settings = {}, models::ContaminationPriors priors = {});

    /// Fields in the order of their tests, none twice.
    std::vector<int> fields_tested(const WayOfTesting& way, int tests);
    /// What the model says after tests of these fields; that of any season comes first, season by season.
    const models::ContaminationModel& after(const std::vector<int>& fields);
    const SimulatedSeasons& truth() const { return truth_; }
    /// Index of the season's first field in the model.
    std::size_t first_index() const { return static_cast<std::size_t>(world_.past_seasons * world_.fields); }
    models::ContaminationInput input_after(const std::vector<int>& fields) const;
    /// What `first` would be asked once those fields are tested: every field 100 t, all standing.
    models::TestOrderProblem problem_after(const std::vector<int>& fields, bool knows_costs, int tests);

 private:
    World world_;
    std::uint64_t seed_;
    double limit_mg_per_kg_, wrong_acceptance_per_t_;
    models::ContaminationSettings settings_;
    models::ContaminationPriors priors_;
    SimulatedSeasons truth_;
    std::map<std::vector<int>, models::ContaminationModel> fits_;  ///< by the fields, ascending
};

}  // namespace season_simulator
