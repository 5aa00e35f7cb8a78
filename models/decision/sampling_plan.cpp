#include "models/decision/sampling_plan.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/contamination/normal.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace models {

namespace plan_parts {

constexpr int most_samples = 12, most_portions = 4, most_analyses = 4;

void require_lot(double lot_t) {
    if (!(lot_t > 0.0) || !std::isfinite(lot_t)) {
        throw Error(fmt::format("a lot of {} t cannot be sampled", lot_t), "lot", "give its mass in tonnes");
    }
}

void require_mass(double mass_g, const char* of_what) {
    if (!(mass_g > 0.0) || !std::isfinite(mass_g)) {
        throw Error(fmt::format("a {} of {} g is none", of_what, mass_g), "sampling plan", "give grams above 0");
    }
}

/// A sample is no lighter than the portions taken of it.
bool portions_fit(const SamplingPlan& plan) {
    return plan.portions * plan.portion_g <= plan.sample_mass_g * (1.0 + 1e-12);
}

void require_plan(const SamplingPlan& plan) {
    if (plan.samples < 1 || plan.portions < 1 || plan.analyses < 1) {
        throw Error(fmt::format("a plan of {}, {} and {} judges nothing", counted(plan.samples, "sample"),
                                counted(plan.portions, "portion"), counted(plan.analyses, "analysis", "analyses")),
                    "sampling plan", "give at least one of each");
    }
    require_mass(plan.sample_mass_g, "sample");
    require_mass(plan.portion_g, "portion");
    if (!portions_fit(plan)) {
        throw Error(plan.portions == 1 ? fmt::format("a portion of {} g is larger than the sample of {} g",
                                                     plan.portion_g, plan.sample_mass_g)
                                       : fmt::format("{} portions of {} g are larger than the sample of {} g",
                                                     plan.portions, plan.portion_g, plan.sample_mass_g),
                    "sampling plan", "take a larger sample or a smaller portion");
    }
}

void require_cost(double cost, const char* of_what) {
    if (!(cost >= 0.0) || !std::isfinite(cost)) {
        throw Error(fmt::format("a cost of {} for {} is none", cost, of_what), "costs", "write 0 or more");
    }
}

void require_target(const PlanTarget& target, const Limit& limit) {
    if (!breaks_limit(target.bad_mg_per_kg, limit) || breaks_limit(target.good_mg_per_kg, limit) ||
        !(target.good_mg_per_kg > 0.0) || !std::isfinite(target.bad_mg_per_kg)) {
        throw Error(fmt::format("a target of {} mg/kg good and {} mg/kg bad does not lie on both sides of {} mg/kg",
                                target.good_mg_per_kg, target.bad_mg_per_kg, number_in_words(limit)),
                    "target", "name a good content under the limit and a bad one over it");
    }
    for (const double risk : {target.most_bad_accepted, target.most_good_rejected}) {
        if (!(risk > 0.0 && risk < 1.0)) {
            throw Error(fmt::format("a risk of {} is no chance between 0 and 1", risk), "target", "5 % is 0.05 here");
        }
    }
}

/// An own error of unknown mass says nothing of the difference between two.
void require_one_mass(const std::vector<double>& masses_g, double of_plan_g, const char* step, const char* what,
                      const char* option) {
    if (std::all_of(masses_g.begin(), masses_g.end(), [&](double g) { return g == of_plan_g; })) return;
    throw Error(fmt::format("the own {} error does not say at which {} it was measured, so that no {} is better than "
                            "another",
                            step, what, what),
                option,
                fmt::format("give the {} of the duplicates in g, or leave the choice of {} out", what,
                            std::string(what) == "mass" ? "masses" : "portions"));
}

/// Both risks of the plan; whether they meet the target.
bool meets_target(PlanChoice& choice, const PlanTarget& target, const Limit& limit, ReadingShape shape,
                  const ErrorModel& error) {
    choice.bad_accepted = acceptance_probability(choice.plan, target.bad_mg_per_kg, limit, shape, error);
    choice.good_rejected = 1.0 - acceptance_probability(choice.plan, target.good_mg_per_kg, limit, shape, error);
    return choice.bad_accepted <= target.most_bad_accepted && choice.good_rejected <= target.most_good_rejected;
}

/// Every number of samples, portions and analyses that is looked at, fewest first.
template <typename Look>
void for_each_count(SamplingPlan plan, Look&& look) {
    for (plan.samples = 1; plan.samples <= most_samples; ++plan.samples) {
        for (plan.portions = 1; plan.portions <= most_portions; ++plan.portions) {
            if (!portions_fit(plan)) break;
            for (plan.analyses = 1; plan.analyses <= most_analyses; ++plan.analyses) look(plan);
        }
    }
}

/// How far an own error reaches beyond the mass of its duplicates.
void say_own_mass(const std::optional<double>& own_cv, const std::optional<double>& own_g, double plan_g,
                  const char* step, const char* piece, const char* what, std::vector<std::string>& said) {
    if (!own_cv || own_g == plan_g) return;
    said.push_back(
        own_g ? fmt::format("The own {} error was measured with {:.4g} g. That of {:.4g} g is it in proportion to "
                            "1 / {}; no such {} was measured.",
                            step, *own_g, plan_g, what, piece)
              : fmt::format("The own {} error does not say at which {} it was measured: it is taken to be that of "
                            "{:.4g} g. A smaller {} scatters more.",
                            step, what, plan_g, piece));
}

}  // namespace plan_parts

