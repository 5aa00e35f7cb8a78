#pragma once

#include <optional>
#include <string>
#include <vector>

namespace models {

/// What a comparison of two kit lots comes to. The 90 % interval inside the bound on both sides is the test of
/// equivalence by two one-sided tests at 5 % each.
enum class LotOutcome {
    too_few,     ///< fewer pairs, or readings of either lot, than a claim takes: nothing is claimed
    no_bound,    ///< nobody said how much of a change would matter
    equivalent,  ///< the whole interval lies within the bound
    changed,     ///< the whole interval lies beyond the bound
    open         ///< the interval reaches over the bound: more readings are needed
};

/// How much a new kit lot reads over the old one, as a factor: 1 is no change.
///   paired  d_i = ln new_i - ln old_i of the same material; factor exp(mean d), interval by Student's t(n - 1)
///   apart   readings of one control by either lot, at different times; factor exp(mean ln new - mean ln old), interval
///           by Welch's t, its degrees of freedom by Satterthwaite: no equal spread is assumed
/// with the bound b (a fraction, so that 0.1 allows factors from 1/1.1 to 1.1). Logarithms, for a lot's curve shifts
/// readings in proportion. Sources: Welch (1947), Biometrika 34, 28-35; Schuirmann (1987), Journal of Pharmacokinetics
/// and Biopharmaceutics 15, 657-680 (equivalence). That a claim takes 5 pairs, or 5 readings of each lot, is ours.
struct LotChange {
    std::string of;  ///< the control, or "the same samples read with both"
    std::string old_lot, new_lot;
    bool paired = false;
    int old_readings = 0, new_readings = 0;  ///< paired: both the number of pairs
    std::optional<double> factor, low90, high90;
    double degrees_of_freedom = 0.0;
    std::optional<double> bound;  ///< a fraction
    LotOutcome outcome = LotOutcome::too_few;
    std::string says;  ///< one sentence without its full stop
};

struct LotPair {
    double old_mg_per_kg = 0.0, new_mg_per_kg = 0.0;
};
inline constexpr int readings_for_a_lot_claim = 5;

/// @throws Error  a content not above zero; a bound not above zero
LotChange lot_change_of_pairs(const std::string& old_lot, const std::string& new_lot, const std::vector<LotPair>& pairs,
                              std::optional<double> bound);
LotChange lot_change_of_control(const std::string& control, const std::string& old_lot, const std::string& new_lot,
                                const std::vector<double>& old_mg_per_kg, const std::vector<double>& new_mg_per_kg,
                                std::optional<double> bound);

}  // namespace models
