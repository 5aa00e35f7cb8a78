#include "models/decision/sampling_plan.h"

#include <cmath>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace models {

OfficialSampling official_sampling(double lot_t) {
    if (!(lot_t > 0.0) || !std::isfinite(lot_t)) {
        throw Error(fmt::format("a lot of {} t cannot be sampled", lot_t), "lot", "give its mass in tonnes");
    }
    if (lot_t >= 1500.0) {
        throw Error(fmt::format("a lot of {} t is heavier than the sampling table goes", lot_t), "lot",
                    "divide it into lots under 1500 t");
    }
    struct Row {
        double up_to_t;
        int increments;
        double aggregate_kg;
    };
    constexpr Row table_2[] = {{0.05, 3, 1.0},  {0.5, 5, 1.0},   {1.0, 10, 1.0},    {3.0, 20, 2.0},
                               {10.0, 40, 4.0}, {20.0, 60, 6.0}, {100.0, 100, 10.0}};
    for (const Row& row : table_2) {
        if (lot_t <= row.up_to_t) return {1, lot_t, row.increments, row.aggregate_kg};
    }
    if (lot_t > 300.0) return {3, lot_t / 3.0, 100, 10.0};
    // Sublots of 100 t; up to a fifth heavier is still one of them.
    const int sublots = static_cast<int>(std::ceil(lot_t / 120.0));
    return {sublots, lot_t / sublots, 100, 10.0};
}

double plan_cv(const SamplingPlan& plan, double content_mg_per_kg, const ErrorModel& error) {
    if (plan.samples < 1 || plan.portions < 1 || plan.analyses < 1) {
        throw Error(fmt::format("a plan of {}, {} and {} judges nothing", counted(plan.samples, "sample"),
                                counted(plan.portions, "portion"), counted(plan.analyses, "analysis", "analyses")),
                    "sampling plan", "give at least one of each");
    }
    AssayProcedure procedure;
    procedure.sample_mass_g = plan.sample_mass_g;
    procedure.portion_g = plan.portion_g;
    const RelativeVariance one = relative_variance(content_mg_per_kg, procedure, error);
    return std::sqrt((one.sampling + (one.preparation + one.analysis / plan.analyses) / plan.portions) / plan.samples);
}

double acceptance_probability(const SamplingPlan& plan, double content_mg_per_kg, const Limit& limit,
                              ReadingShape shape, const ErrorModel& error) {
    if (!(plan.bias > 0.0)) {
        throw Error(fmt::format("a bias of {} is none", plan.bias), "sampling plan", "1 is a reader that reads true");
    }
    const double cv = plan_cv(plan, content_mg_per_kg, error);
    const double accept_to = breaking_point(limit).mg_per_kg;
    const double expected = plan.bias * content_mg_per_kg;
    if (shape == ReadingShape::normal) return normal::cdf((accept_to - expected) / (cv * expected));
    const double q = std::log1p(cv * cv);
    return normal::cdf((std::log(accept_to / expected) + 0.5 * q) / std::sqrt(q));
}

PlanRisks risks_over_lots(const SamplingPlan& plan, const Eigen::Ref<const Eigen::VectorXd>& lots_mg_per_kg,
                          const Limit& limit, ReadingShape shape, const ErrorModel& error) {
    if (lots_mg_per_kg.size() == 0) throw Error("there are no lots to average over");
    const BreakingPoint point = breaking_point(limit);
    PlanRisks risks;
    const double weight = 1.0 / static_cast<double>(lots_mg_per_kg.size());
    for (const double content : lots_mg_per_kg) {
        const double accepted = acceptance_probability(plan, content, limit, shape, error);
        risks.accepted += weight * accepted;
        if (point.breaks(content)) {
            risks.over += weight;
            risks.over_and_accepted += weight * accepted;
        } else {
            risks.good_and_rejected += weight * (1.0 - accepted);
        }
    }
    return risks;
}

std::optional<PlanChoice> cheapest_plan(const PlanTarget& target, const PlanCosts& costs, const SamplingPlan& like,
                                        const Limit& limit, ReadingShape shape, const ErrorModel& error) {
    if (!breaks_limit(target.bad_mg_per_kg, limit) || breaks_limit(target.good_mg_per_kg, limit)) {
        throw Error(fmt::format("a target of {} mg/kg good and {} mg/kg bad does not lie on both sides of {} mg/kg",
                                target.good_mg_per_kg, target.bad_mg_per_kg, number_in_words(limit)),
                    "target", "name a good content under the limit and a bad one over it");
    }
    for (const double cost : {costs.sample, costs.portion, costs.analysis}) {
        if (!(cost >= 0.0)) throw Error(fmt::format("a cost of {} is none", cost), "costs", "write 0 or more");
    }
    constexpr int most_samples = 12, most_portions = 4, most_analyses = 4;
    std::optional<PlanChoice> best;
    for (int samples = 1; samples <= most_samples; ++samples) {
        for (int portions = 1; portions <= most_portions; ++portions) {
            for (int analyses = 1; analyses <= most_analyses; ++analyses) {
                PlanChoice choice;
                choice.plan = like;
                choice.plan.samples = samples;
                choice.plan.portions = portions;
                choice.plan.analyses = analyses;
                choice.cost = samples * (costs.sample + portions * (costs.portion + analyses * costs.analysis));
                if (best && choice.cost >= best->cost) continue;
                choice.bad_accepted = acceptance_probability(choice.plan, target.bad_mg_per_kg, limit, shape, error);
                choice.good_rejected =
                    1.0 - acceptance_probability(choice.plan, target.good_mg_per_kg, limit, shape, error);
                if (choice.bad_accepted > target.most_bad_accepted ||
                    choice.good_rejected > target.most_good_rejected) {
                    continue;
                }
                best = choice;
            }
        }
    }
    return best;
}

}  // namespace models
