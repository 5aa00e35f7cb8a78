#pragma once

#include <optional>
#include <string>
#include <vector>

namespace models {

/// What the contamination model takes for granted and the world may not keep to.
enum class Assumption {
    risk_effect,      ///< DON rises with the disease risk about as much as is published
    straight_effect,  ///< the same factor for each step of the risk, low or high
    season_effect,    ///< and the same in this season as in the others: dates and weather are as right
    no_outliers,      ///< no single field is far beyond what fields differ by
    low_results,      ///< no field is clean against all that the others foretell
    season_spread,    ///< this season's results do not scatter more than foretold
    kit_lot,          ///< kit lots read true but for 10 % or so
    stage,            ///< grain from standing heads reads like delivered grain but for 20 % or so
    reason,           ///< samples were taken for the reason that is written down
    risk_weather,     ///< the weather of the risks is the weather of the fields
    risk_dates,       ///< flowering dates are right
    increments,       ///< increments of a sample differ as if taken anywhere in the field
};

enum class DoubtState { doubted, nothing_against, cannot_be_told };
/// "doubted", "nothing against it", "cannot be told from these results".
std::string in_words(DoubtState state);

/// One assumption and what the results of a season say of it.
struct Doubt {
    Assumption what = Assumption::risk_effect;
    std::string assumption;  ///< "kit lots read true, but for 10 % or so"
    DoubtState state = DoubtState::cannot_be_told;
    /// Of results as odd as these or odder where it holds, all checks of residuals together; of `risk_effect`: that DON
    /// does not rise with the risk at all. None: nothing was tested.
    std::optional<double> chance = {};
    std::string sentence = {};    ///< with figures, ends with a full stop
    std::string in_short = {};    ///< what would go unseen, for one sentence of several; empty: no danger to name
    bool said_elsewhere = false;  ///< another note says it already
};

/// What stands under a table: at most three sentences, none that only the whole list needs to say. What is doubted
/// comes first, the surest first, what does not fit counted; what cannot be told and would be dangerous shares the last
/// one.
std::vector<std::string> warnings_of(const std::vector<Doubt>& doubts);

/// "kit_lot": how files call it.
std::string name_of(Assumption what);

}  // namespace models
