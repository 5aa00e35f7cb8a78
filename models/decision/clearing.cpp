#include "models/decision/clearing.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/assay/basis.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace clearing_parts {

std::string result_in_words(const OwnResult& result, const Limit& limit) {
    const std::string number = content_in_words(result.don_mg_per_kg, limit.limit_mg_per_kg);
    const std::string what = result.method == Method::strip ? phrase("own strip") : phrase("own laboratory result");
    switch (result.reading) {
        case Reading::below:
            return phrase("{} below {} mg/kg", what, number);
        case Reading::above:
            return phrase("{} above {} mg/kg", what, number);
        default:
            return fmt::format("{} {} mg/kg", what, number);
    }
}

std::string broken_in_words(const OwnResult& result, const Limit& limit) {
    const bool at = limit.comparison == Comparison::at_or_over;
    std::string text = at ? phrase("{} is not under {}", result_in_words(result, limit), number_in_words(limit))
                          : phrase("{} is over {}", result_in_words(result, limit), number_in_words(limit));
    if (limit.rounding_mg_per_kg && result.reading == Reading::value) {
        text += phrase(" (rounded to {}: {})", content_in_words(*limit.rounding_mg_per_kg),
                       content_in_words(rounded_to_step(result.don_mg_per_kg, *limit.rounding_mg_per_kg)));
    }
    return text;
}

/// The result that breaks the limit, in a few words.
std::string broken_in_short(const OwnResult& result, const Limit& limit) {
    const std::string what = result.method == Method::strip ? phrase("own strip") : phrase("laboratory");
    const std::string number = content_in_words(result.don_mg_per_kg, limit.limit_mg_per_kg);
    const std::string read =
        result.reading == Reading::above ? phrase("{} above {}", what, number) : what + " " + number;
    return limit.comparison == Comparison::at_or_over ? phrase("{} is not under {}", read, number_in_words(limit))
                                                      : phrase("{} is over {}", read, number_in_words(limit));
}

std::string chance_in_short(double chance, const Limit& limit, std::optional<double> compared_with = {}) {
    return spoken(word("in a sentence", "{} chance over {}"), chance_in_words(chance, compared_with),
                  number_in_words(limit));
}

void check(std::optional<double> chance, const char* name) {
    if (chance && !(*chance >= 0.0 && *chance <= 1.0)) {
        throw Error(fmt::format("{} is no chance", *chance), name, "give one from 0 to 1 (5 % is 0.05)");
    }
}

}  // namespace clearing_parts

OwnResult on_basis(OwnResult result, Basis basis) {
    result.don_mg_per_kg = convert_basis(result.don_mg_per_kg, result.basis, basis, result.moisture);
    result.basis = basis;
    return result;
}

bool answered_by_laboratory(const OwnResult& result, const std::vector<OwnResult>& all) {
    if (result.method != Method::strip || result.sample.empty()) return false;
    return std::any_of(all.begin(), all.end(), [&](const OwnResult& other) {
        return other.method == Method::laboratory && other.reading != Reading::invalid && other.sample == result.sample;
    });
}

