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
    return plan;
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
    for (const CounterTest* one : in_time) {
        const models::Test& test = *one->test;
        told.tests.push_back(test.test);
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
        double shared = one->result.curve_log_variance;
        for (const models::SharedPart& part : one->result.shared) shared += part.log_variance;
        shared += std::log1p(one->result.increments_cv * one->result.increments_cv / one->result.increments);
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
    question.improvements = models::usual_improvements(question.plan, question.error);
    told.conclusion = models::conclude(question);
    if (!limit.procedure) {
        told.conclusion.notes.push_back(
            "No procedure of repeats is laid down for this limit (columns repeat_when, repeat_most and repeat_of of "
            "limits): one more portion of a suspected result is taken.");
    }
    return told;
}

}  // namespace app
