#include "app/stages/counter_stage.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app {

namespace counter_stage_parts {

/// The lowest cut-off that the kit lots of these strips were validated with for the limit.
std::optional<models::CounterCutoff> validated_cutoff(const SeasonData& data, const std::vector<CounterTest>& tests,
                                                      const models::Limit& limit) {
    std::optional<models::CounterCutoff> lowest;
    for (const CounterTest& one : tests) {
        if (one.test->method != models::Method::strip) continue;
        for (const models::KitLot& lot : data.kit_lots) {
            if (lot.kit_lot != one.test->kit_lot || !lot.cut_off) continue;
            if (!one.test->commodity.empty() && lot.commodity != one.test->commodity) continue;
            if (std::abs(lot.cut_off->for_limit_mg_per_kg - limit.limit_mg_per_kg) > 1e-9) continue;
            if (lowest && lowest->mg_per_kg <= lot.cut_off->mg_per_kg) continue;
            lowest = models::CounterCutoff{lot.cut_off->mg_per_kg,
                                           fmt::format("validation of kit lot {}{}{}", lot.kit_lot,
                                                       lot.cut_off->from.empty() ? "" : ": ", lot.cut_off->from)};
        }
    }
    return lowest;
}

models::SamplingPlan plan_of(const models::MeasuredResult& result) {
    models::SamplingPlan plan;
    plan.sample_mass_g = result.procedure.sample_mass_g.value_or(result.error.assumed_mass_g);
    plan.portion_g = result.procedure.portion_g.value_or(result.error.assumed_portion_g);
    plan.sample_mass_g = std::max(plan.sample_mass_g, plan.portion_g);
    plan.analyses = result.procedure.analyses;
    plan.increments = result.increments;
    plan.increments_cv = result.increments_cv;
    return plan;
}

/// How far apart two results are, in standard deviations of their difference; 0 where their ranges meet.
double apart(const models::MeasuredResult& a, const models::MeasuredResult& b, bool of_one_sample) {
    const models::MeasuredResult& low = a.don_mg_per_kg <= b.don_mg_per_kg ? a : b;
    const models::MeasuredResult& high = a.don_mg_per_kg <= b.don_mg_per_kg ? b : a;
    if (low.reading == models::Reading::above || high.reading == models::Reading::below) return 0.0;
    const double middle = std::sqrt(low.don_mg_per_kg * high.don_mg_per_kg);
    const auto own_variance = [&](models::MeasuredResult result) {
        result.shared.clear();  // strips of one kit lot err together, and of two lots this asks the more of them
        if (of_one_sample) {
            constexpr double all_of_it_g = 1e12;
            result.increments_cv = 0.0;
            result.procedure.sample_mass_g = all_of_it_g;
            result.error.own_sampling_cv.reset();
        }
        return models::log_variance_at(result, middle);
    };
    return std::log(high.don_mg_per_kg / low.don_mg_per_kg) / std::sqrt(own_variance(a) + own_variance(b));
}

std::string reading_in_words(const models::MeasuredResult& result) {
    const char* sign = result.reading == models::Reading::below   ? "<"
                       : result.reading == models::Reading::above ? ">"
                                                                  : "";
    return sign + models::content_in_words(result.don_mg_per_kg);
}

/// The two strips that lie furthest apart, where that is further than one pair in a hundred.
std::string disagreement(const std::vector<const CounterTest*>& strips, const SeasonData& data) {
    constexpr double one_in_a_hundred = 2.5758293035489004;
    double furthest = one_in_a_hundred;
    std::string says;
    for (std::size_t i = 0; i < strips.size(); ++i) {
        for (std::size_t j = i + 1; j < strips.size(); ++j) {
            const bool one_sample = taken_sample(data, strips[i]->sample) == taken_sample(data, strips[j]->sample);
            const double sds = apart(strips[i]->result, strips[j]->result, one_sample);
            if (sds <= furthest) continue;
            furthest = sds;
            says = fmt::format("tests {} ({}) and {} ({} mg/kg) {}do not agree: look for a mix-up",
                               strips[i]->test->test, reading_in_words(strips[i]->result), strips[j]->test->test,
                               reading_in_words(strips[j]->result), one_sample ? "of one sample " : "");
        }
    }
    return says;
}

}  // namespace counter_stage_parts

GrainConclusion conclude_on(const SeasonData& data, const std::string& grain, const std::vector<CounterTest>& tests,
                            const models::Limit& limit, double without_kit_lot_sd) {
    using namespace counter_stage_parts;
    std::vector<const CounterTest*> in_time;
    for (const CounterTest& one : tests) in_time.push_back(&one);
    std::stable_sort(in_time.begin(), in_time.end(),
                     [](const CounterTest* a, const CounterTest* b) { return a->test->time.utc < b->test->time.utc; });

    GrainConclusion told;
    told.grain = grain;
    models::CounterQuestion question;
    question.grain = grain;
    question.limit = limit;
    if (limit.procedure) question.procedure = *limit.procedure;
    question.shared_log_variance = without_kit_lot_sd * without_kit_lot_sd;
    bool any_strip = false;
    std::vector<const CounterTest*> strips;
    for (const CounterTest* one : in_time) {
        const models::Test& test = *one->test;
        told.tests.push_back(test.test);
        if (!one->why_not.empty()) {
            question.unsettled.push_back(
                fmt::format("test {} cannot be held against the limit: {}", test.test, one->why_not));
            continue;
        }
        models::CounterResult result;
        // The number stands on the limit's basis already.
        result.result = {test.test,
                         test.reading,
                         one->result.don_mg_per_kg,
                         test.method,
                         limit.basis,
                         0.0,
                         data.samples[taken_sample(data, one->sample)].sample};
        if (test.reading != models::Reading::invalid) result.result.reading = one->result.reading;
        result.void_reason = test.void_reason;
        question.results.push_back(std::move(result));
        if (test.method != models::Method::strip || test.reading == models::Reading::invalid) continue;
        strips.push_back(one);
        const double shared = models::shared_log_variance(one->result);
        if (!any_strip || shared > question.shared_log_variance) {
            question.shared_log_variance = shared;
            question.shared_log_mean = one->result.shared_log_mean;
        }
        question.plan = plan_of(one->result);
        question.error = one->result.error;
        any_strip = true;
    }
    const models::ResultError error =
        models::with_shared(models::error_at_limit(question.plan, limit, question.shape, question.error),
                            question.shared_log_variance, limit);
    const auto validated = validated_cutoff(data, tests, limit);
    question.cut_off = validated ? *validated : models::cutoff_from_guard(error, limit);
    std::erase_if(strips, [&](const CounterTest* strip) {
        return std::any_of(in_time.begin(), in_time.end(), [&](const CounterTest* other) {
            return other->test->method == models::Method::laboratory &&
                   other->test->reading != models::Reading::invalid &&
                   taken_sample(data, other->sample) == taken_sample(data, strip->sample);
        });
    });
    if (std::string says = disagreement(strips, data); !says.empty()) question.unsettled.push_back(std::move(says));
    question.improvements = models::usual_improvements(question.plan, question.error);
    told.conclusion = models::conclude(question);
    if (!limit.procedure && !told.conclusion.laboratory && told.conclusion.results_counted > 0) {
        told.conclusion.notes.push_back(
            "No procedure of repeats is laid down for this limit (columns repeat_when, repeat_most and repeat_of of "
            "limits): one more portion of a suspected result is taken.");
    }
    return told;
}

}  // namespace app
