#include "models/assay/kit_lot_effect.h"

#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"

namespace models {

namespace kit_lot_effect_parts {

constexpr double normal_95 = 1.6448536269514722;

void require_comparison(const KitLotComparison& one) {
    const auto is_content = [](double x) { return std::isfinite(x) && x > 0.0; };
    if (!is_content(one.strip_mg_per_kg) || !is_content(one.reference_mg_per_kg)) {
        throw Error(fmt::format("a strip of {} mg/kg beside {} mg/kg tells nothing", one.strip_mg_per_kg,
                                one.reference_mg_per_kg),
                    one.against, "compare contents above zero");
    }
    if (!is_content(one.strip_log_variance) || !(one.reference_log_variance >= 0.0) ||
        !std::isfinite(one.reference_log_variance)) {
        throw Error("a log variance is above zero for a strip and not below it for a reference", one.against,
                    "give the variance of the logarithm");
    }
}

std::string how_far_in_words(double log_effect) {
    const double percent = 100.0 * std::abs(std::expm1(log_effect));
    if (percent < 0.5) return "true";
    return fmt::format("{:.0f} % {}", percent, log_effect > 0.0 ? "high" : "low");
}

std::string compared_in_words(const KitLotEffect& effect) {
    std::string text;
    if (effect.laboratory_pairs > 0) text = counted(effect.laboratory_pairs, "laboratory pair");
    if (effect.controls > 0) {
        text += (text.empty() ? "" : ", ") + counted(effect.controls, "reading") + " of controls";
    }
    return text;
}

}  // namespace kit_lot_effect_parts

KitLotEffect kit_lot_effect(const std::string& kit_lot, const std::vector<KitLotComparison>& comparisons,
                            double prior_sd) {
    using namespace kit_lot_effect_parts;
    struct Group {
        double weight = 0.0, weighted = 0.0, shared = 0.0;
    };
    std::map<std::string, Group> groups;
    KitLotEffect effect;
    effect.kit_lot = kit_lot;
    for (const KitLotComparison& one : comparisons) {
        require_comparison(one);
        const double apart = std::log(one.strip_mg_per_kg) + 0.5 * one.strip_log_variance -
                             std::log(one.reference_mg_per_kg) - 0.5 * one.reference_log_variance;
        Group& group = groups[one.against];
        group.weight += 1.0 / one.strip_log_variance;
        group.weighted += apart / one.strip_log_variance;
        group.shared = one.reference_log_variance;
        ++(one.laboratory ? effect.laboratory_pairs : effect.controls);
    }
    double precision = 1.0 / (prior_sd * prior_sd), sum = 0.0;
    for (const auto& [against, group] : groups) {
        const double thinned = 1.0 / (1.0 + group.shared * group.weight);
        precision += group.weight * thinned;
        sum += group.weighted * thinned;
    }
    effect.log_variance = 1.0 / precision;
    effect.log_mean = sum / precision;
    const double reach = normal_95 * std::sqrt(effect.log_variance);
    const std::string compared = compared_in_words(effect);
    effect.says =
        fmt::format("kit lot {} reads {} (90 % interval {} to {}; {})", kit_lot, how_far_in_words(effect.log_mean),
                    how_far_in_words(effect.log_mean - reach), how_far_in_words(effect.log_mean + reach),
                    compared.empty() ? "nothing to compare it with" : compared);
    return effect;
}

}  // namespace models