OfficialSampling official_sampling(double lot_t) {
    plan_parts::require_lot(lot_t);
    if (lot_t >= 1500.0) {
        throw Error(fmt::format("a lot of {} t is heavier than the sampling table goes", lot_t), "lot",
                    "divide it into lots under 1500 t, or sample it undivided");
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

OfficialSampling official_sampling_undivided(double lot_t) {
    plan_parts::require_lot(lot_t);
    if (lot_t <= 100.0) return official_sampling(lot_t);
    const int increments = lot_t > 500.0 ? 100 + static_cast<int>(std::ceil(std::sqrt(lot_t))) : 100;
    return {1, lot_t, increments, 0.1 * increments};
}

double plan_cv(const SamplingPlan& plan, double content_mg_per_kg, const ErrorModel& error) {
    plan_parts::require_plan(plan);
    AssayProcedure procedure;
    procedure.sample_mass_g = plan.sample_mass_g;
    procedure.portion_g = plan.portion_g;
    const RelativeVariance one = relative_variance(content_mg_per_kg, procedure, error);
    const double places = error.own_sampling_cv ? 0.0 : plan.increments_cv * plan.increments_cv / plan.increments;
    return std::sqrt((one.sampling + places + (one.preparation + one.analysis / plan.analyses) / plan.portions) /
                     plan.samples);
}

double acceptance_probability(const SamplingPlan& plan, double content_mg_per_kg, const Limit& limit,
                              ReadingShape shape, const ErrorModel& error) {
    if (!(plan.bias > 0.0) || !std::isfinite(plan.bias)) {
        throw Error(fmt::format("a bias of {} is none", plan.bias), "sampling plan", "1 is a reader that reads true");
    }
    return acceptance_of_reading(plan.bias * content_mg_per_kg, plan_cv(plan, content_mg_per_kg, error),
                                 breaking_point(limit).mg_per_kg, shape);
}

double acceptance_of_reading(double expected, double cv, double accept_to, ReadingShape shape) {
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
    plan_parts::require_target(target, limit);
    plan_parts::require_cost(costs.sample, "a sample");
    plan_parts::require_cost(costs.portion, "a portion");
    plan_parts::require_cost(costs.analysis, "an analysis");
    std::optional<PlanChoice> best;
    plan_parts::for_each_count(like, [&](const SamplingPlan& plan) {
        PlanChoice choice{
            plan, plan.samples * (costs.sample + plan.portions * (costs.portion + plan.analyses * costs.analysis))};
        if (best && choice.cost >= best->cost) return;
        if (plan_parts::meets_target(choice, target, limit, shape, error)) best = choice;
    });
    return best;
}

PlanWork work_of(const SamplingPlan& plan, const WorkCosts& costs) {
    plan_parts::require_plan(plan);
    plan_parts::require_cost(costs.strip, "a strip");
    plan_parts::require_cost(costs.minute, "a minute");
    plan_parts::require_cost(costs.kilogram, "a kilogram");
    for (const double minutes : {costs.minutes_per_sample, costs.minutes_per_portion, costs.minutes_per_analysis}) {
        if (!(minutes >= 0.0) || !std::isfinite(minutes))
            throw Error(fmt::format("{} minutes of work are none", minutes), "costs", "write 0 or more");
    }
    PlanWork work;
    const int portions = plan.samples * plan.portions;
    work.strips = portions * plan.analyses;
    work.minutes = plan.samples * costs.minutes_per_sample + portions * costs.minutes_per_portion +
                   work.strips * costs.minutes_per_analysis;
    work.kilograms = plan.samples * plan.sample_mass_g / 1000.0;
    work.cost = work.strips * costs.strip + work.minutes * costs.minute + work.kilograms * costs.kilogram;
    return work;
}

std::optional<PlanChoice> cheapest_plan(const PlanTarget& target, const WorkCosts& costs, const PlanMasses& masses,
                                        const SamplingPlan& like, const Limit& limit, ReadingShape shape,
                                        const ErrorModel& error) {
    plan_parts::require_target(target, limit);
    std::vector<double> sample_masses = masses.sample_mass_g, portions = masses.portion_g;
    if (sample_masses.empty()) sample_masses = {like.sample_mass_g};
    if (portions.empty()) portions = {like.portion_g};
    for (const double mass_g : sample_masses) plan_parts::require_mass(mass_g, "sample");
    for (const double mass_g : portions) plan_parts::require_mass(mass_g, "portion");
    if (error.own_sampling_cv && !error.own_sampling_mass_g)
        plan_parts::require_one_mass(sample_masses, like.sample_mass_g, "sampling", "mass", "--own-sampling-mass");
    if (error.own_preparation_cv && !error.own_portion_g)
        plan_parts::require_one_mass(portions, like.portion_g, "preparation", "portion", "--own-portion");
    std::optional<PlanChoice> best;
    double best_kilograms = 0.0;
    for (const double sample_mass_g : sample_masses) {
        for (const double portion_g : portions) {
            SamplingPlan start = like;
            start.sample_mass_g = sample_mass_g;
            start.portion_g = portion_g;
            plan_parts::for_each_count(start, [&](const SamplingPlan& plan) {
                const PlanWork work = work_of(plan, costs);
                PlanChoice choice{plan, work.cost};
                if (best && (work.cost > best->cost || (work.cost == best->cost && work.kilograms >= best_kilograms)))
                    return;
                if (!plan_parts::meets_target(choice, target, limit, shape, error)) return;
                best = choice;
                best_kilograms = work.kilograms;
            });
        }
    }
    return best;
}

std::vector<std::string> extrapolations(const SamplingPlan& plan, const std::vector<double>& contents_mg_per_kg,
                                        const ErrorModel& error) {
    plan_parts::require_plan(plan);
    constexpr double studied_mg_per_kg = 5.0;
    std::vector<std::string> said;
    plan_parts::say_own_mass(error.own_sampling_cv, error.own_sampling_mass_g, plan.sample_mass_g, "sampling", "sample",
                             "mass", said);
    plan_parts::say_own_mass(error.own_preparation_cv, error.own_portion_g, plan.portion_g, "preparation", "portion",
                             "portion", said);
    if (!error.own_sampling_cv && plan.sample_mass_g != error.reference_mass_g)
        said.push_back(
            fmt::format("The sampling variance of {:.4g} g is that of the study's {:.4g} g in proportion to "
                        "1 / mass; no sample of that mass was measured.",
                        plan.sample_mass_g, error.reference_mass_g));
    if (!error.own_preparation_cv && plan.portion_g < error.reference_portion_g)
        said.push_back(
            fmt::format("A portion of {:.4g} g is an extrapolation from the study's {:.4g} g and its grind: the "
                        "worst documented. Finely ground grain may do better; duplicate grinds of your own "
                        "tell.",
                        plan.portion_g, error.reference_portion_g));
    else if (!error.own_preparation_cv && plan.portion_g > error.reference_portion_g)
        said.push_back(
            fmt::format("The preparation variance of {:.4g} g is that of the study's {:.4g} g in proportion to "
                        "1 / portion; no such portion was measured.",
                        plan.portion_g, error.reference_portion_g));
    const bool by_power_law =
        !error.own_sampling_cv || !error.own_preparation_cv || (!error.own_analysis_cv && !error.analysis_by_horwitz);
    const auto [least, most] = std::minmax_element(contents_mg_per_kg.begin(), contents_mg_per_kg.end());
    const double low = contents_mg_per_kg.empty() ? studied_mg_per_kg : *least;
    const double high = contents_mg_per_kg.empty() ? studied_mg_per_kg : *most;
    if (by_power_law && (low != studied_mg_per_kg || high != studied_mg_per_kg))
        said.push_back(fmt::format(
            "The study's figures are known at {:.4g} mg/kg. {} on its power law, whose exponent {} is unconfirmed.",
            studied_mg_per_kg,
            low == high
                ? fmt::format("{} mg/kg rests", content_in_words(low))
                : fmt::format("Contents from {} to {} mg/kg rest", content_in_words(low), content_in_words(high)),
            error.exponent));
    if (by_power_law && low < error.lowest_content_mg_per_kg)
        said.push_back(fmt::format("Below {} mg/kg the coefficient of variation stays what it is there (ours).",
                                   error.lowest_content_mg_per_kg));
    if (!error.own_analysis_cv && !error.analysis_by_horwitz)
        said.push_back(
            "The analysis is that of the study's laboratory method; a strip and its curve may read less alike. "
            "Duplicate strips of your own tell.");
    if (!error.own_sampling_cv && plan.samples > 1)
        said.push_back(
            "Several samples count as independent. Where DON lies in streaks of the lot they are so only if "
            "each is drawn across all of it.");
    return said;
}

std::string in_words(const SamplingPlan& plan) {
    return fmt::format("{} of {:.6g} g, {} of {:.6g} g {}, {} of {} portion", counted(plan.samples, "sample"),
                       plan.sample_mass_g, counted(plan.portions, "portion"), plan.portion_g,
                       plan.samples == 1 ? "of it" : "of each", counted(plan.analyses, "analysis", "analyses"),
                       plan.samples * plan.portions == 1 ? "the" : "each");
}

}  // namespace models
