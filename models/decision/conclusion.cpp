#include "models/decision/conclusion.h"

#include <algorithm>
#include <cmath>
#include <limits>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/words.h"

namespace models {

namespace counter {

void require_question(const CounterQuestion& question) {
    const double cut_off = question.cut_off.mg_per_kg;
    if (!(cut_off > 0.0) || !std::isfinite(cut_off)) {
        throw Error(fmt::format("a cut-off of {} mg/kg is none", cut_off), "cut-off", "give a content above 0");
    }
    if (cut_off > breaking_point(question.limit).mg_per_kg) {
        throw Error(
            fmt::format("the cut-off {} mg/kg lies above the limit {} mg/kg",
                        content_in_words(cut_off, question.limit.limit_mg_per_kg), number_in_words(question.limit)),
            "cut-off", "take the cut-off of this limit");
    }
    if (!(question.load_cap >= 0.0 && question.load_cap <= 1.0)) {
        throw Error(fmt::format("{} is no chance", question.load_cap), "load cap",
                    "give one from 0 to 1 (5 % is 0.05)");
    }
    for (const CounterResult& test : question.results) {
        const OwnResult& result = test.result;
        if (result.reading == Reading::invalid) continue;
        if (!std::isfinite(result.don_mg_per_kg) || result.don_mg_per_kg < 0.0) {
            throw Error(fmt::format("a result of {} mg/kg is none", result.don_mg_per_kg), "test " + result.test,
                        "give a finite number, 0 or more, or void the test with its reason");
        }
    }
}

/// The content that a result stands for, as far as it is known.
struct Span {
    double low = 0.0, high = 0.0;
};
Span span_of(const OwnResult& result) {
    constexpr double beyond = std::numeric_limits<double>::infinity();
    if (result.reading == Reading::below) return {0.0, result.don_mg_per_kg};
    if (result.reading == Reading::above) return {result.don_mg_per_kg, beyond};
    return {result.don_mg_per_kg, result.don_mg_per_kg};
}
Span mean_of(const std::vector<OwnResult>& results, std::size_t first) {
    Span mean;
    for (std::size_t i = 0; i < first; ++i) {
        const Span one = span_of(results[i]);
        mean.low += one.low / static_cast<double>(first);
        mean.high += one.high / static_cast<double>(first);
    }
    return mean;
}

/// What the first so many results say. The mean of "below x" lies below it, and so is below a cut-off of x.
CounterState state_of(const std::vector<OwnResult>& results, std::size_t first, const CounterQuestion& question) {
    if (first == 0) return CounterState::undecided;
    bool any_below = false;
    for (std::size_t i = 0; i < first; ++i) {
        const OwnResult& result = results[i];
        any_below |= result.reading == Reading::below;
        if (outcome_of(result.reading, result.don_mg_per_kg, question.limit) == LimitOutcome::breaks)
            return CounterState::suspected;
    }
    const Span mean = mean_of(results, first);
    const double cut_off = question.cut_off.mg_per_kg;
    if (mean.high < cut_off || (any_below && mean.high <= cut_off)) return CounterState::below_cut_off;
    return mean.low >= cut_off ? CounterState::suspected : CounterState::undecided;
}

/// How many valid results the procedure wants, knowing the first.
std::size_t wanted(const std::vector<OwnResult>& results, const CounterQuestion& question) {
    const RepeatProcedure& procedure = question.procedure;
    const bool again =
        procedure.when == RepeatWhen::always || (procedure.when == RepeatWhen::suspected && !results.empty() &&
                                                 state_of(results, 1, question) != CounterState::below_cut_off);
    return 1 + static_cast<std::size_t>(again ? procedure.most_repeats : 0);
}

SamplingPlan repeated(SamplingPlan plan, RepeatOf of, std::size_t results) {
    const int times = static_cast<int>(results);
    if (of == RepeatOf::analysis) plan.analyses *= times;
    if (of == RepeatOf::portion) plan.portions *= times;
    if (of == RepeatOf::sample) plan.samples *= times;
    return plan;
}

double chance_over(double mean_mg_per_kg, const ResultError& error, const Limit& limit) {
    if (!std::isfinite(mean_mg_per_kg)) return 1.0;
    return 1.0 - conformity_of(Reading::value, mean_mg_per_kg, error, limit).probability_low;
}

std::string repeat_of_in_words(RepeatOf of, int number) {
    switch (of) {
        case RepeatOf::analysis:
            return counted(number, "more strip") + " of the same extract";
        case RepeatOf::portion:
            return counted(number, "more portion") + " of the ground sample";
        case RepeatOf::sample:
            return counted(number, "more sample") + " of the grain";
    }
    return "";
}

std::string span_in_words(const Conclusion& conclusion, double compared_with) {
    const double low = *conclusion.mean_low_mg_per_kg, high = *conclusion.mean_high_mg_per_kg;
    if (low == high) return content_in_words(low, compared_with) + " mg/kg";
    if (!std::isfinite(high)) return content_in_words(low, compared_with) + " mg/kg or more";
    if (low == 0.0) return "below " + content_in_words(high, compared_with) + " mg/kg";
    return content_in_words(low, compared_with) + " to " + content_in_words(high, compared_with) + " mg/kg";
}

std::string chance_over_in_words(const Conclusion& conclusion, const CounterQuestion& question) {
    const double low = *conclusion.chance_over_low, high = *conclusion.chance_over_high;
    const std::string least = chance_in_words(low), most = chance_in_words(high);
    std::string chance = least;
    if (least != most) {
        if (least.starts_with("under")) {
            chance = "at most " + most;
        } else if (most.starts_with("over")) {
            chance = "at least " + least;
        } else {
            chance = least + " to " + most;
        }
    }
    const bool at = question.limit.comparison == Comparison::at_or_over;
    const std::string basis =
        question.limit.basis == Basis::as_is ? std::string() : ", " + in_words(question.limit.basis);
    return fmt::format("{} chance {} is {} {} mg/kg{}", chance, question.grain, at ? "at or over" : "over",
                       number_in_words(question.limit), basis);
}

/// Whether a better test would change what is said: by 5 percent points, or by half of it where it is small (ours).
bool changes_much(double chance, double then) {
    constexpr double points = 0.05, share = 1.5;
    return std::abs(then - chance) >= points || then * share <= chance || chance * share <= then;
}

/// The improvement with the smallest error at the limit, where it is smaller than now.
template <typename ErrorOf>
void name_improvement(Conclusion& conclusion, const CounterQuestion& question, const SamplingPlan& now,
                      const ErrorOf& error_of) {
    if (*conclusion.mean_low_mg_per_kg != *conclusion.mean_high_mg_per_kg) return;
    const double at = breaking_point(question.limit).mg_per_kg;
    double smallest = plan_cv(now, at, question.error) * (1.0 - 1e-9);
    for (const Improvement& offered : question.improvements) {
        const double cv = plan_cv(offered.plan, at, offered.error);
        if (cv >= smallest) continue;
        smallest = cv;
        conclusion.improvement = offered;
    }
    if (!conclusion.improvement) return;
    const Improvement& best = *conclusion.improvement;
    conclusion.chance_with_improvement =
        chance_over(*conclusion.mean_low_mg_per_kg * std::exp(-question.shared_log_mean),
                    error_of(best.plan, best.error), question.limit);
}

/// Which of several results are over the limit by themselves, for their mean does not show it.
std::string singles_over_in_words(const std::vector<OwnResult>& strips, const Limit& limit) {
    if (strips.size() < 2) return "";
    const OwnResult* highest = nullptr;
    long long over = 0;
    for (const OwnResult& result : strips) {
        if (outcome_of(result.reading, result.don_mg_per_kg, limit) != LimitOutcome::breaks) continue;
        ++over;
        const bool above = result.reading == Reading::above;
        if (highest == nullptr || (above && highest->reading != Reading::above) ||
            (above == (highest->reading == Reading::above) && result.don_mg_per_kg > highest->don_mg_per_kg))
            highest = &result;
    }
    if (highest == nullptr) return "";
    const std::string content = (highest->reading == Reading::above ? "above " : "") +
                                content_in_words(highest->don_mg_per_kg, limit.limit_mg_per_kg) + " mg/kg";
    if (over == 1) return fmt::format("; one of them alone, {}, is over the limit", content);
    return fmt::format("; {} of the {} are over the limit by themselves, the highest {}", over, strips.size(), content);
}

void note_results(Conclusion& conclusion, const CounterQuestion& question, std::size_t valid, std::size_t asked_for) {
    for (const CounterResult& test : question.results) {
        if (test.result.reading != Reading::invalid) continue;
        conclusion.notes.push_back(
            fmt::format("{}void and does not count: {}.",
                        test.result.test.empty() ? "A test is " : "Test " + test.result.test + " is ",
                        test.void_reason.empty() ? "no reason is recorded" : test.void_reason));
    }
    if (valid > asked_for) {
        conclusion.notes.push_back(
            fmt::format("{} beyond what the procedure asks for: {} counted, but a suspicion is not lifted by {}.",
                        counted(static_cast<long long>(valid - asked_for), "result"),
                        by_number(static_cast<long long>(valid - asked_for), "it is", "they are"),
                        by_number(static_cast<long long>(valid - asked_for), "it", "them")));
    }
}

/// The worst that any of them says: one that breaks, else one that leaves it open.
LimitOutcome worst_of(const std::vector<OwnResult>& results, const Limit& limit) {
    LimitOutcome worst = LimitOutcome::meets;
    for (const OwnResult& result : results) {
        const LimitOutcome outcome = outcome_of(result.reading, result.don_mg_per_kg, limit);
        if (outcome == LimitOutcome::breaks || worst == LimitOutcome::meets) worst = outcome;
    }
    return worst;
}

std::string found_in_words(const std::vector<OwnResult>& laboratory, const Limit& limit) {
    std::vector<std::string> said;
    for (const OwnResult& result : laboratory) {
        said.push_back(fmt::format("{}{} mg/kg",
                                   result.reading == Reading::below   ? "below "
                                   : result.reading == Reading::above ? "above "
                                                                      : "",
                                   content_in_words(result.don_mg_per_kg, limit.limit_mg_per_kg)));
    }
    return fmt::format("{}", fmt::join(said, " and "));
}

Conclusion by_laboratory(const std::vector<OwnResult>& laboratory, const CounterQuestion& question,
                         std::size_t strips) {
    Conclusion conclusion;
    conclusion.state = CounterState::laboratory_decides;
    conclusion.results_counted = static_cast<int>(laboratory.size() + strips);
    const LimitOutcome worst = worst_of(laboratory, question.limit);
    conclusion.laboratory = worst;
    const char* stands = worst == LimitOutcome::breaks  ? "which is over by the rule of the limit: hold"
                         : worst == LimitOutcome::meets ? "which meets the limit"
                                                        : "which leaves the limit open: hold";
    conclusion.sentence = fmt::format("The laboratory decides: it found {}, {} ({}); strips say nothing beside it.",
                                      found_in_words(laboratory, question.limit), stands, in_words(question.limit));
    return conclusion;
}

}  // namespace counter

std::string in_words(const RepeatProcedure& procedure) {
    if (procedure.most_repeats < 0) {
        throw Error(fmt::format("{} repeats are none", procedure.most_repeats), "procedure", "give 0 or more");
    }
    const char* ends =
        "the mean of all valid results stands against the cut-off. A void test is made good; a single result over the "
        "limit stays suspected, whatever the others say.";
    if (procedure.when == RepeatWhen::never || procedure.most_repeats == 0)
        return std::string("Each sample is tested once and not again; ") + ends;
    const std::string again = counter::repeat_of_in_words(procedure.of, procedure.most_repeats);
    const auto is = by_number(procedure.most_repeats, "is", "are");
    if (procedure.when == RepeatWhen::always)
        return fmt::format("After the first result {} {} tested; {}", again, is, ends);
    return fmt::format("If the first result is not below the cut-off, {} {} tested; {}", again, is, ends);
}

CounterCutoff cutoff_from_guard(const ResultError& error, const Limit& limit, double guard_factor) {
    const Conformity of = conformity_of(Reading::value, 0.0, error, limit, guard_factor);
    if (!(of.accept_to_mg_per_kg > 0.0)) {
        throw Error(fmt::format("with a guard of {:.4g} times its uncertainty no result would pass {} mg/kg",
                                guard_factor, number_in_words(limit)),
                    "guard",
                    "make the result surer (a larger sample or portion, a second strip), or take a smaller guard");
    }
    return {of.accept_to_mg_per_kg, fmt::format("guarded acceptance, guard factor {:.4g}", guard_factor)};
}

std::vector<Improvement> usual_improvements(const SamplingPlan& plan, const ErrorModel& error,
                                            std::optional<double> finer_grind_cv) {
    constexpr double larger_portion_g = 25.0, larger_sample_g = 1000.0;
    std::vector<Improvement> found;
    SamplingPlan portion = plan, sample = plan, strips = plan;
    portion.portion_g = std::max(plan.portion_g, larger_portion_g);
    // A larger portion needs grain to take it from.
    portion.sample_mass_g = std::max(plan.sample_mass_g, portion.portions * portion.portion_g);
    sample.sample_mass_g = std::max(plan.sample_mass_g, larger_sample_g);
    strips.analyses = plan.analyses + 1;
    SamplingPlan twice = plan;
    twice.portions = plan.portions + 1;
    const bool larger_portion = plan.portion_g < larger_portion_g && (!error.own_preparation_cv || error.own_portion_g);
    const bool larger_sample =
        plan.sample_mass_g < larger_sample_g && (!error.own_sampling_cv || error.own_sampling_mass_g);
    const std::string of_25_g = fmt::format("a {:.4g} g portion", larger_portion_g);
    const std::string of_1_kg = "a sample of 1 kg";
    if (larger_portion) found.push_back({of_25_g, portion, error});
    if (larger_sample) found.push_back({of_1_kg, sample, error});
    found.push_back({"a second strip of the same extract", strips, error});
    if (twice.sample_mass_g >= twice.portions * twice.portion_g)
        found.push_back({"a second portion of the ground sample", twice, error});
    if (larger_portion && larger_sample) {
        SamplingPlan both = portion;
        both.sample_mass_g = sample.sample_mass_g;
        found.push_back({of_1_kg + " and " + of_25_g, both, error});
    }
    if (finer_grind_cv) {
        // Measured at the portion that is in use; a larger one of the same grind varies less, in proportion to mass.
        ErrorModel finer = error;
        finer.own_preparation_cv = finer_grind_cv;
        finer.own_portion_g = plan.portion_g;
        found.push_back({"a finer grind", plan, finer});
        if (plan.portion_g < larger_portion_g) found.push_back({"a finer grind and " + of_25_g, portion, finer});
    }
    return found;
}

Conclusion conclude(const CounterQuestion& question) {
    using namespace counter;
    require_question(question);
    const std::string procedure = in_words(question.procedure);
    std::vector<OwnResult> valid, strips, laboratory;
    for (const CounterResult& test : question.results) {
        if (test.result.reading != Reading::invalid) valid.push_back(on_basis(test.result, question.limit.basis));
    }
    for (const OwnResult& result : valid) {
        if (result.method == Method::laboratory) laboratory.push_back(result);
        if (result.method == Method::strip && !answered_by_laboratory(result, valid)) strips.push_back(result);
    }
    const bool strip_stands = worst_of(strips, question.limit) == LimitOutcome::breaks;
    if (!laboratory.empty() && (!strip_stands || worst_of(laboratory, question.limit) == LimitOutcome::breaks)) {
        Conclusion conclusion = by_laboratory(laboratory, question, valid.size() - laboratory.size());
        note_results(conclusion, question, 0, 0);
        return conclusion;
    }

    Conclusion conclusion;
    conclusion.results_counted = static_cast<int>(strips.size());
    const std::size_t asked_for = wanted(strips, question);
    if (strips.empty()) {
        conclusion.repeats_due = static_cast<int>(asked_for);
        conclusion.sentence =
            question.unsettled.empty()
                ? fmt::format("No valid result: hold {} and test it.", question.grain)
                : fmt::format("Not concluded: {}. Hold {}.", fmt::join(question.unsettled, "; "), question.grain);
        note_results(conclusion, question, 0, asked_for);
        conclusion.notes.push_back("Procedure: " + procedure);
        return conclusion;
    }
    conclusion.repeats_due = static_cast<int>(asked_for - std::min(asked_for, strips.size()));
    conclusion.state = state_of(strips, strips.size(), question);
    // What was suspected by the results that the procedure asked for stays so, however often it is tested after them.
    const CounterState as_asked = state_of(strips, std::min(asked_for, strips.size()), question);
    if (as_asked == CounterState::suspected) conclusion.state = CounterState::suspected;

    const Span mean = mean_of(strips, strips.size());
    conclusion.mean_low_mg_per_kg = mean.low;
    conclusion.mean_high_mg_per_kg = mean.high;
    const SamplingPlan now = repeated(question.plan, question.procedure.of, strips.size());
    const auto error_of = [&](const SamplingPlan& plan, const ErrorModel& model) {
        return with_shared(error_at_limit(plan, question.limit, question.shape, model), question.shared_log_variance,
                           question.limit);
    };
    const ResultError error = error_of(now, question.error);
    const double known = std::exp(-question.shared_log_mean);
    conclusion.chance_over_low = mean.low > 0.0 ? chance_over(mean.low * known, error, question.limit) : 0.0;
    conclusion.chance_over_high = chance_over(mean.high * known, error, question.limit);

    const double limit = question.limit.limit_mg_per_kg, cut_off = question.cut_off.mg_per_kg;
    const std::string found =
        fmt::format("{}{}", span_in_words(conclusion, cut_off),
                    strips.size() == 1 ? std::string() : fmt::format(" (mean of {} valid results)", strips.size()));
    const std::string against = fmt::format("the cut-off {} mg/kg", content_in_words(cut_off, limit));
    const std::string chance = chance_over_in_words(conclusion, question);
    const std::string due = conclusion.repeats_due == 0
                                ? std::string()
                                : fmt::format("; the procedure asks for {} before it is concluded",
                                              repeat_of_in_words(question.procedure.of, conclusion.repeats_due));
    if (conclusion.state != CounterState::suspected && !question.unsettled.empty()) {
        conclusion.state = CounterState::undecided;
        conclusion.sentence = fmt::format("Not concluded: hold and test again; {}. Found {} against {}; {}{}.",
                                          fmt::join(question.unsettled, "; "), found, against, chance, due);
    } else if (conclusion.state == CounterState::below_cut_off && conclusion.repeats_due > 0) {
        conclusion.state = CounterState::undecided;
        conclusion.sentence = fmt::format("Not concluded yet: {} so far, below {}; {}{}.", found, against, chance, due);
    } else {
        // The cut-off knows how strips read; how grain is spread in the lot it does not.
        const bool too_likely = *conclusion.chance_over_high > question.load_cap;
        if (conclusion.state != CounterState::below_cut_off || too_likely)
            name_improvement(conclusion, question, now, error_of);
        const std::string better =
            conclusion.improvement && changes_much(*conclusion.chance_over_low, *conclusion.chance_with_improvement)
                ? fmt::format("; {} would bring that to {} if it read the same", conclusion.improvement->words,
                              chance_in_words(*conclusion.chance_with_improvement))
                : std::string();
        if (conclusion.state == CounterState::below_cut_off) {
            const std::string cap = too_likely
                                        ? fmt::format(", above the {} a cleared load may have",
                                                      chance_in_words(question.load_cap, *conclusion.chance_over_high))
                                        : std::string();
            conclusion.sentence =
                fmt::format("Below the cut-off: {} against {}; {}{}{}.", found, against, chance, cap, better);
        } else {
            const char* verdict = conclusion.state == CounterState::suspected
                                      ? "Suspected: hold and confirm"
                                      : "Undecided, the strip's range leaves it open: hold and confirm";
            conclusion.sentence = fmt::format("{}; {}{}{}. Found {} against {}{}.", verdict, chance, better, due, found,
                                              against, singles_over_in_words(strips, question.limit));
        }
    }
    note_results(conclusion, question, strips.size(), asked_for);
    if (!laboratory.empty()) {
        conclusion.notes.push_back(
            fmt::format("A laboratory found {} in another sample of it, which does not lift what this strip says.",
                        found_in_words(laboratory, question.limit)));
    }
    if (conclusion.state == CounterState::suspected) {
        for (const std::string& why : question.unsettled) conclusion.notes.push_back("Beside that: " + why + ".");
    }
    if (!question.cut_off.from.empty()) conclusion.notes.push_back("Cut-off: " + question.cut_off.from + ".");
    conclusion.notes.push_back("Procedure: " + procedure);
    return conclusion;
}

std::string state_in_words(const Conclusion& conclusion) {
    if (conclusion.state == CounterState::undecided && conclusion.results_counted == 0) return "no valid result";
    if (!conclusion.laboratory) return in_words(conclusion.state);
    switch (*conclusion.laboratory) {
        case LimitOutcome::breaks:
            return "laboratory: over";
        case LimitOutcome::meets:
            return "laboratory: within";
        case LimitOutcome::undecided:
            break;
    }
    return "laboratory: open";
}

std::string in_words(CounterState state) {
    switch (state) {
        case CounterState::below_cut_off:
            return "below the cut-off";
        case CounterState::suspected:
            return "suspected";
        case CounterState::undecided:
            return "undecided";
        case CounterState::laboratory_decides:
            return "laboratory decides";
    }
    return "";
}

}  // namespace models
