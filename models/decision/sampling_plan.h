#pragma once

#include <optional>
#include <string>
#include <vector>

#include <Eigen/Core>

#include "models/assay/error_variance.h"
#include "models/records.h"

namespace models {

/// How many handfuls official control in the European Union takes from a lot of grain, and how much they weigh
/// together. Commission Implementing Regulation (EU) 2023/2782, Annex I, tables 1 and 2 (cereals, handfuls of about 100
/// g).
struct OfficialSampling {
    int sublots = 1;
    double sublot_t = 0.0;      ///< tonnes of each
    int increments = 0;         ///< of each sublot
    double aggregate_kg = 0.0;  ///< of each sublot
};
///   lot, t          up to 0.05   0.5   1    3    10   20   100     over 100 to 300       over 300, under 1500
///   increments              3     5   10   20    40   60   100     100 a sublot of 100 t  100 of each of 3 sublots
///   aggregate, kg           1     1    1    2     4    6    10     10                     10
/// Bounds belong to the lighter class: 20 t is 60, 20.01 t is 100. A sublot may be a fifth heavier than said.
/// @throws Error  not a positive number; 1500 t and more, which the table asks to be split otherwise
OfficialSampling official_sampling(double lot_t);

/// The same where the lot is not or cannot be divided into sublots, as in a silo or a ship's hold: up to 100 t as in
/// the table above, then 100 increments, over 500 t 100 + sqrt(tonnes), rounded up. The aggregate is that many handfuls
/// of 100 g. Annex I, part II, A and N. @throws Error  not a positive number
OfficialSampling official_sampling_undivided(double lot_t);

/// A way of judging a lot: so many samples of so much grain, each ground, so many portions of each read, so many
/// readings of each extract; the lot is accepted where the mean of all readings meets the limit.
struct SamplingPlan {
    int samples = 1;
    double sample_mass_g = 454.0;
    int portions = 1;  ///< of each sample
    double portion_g = 25.0;
    int analyses = 1;   ///< of each portion
    double bias = 1.0;  ///< what the reader reads over what is there: the buyer's may differ from yours
    /// Handfuls of a sample, and the coefficient of variation between places of the lot; 0: as if it were mixed.
    int increments = 1;
    double increments_cv = 0.0;
};

/// How the mean of the readings lies about the true content. Which one fits wheat is not settled; lognormal is the
/// usual choice for a single small sample, normal for many.
enum class ReadingShape { lognormal, normal };

/// Coefficient of variation of the plan's mean at a true content, from the steps' variances (ErrorModel):
///   CV^2 = (sampling + increments_cv^2 / increments + (preparation + analysis / analyses) / portions) / samples
/// Own duplicate samples have their increments in them: then the second term is left out.
/// @throws Error  a plan of no samples, portions or analyses; a mass that is no number above 0; portions that are
///   together heavier than the sample; content not above 0
double plan_cv(const SamplingPlan& plan, double content_mg_per_kg, const ErrorModel& error = {});

/// Chance that a lot of that content is accepted: its operating characteristic. With s = CV c and A the limit's
/// breaking point:  normal F((A - c) / s);  lognormal F((ln A - ln c + q/2) / sqrt q), q = ln(1 + CV^2).
/// Whitaker (2006), Food Addit Contam 23(3), 264-270, for the idea; the limit's rounding and comparison count.
/// @throws Error  as plan_cv; a bias that is no number above 0
double acceptance_probability(const SamplingPlan& plan, double content_mg_per_kg, const Limit& limit,
                              ReadingShape shape = ReadingShape::lognormal, const ErrorModel& error = {});

/// The same from the mean of the readings' law, its coefficient of variation and the limit's breaking point.
double acceptance_of_reading(double expected_mg_per_kg, double cv, double accept_to_mg_per_kg, ReadingShape shape);

/// Risks of a plan over lots as they come.
struct PlanRisks {
    double over_and_accepted = 0.0;  ///< share of all lots: the buyer's harm
    double good_and_rejected = 0.0;  ///< share of all lots: the seller's
    double over = 0.0;               ///< share of lots that are over
    double accepted = 0.0;           ///< share of lots accepted
};
/// @param lots_mg_per_kg  contents of lots, each as likely as the other: draws of a model, or past lots
PlanRisks risks_over_lots(const SamplingPlan& plan, const Eigen::Ref<const Eigen::VectorXd>& lots_mg_per_kg,
                          const Limit& limit, ReadingShape shape = ReadingShape::lognormal,
                          const ErrorModel& error = {});

/// A target: lots of the one content are accepted at most so often, lots of the other rejected at most so often.
struct PlanTarget {
    double bad_mg_per_kg = 0.0;
    double most_bad_accepted = 0.05;
    double good_mg_per_kg = 0.0;
    double most_good_rejected = 0.05;
};
struct PlanCosts {
    double sample = 0.0, portion = 0.0, analysis = 0.0;  ///< each, in one unit of money
};
struct PlanChoice {
    SamplingPlan plan;
    double cost = 0.0, bad_accepted = 0.0, good_rejected = 0.0;
};
/// The cheapest of all plans of up to 12 samples, 4 portions and 4 analyses (masses and bias as in `like`) that meets
/// the target; among equals the one with fewer samples, portions, analyses. nullopt: none does.
/// Plans whose portions together outweigh the sample are none.
/// @throws Error  the contents of the target do not lie on both sides of the limit; a risk that is no chance between 0
///   and 1; a cost below 0
std::optional<PlanChoice> cheapest_plan(const PlanTarget& target, const PlanCosts& costs, const SamplingPlan& like,
                                        const Limit& limit, ReadingShape shape = ReadingShape::lognormal,
                                        const ErrorModel& error = {});

/// What work costs where it is done: no number of these ships with the program.
struct WorkCosts {
    double strip = 0.0, minute = 0.0;  ///< each, in one unit of money
    double kilogram = 0.0;             ///< of grain taken: ground, it is not sold any more
    double minutes_per_sample = 0.0, minutes_per_portion = 0.0, minutes_per_analysis = 0.0;
};
/// What one run of a plan takes: a strip an analysis, the minutes of each step, all the grain of the samples.
struct PlanWork {
    int strips = 0;
    double minutes = 0.0, kilograms = 0.0, cost = 0.0;
};
/// @throws Error  a cost or a number of minutes is below 0 or not finite; the plan is none
PlanWork work_of(const SamplingPlan& plan, const WorkCosts& costs);

/// Which masses the search may choose between; none: those of the plan it starts from.
struct PlanMasses {
    std::vector<double> sample_mass_g, portion_g;
};
/// The cheapest plan over counts (as above) and masses; among equals the one with less grain, then as above.
/// @throws Error  as above; a mass that is no number above 0; masses to choose from where an own error does not say at
///   which mass it was measured: the lightest would seem as good as any
std::optional<PlanChoice> cheapest_plan(const PlanTarget& target, const WorkCosts& costs, const PlanMasses& masses,
                                        const SamplingPlan& like, const Limit& limit,
                                        ReadingShape shape = ReadingShape::lognormal, const ErrorModel& error = {});

/// Where the variances of a plan reach beyond what was measured, one sentence each: a sample or a portion of another
/// mass than the study's, contents away from the one at which its figures are known, several samples. Of a step that
/// the user measured himself: another mass than that of his duplicates, or that theirs is not known.
/// @param contents_mg_per_kg  those the answer speaks of
std::vector<std::string> extrapolations(const SamplingPlan& plan, const std::vector<double>& contents_mg_per_kg,
                                        const ErrorModel& error = {});

/// "2 samples of 454 g, 1 portion of 25 g of each, 1 analysis of each portion": the plan in words.
std::string in_words(const SamplingPlan& plan);

}  // namespace models
