#include "models/decision/conformity.h"

#include <cmath>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/error.h"

namespace models {

namespace conformity_parts {

void require_content(Reading reading, double don_mg_per_kg) {
    if (reading == Reading::invalid) return;
    if (!std::isfinite(don_mg_per_kg) || don_mg_per_kg < 0.0) {
        throw Error(fmt::format("a result of {} mg/kg is none", don_mg_per_kg), "result",
                    "give a finite number, 0 or more, or the bound that it lies below or above");
    }
}

void require_error(const ResultError& error) {
    const bool normal_shape = error.shape == ReadingShape::normal;
    const double size = normal_shape ? error.standard_uncertainty_mg_per_kg : error.log_variance;
    if (!(size > 0.0) || !std::isfinite(size)) {
        throw Error(fmt::format("a {} of {} is none", normal_shape ? "standard uncertainty" : "log variance", size),
                    "uncertainty", "give a number above 0");
    }
}

/// Chance that grain just at the breaking point would have read x or more.
double meeting_probability(double x, const ResultError& error, double breaking_mg_per_kg) {
    if (error.shape == ReadingShape::normal)
        return conformity_probability(x, error.standard_uncertainty_mg_per_kg, breaking_mg_per_kg);
    if (x <= 0.0) return 1.0;
    const double q = error.log_variance;
    return normal::cdf((std::log(breaking_mg_per_kg / x) - 0.5 * q) / std::sqrt(q + error.shared_log_variance));
}

/// The result that lies `steps` standard deviations of its own from what grain at the breaking point reads.
double result_at(double steps, const ResultError& error, double breaking_mg_per_kg) {
    if (error.shape == ReadingShape::normal) return breaking_mg_per_kg + steps * error.standard_uncertainty_mg_per_kg;
    const double q = error.log_variance;
    return breaking_mg_per_kg * std::exp(-0.5 * q + steps * std::sqrt(q + error.shared_log_variance));
}

LimitOutcome guarded_outcome(Reading reading, double x, const Conformity& of) {
    const bool low_enough = x <= of.accept_to_mg_per_kg, high_enough = x > of.break_from_mg_per_kg;
    const bool may_meet = reading == Reading::value || reading == Reading::below;
    const bool may_break = reading == Reading::value || reading == Reading::above;
    if (may_meet && low_enough && of.without_guard == LimitOutcome::meets) return LimitOutcome::meets;
    // "above x" is more than x: at the end itself it is beyond it.
    const bool beyond = high_enough || (reading == Reading::above && x >= of.break_from_mg_per_kg);
    if (may_break && beyond && of.without_guard == LimitOutcome::breaks) return LimitOutcome::breaks;
    return LimitOutcome::undecided;
}

std::string chance_of_meeting(Reading reading, const Conformity& of) {
    if (reading == Reading::below) return fmt::format("at least {}", chance_in_words(of.probability_low));
    if (reading == Reading::above) return fmt::format("at most {}", chance_in_words(of.probability_high));
    return chance_in_words(of.probability_low);
}

std::string result_in_words(Reading reading, double x, const Limit& limit) {
    const std::string number = content_in_words(x, limit.limit_mg_per_kg);
    if (reading == Reading::below) return fmt::format("below {} mg/kg", number);
    if (reading == Reading::above) return fmt::format("above {} mg/kg", number);
    return fmt::format("{} mg/kg", number);
}

}  // namespace conformity_parts

ResultError normal_error(double standard_uncertainty_mg_per_kg) {
    ResultError error{ReadingShape::normal, standard_uncertainty_mg_per_kg, 0.0};
    conformity_parts::require_error(error);
    return error;
}

ResultError lognormal_error(double log_variance) {
    ResultError error{ReadingShape::lognormal, 0.0, log_variance};
    conformity_parts::require_error(error);
    return error;
}

ResultError error_at_limit(const SamplingPlan& plan, const Limit& limit, ReadingShape shape, const ErrorModel& error) {
    const double at = breaking_point(limit).mg_per_kg;
    const double cv = plan_cv(plan, at, error);
    return shape == ReadingShape::normal ? normal_error(cv * at) : lognormal_error(std::log1p(cv * cv));
}

ResultError with_shared(ResultError error, double shared_log_variance, const Limit& limit) {
    error.shared_log_variance += shared_log_variance;
    const double at = breaking_point(limit).mg_per_kg;
    error.standard_uncertainty_mg_per_kg =
        std::sqrt(std::pow(error.standard_uncertainty_mg_per_kg, 2) + at * at * std::expm1(shared_log_variance));
    return error;
}

Conformity conformity_of(Reading reading, double don_mg_per_kg, const ResultError& error, const Limit& limit,
                         double guard_factor) {
    using namespace conformity_parts;
    require_content(reading, don_mg_per_kg);
    require_error(error);
    if (!(guard_factor >= 0.0) || !std::isfinite(guard_factor)) {
        throw Error(fmt::format("a guard factor of {} is none", guard_factor), "guard",
                    "give 0 or more; 1.645 keeps a wrong decision to 5 %");
    }
    const double at = breaking_point(limit).mg_per_kg;
    Conformity of;
    of.guard_factor = guard_factor;
    of.wrong_decision = normal::cdf(-guard_factor);
    of.accept_to_mg_per_kg = result_at(-guard_factor, error, at);
    of.break_from_mg_per_kg = result_at(guard_factor, error, at);
    of.without_guard = outcome_of(reading, don_mg_per_kg, limit);
    if (reading == Reading::value || reading == Reading::below)
        of.probability_low = meeting_probability(don_mg_per_kg, error, at);
    if (reading == Reading::value || reading == Reading::above)
        of.probability_high = meeting_probability(don_mg_per_kg, error, at);
    of.guarded = guarded_outcome(reading, don_mg_per_kg, of);
    if (reading == Reading::invalid) {
        of.says = "A void test says nothing about the limit.";
        return of;
    }
    of.says = fmt::format(
        "{} against {} mg/kg: {} chance that the content meets the limit; {} (guard factor {:.4g}: "
        "accepted to {} mg/kg, over from {} mg/kg)",
        result_in_words(reading, don_mg_per_kg, limit), number_in_words(limit), chance_of_meeting(reading, of),
        in_words(of.guarded), guard_factor,
        of.accept_to_mg_per_kg > 0.0 ? content_in_words(of.accept_to_mg_per_kg, limit.limit_mg_per_kg)
                                     : std::string("nothing, under 0"),
        content_in_words(of.break_from_mg_per_kg, limit.limit_mg_per_kg));
    return of;
}

OfficialConclusion official_conclusion(Reading reading, double don_mg_per_kg, const AnalysisOnly& analysis,
                                       const Limit& limit) {
    using namespace conformity_parts;
    require_content(reading, don_mg_per_kg);
    breaking_point(limit);  // refuses what is no limit
    const auto& u = analysis.standard_uncertainty_mg_per_kg;
    if (u && (!(*u >= 0.0) || !std::isfinite(*u))) {
        throw Error(fmt::format("a standard uncertainty of {} mg/kg is none", *u), "uncertainty", "give 0 or more");
    }
    if (analysis.recovery && (!(*analysis.recovery > 0.0) || !std::isfinite(*analysis.recovery))) {
        throw Error(fmt::format("a recovery of {} is none", *analysis.recovery), "recovery",
                    "give a fraction above 0; 85 % is 0.85");
    }
    OfficialConclusion official;
    const std::string rule =
        "(result corrected for recovery, less U at k = 2 of the analysis alone, compared with the "
        "limit)";
    if (reading == Reading::invalid) {
        official.says =
            fmt::format("Official control in the European Union would conclude nothing from a void test {}.", rule);
        return official;
    }
    double factor = 1.0;
    if (analysis.recovery && !analysis.recovery_corrected) {
        const bool needs_none = *analysis.recovery >= 0.9 && *analysis.recovery <= 1.1;
        if (needs_none) {
            official.notes.push_back(
                fmt::format("The recovery of {:.4g} % needs no correction (90 to 110 %).", 100.0 * *analysis.recovery));
        } else {
            factor = 1.0 / *analysis.recovery;
            official.notes.push_back(
                fmt::format("The result is corrected for a recovery of {:.4g} %.", 100.0 * *analysis.recovery));
        }
    } else if (!analysis.recovery && !analysis.recovery_corrected) {
        official.notes.push_back("The recovery is not known: the result stands as it is.");
    }
    official.corrected_mg_per_kg = factor * don_mg_per_kg;
    if (u) {
        official.expanded_uncertainty_mg_per_kg = 2.0 * factor * *u;
    } else {
        official.expanded_uncertainty_mg_per_kg = 0.5 * official.corrected_mg_per_kg;
        official.notes.push_back(
            "No uncertainty of the analysis is known: U is taken as 50 % of the result, which is for methods that meet "
            "the regulation's precision criteria.");
    }
    const bool over = official_control_rejects(official.corrected_mg_per_kg, official.expanded_uncertainty_mg_per_kg,
                                               limit.limit_mg_per_kg);
    if (reading == Reading::value || (reading == Reading::below && !over) || (reading == Reading::above && over))
        official.over = over;
    if (!official.over) {
        official.says = fmt::format("Official control in the European Union would not be able to conclude from {} {}.",
                                    result_in_words(reading, don_mg_per_kg, limit), rule);
    } else {
        official.says = fmt::format(
            "Official control in the European Union would {}: {} less {} mg/kg{} is {} {} mg/kg {}.",
            over ? "take it as over" : "accept it", result_in_words(reading, official.corrected_mg_per_kg, limit),
            content_in_words(official.expanded_uncertainty_mg_per_kg),
            u ? ""
              : " (U: the 50 % that the regulation permits by default, for no uncertainty of the analysis is stated)",
            over ? "over" : "not over", number_in_words(limit), rule);
    }
    official.says += " For information: nothing is cleared by it here.";
    return official;
}

std::string in_words(LimitOutcome outcome) {
    switch (outcome) {
        case LimitOutcome::meets:
            return "meets the limit";
        case LimitOutcome::breaks:
            return "breaks the limit";
        case LimitOutcome::undecided:
            return "undecided";
    }
    return "";
}

}  // namespace models
