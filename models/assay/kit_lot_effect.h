#pragma once

#include <optional>
#include <string>
#include <vector>

namespace models {

/// A strip beside a content that is better known: a laboratory's result of the same sample, or a control.
struct KitLotComparison {
    std::string against;  ///< "laboratory test T12", "control C1": what several strips of it share is counted once
    bool laboratory = false;
    double strip_mg_per_kg = 0.0;      ///< what the strip read
    double reference_mg_per_kg = 0.0;  ///< what it is held against
    double strip_log_variance = 0.0;   ///< of the strip alone, at the reference: preparation, reading, curve
    double reference_log_variance = 0.0;
};

/// How far the strips of one kit lot read from the truth, as far as comparisons tell it.
struct KitLotEffect {
    std::string kit_lot;
    double log_mean = 0.0;                   ///< of reading over content; 0.1: some 10 % too high
    double log_variance = 0.0;               ///< what stays unknown of it
    int laboratory_pairs = 0, controls = 0;  ///< strips compared
    /// "kit lot K7 reads 8 % high (90 % interval 1 % low to 18 % high; 3 laboratory pairs, 7 controls)"
    std::string says;
    bool operator==(const KitLotEffect&) const = default;
};

/// The effect e of a kit lot from strips y_i beside references x_j of the same grain, all lognormal with the right
/// mean:
///   ln y_i + q_i/2 - (ln x_j + p_j/2) = e + N(0, q_i) + N(0, p_j),   e ~ N(0, prior_sd^2)
/// p_j is shared by the strips that are held against x_j. With s_j the sum of 1/q_i of those strips, j counts with the
/// weight s_j / (1 + p_j s_j); the posterior is normal. (The map's model has e ~ N(0, s^2), s ~ |N(0, prior_sd)|, and
/// integrates s; this is its marginal variance.) Without comparisons it is the prior.
/// Source: Rao (1973), Linear Statistical Inference, 2nd ed., section 4a (weighted least squares with a shared error).
/// @throws Error  a content not above zero, a variance of a strip not above zero or of a reference below zero
KitLotEffect kit_lot_effect(const std::string& kit_lot, const std::vector<KitLotComparison>& comparisons,
                            double prior_sd);

}  // namespace models