Clearing clear_grain(const std::vector<OwnResult>& results, std::optional<double> exceedance, const Limit& limit,
                     const ClearingCaps& caps) {
    clearing_parts::check(caps.load_cap, "load cap");
    clearing_parts::check(caps.upper_cap, "upper cap");
    clearing_parts::check(exceedance, "exceedance");
    if (!(caps.guard_mg_per_kg >= 0.0)) {
        throw Error(fmt::format("a guard of {} mg/kg is none", caps.guard_mg_per_kg), "guard", "give 0 or more");
    }
    if (caps.upper_cap && *caps.upper_cap < caps.load_cap) {
        throw Error(fmt::format("the upper cap {} lies below the load cap {}", chance_in_words(*caps.upper_cap),
                                chance_in_words(caps.load_cap, caps.upper_cap)),
                    "upper cap", "give an upper cap above the load cap");
    }

    Clearing clearing;
    clearing.exceedance = exceedance;
    std::optional<OwnResult> strip_over, laboratory_over, nearly;
    int meeting = 0;
    for (const OwnResult& reported : results) {
        if (reported.reading == Reading::invalid) continue;
        ++clearing.results_counted;
        if (answered_by_laboratory(reported, results)) continue;
        const OwnResult result = on_basis(reported, limit.basis);
        switch (outcome_of(result.reading, result.don_mg_per_kg, limit, caps.guard_mg_per_kg)) {
            case LimitOutcome::breaks:
                if (result.method == Method::laboratory && !laboratory_over) laboratory_over = result;
                if (result.method == Method::strip && !strip_over) strip_over = result;
                break;
            case LimitOutcome::meets:
                ++meeting;
                break;
            case LimitOutcome::undecided:
                if (result.reading == Reading::value) nearly = result;
                break;
        }
    }

    if (laboratory_over || strip_over) {
        clearing.state = ClearingState::over;
        clearing.suspected = !laboratory_over;
        const OwnResult& breaks = laboratory_over ? *laboratory_over : *strip_over;
        clearing.reason = clearing_parts::broken_in_words(breaks, limit);
        clearing.in_short = clearing_parts::broken_in_short(breaks, limit);
        if (clearing.suspected) clearing.reason += phrase(": suspected, hold and have a laboratory confirm it");
        if (meeting > 0) {
            clearing.reason += meeting == 1 ? phrase("; another result under the limit does not lift that")
                                            : phrase("; {} results under the limit do not lift that", meeting);
        }
        return clearing;
    }
    if (!exceedance) {
        clearing.reason = phrase("the chance of being over is not known: hold and test");
        clearing.in_short = phrase("not known: test it");
        return clearing;
    }
    if (caps.upper_cap && *exceedance > *caps.upper_cap) {
        clearing.state = ClearingState::over;
        clearing.reason = phrase("{} chance of being over: above the {} from which you take grain as over",
                                 chance_in_words(*exceedance, caps.upper_cap), chance_in_words(*caps.upper_cap));
        clearing.in_short = clearing_parts::chance_in_short(*exceedance, limit, caps.upper_cap);
        return clearing;
    }
    if (*exceedance > caps.load_cap) {
        const bool tested = clearing.results_counted > 0;
        clearing.reason = phrase("{} chance of being over: above the {} a cleared load may have; hold and {}",
                                 chance_in_words(*exceedance, caps.load_cap), chance_in_words(caps.load_cap),
                                 tested ? phrase("take a second sample or ask a laboratory") : phrase("take a sample"));
        clearing.in_short = fmt::format("{}: {}", clearing_parts::chance_in_short(*exceedance, limit, caps.load_cap),
                                        tested ? phrase("second sample or laboratory") : phrase("take a sample"));
        return clearing;
    }
    if (nearly) {
        clearing.reason = phrase(
            "{} lies within {} mg/kg of the limit {}, the guard of its rule: hold and ask a "
            "laboratory",
            clearing_parts::result_in_words(*nearly, limit), content_in_words(caps.guard_mg_per_kg),
            number_in_words(limit));
        clearing.in_short =
            phrase("own {} is close to {}: ask a laboratory",
                   content_in_words(nearly->don_mg_per_kg, limit.limit_mg_per_kg), number_in_words(limit));
        return clearing;
    }
    if (std::any_of(results.begin(), results.end(), [](const OwnResult& result) { return result.contradicted; })) {
        clearing.reason = phrase(
            "its samples contradict one another: hold, look for a mix-up and take another; until then none "
            "clears it");
        clearing.in_short = phrase("its samples contradict: take another");
        clearing.contradicted = true;
        return clearing;
    }
    clearing.state = ClearingState::cleared;
    clearing.in_short = clearing_parts::chance_in_short(*exceedance, limit);
    clearing.reason = phrase("{} chance of being over: within the {} a cleared load may have",
                             chance_in_words(*exceedance), chance_in_words(caps.load_cap));
    if (clearing.results_counted > 0) {
        clearing.reason += clearing.results_counted == 1
                               ? phrase("; its own result is not over")
                               : phrase("; none of its {} own results is over", clearing.results_counted);
    } else {
        clearing.reason += phrase("; it has no result of its own");
    }
    return clearing;
}

std::string in_words(ClearingState state) {
    switch (state) {
        case ClearingState::cleared:
            return phrase("cleared");
        case ClearingState::over:
            return phrase("over");
        case ClearingState::undecided:
            return phrase("undecided");
    }
    return "";
}

}  // namespace models
