#pragma once

#include <string>
#include <vector>

#include "models/decision/bin_plan.h"

namespace models {

/// Where each grain of a problem goes: index of its bin, or one of these.
constexpr int not_placed = -1;

/// Grain that is sent to a bin, all of it or a piece.
struct Sent {
    std::size_t grain = 0, bin = 0;
    double mass_t = 0.0;
};
std::vector<Sent> sent_whole(const BinPlanProblem& problem, const std::vector<int>& bin_of_grain);

/// Where grain stands against one bin's limit, what is recorded elsewhere included. A bin without a limit clears
/// nothing; the answer then is undecided and says so.
Clearing clear_for_bin(const BinPlanProblem& problem, std::size_t grain, const BinForPlan& bin);

/// Whether the limit of the bin speaks of this grain: same commodity, where both are said.
bool speaks_of(const BinForPlan& bin, const WaitingGrain& grain);

/// The tag that grain in this bin has: the bin's own, else of what lies in it. An empty bin without a tag has none yet.
std::string tag_of(const BinForPlan& bin);

/// What lies in the bin on the basis of its limit, draw by draw; empty where it is not known.
Eigen::VectorXd content_for_limit(const BinForPlan& bin);

/// Content of a bin after grain is added, on the basis of its limit (as is where it has none), draw by draw: sum of DON
/// over sum of what the basis counts, each load at its own moisture. nullopt: the bin is empty or a content not known.
std::optional<Eigen::VectorXd> mean_after(const BinPlanProblem& problem, std::size_t bin,
                                          const std::vector<std::size_t>& grain);
/// The same of what is sent to that bin; what goes elsewhere is not looked at.
std::optional<Eigen::VectorXd> mean_after(const BinPlanProblem& problem, std::size_t bin,
                                          const std::vector<Sent>& sent);

/// Tonnes that count for the mean on the basis of the bin's limit, per tonne of the grain: 1 as is, else its dry
/// matter.
double counted_per_t(const BinPlanProblem& problem, std::size_t bin, std::size_t grain);
double content_counted_per_t(const BinForPlan& bin);  ///< the same of what lies in it

/// 1 in every draw in which grain itself breaks the limit. Without draws its own results are all there is: one entry.
Eigen::ArrayXd breaking_draws(const BinPlanProblem& problem, std::size_t grain, const Limit& limit);
/// 1 in every draw in which what lies in the bin already breaks its limit; none where it is empty or not known.
std::optional<Eigen::ArrayXd> content_breaking_draws(const BinForPlan& bin);

/// What sending grain to bins comes to.
PlanScore score_of(const BinPlanProblem& problem, const std::string& rule, const std::vector<Sent>& sent);

std::vector<int> first_come(const BinPlanProblem& problem);
std::vector<int> own_number_against_the_limit(const BinPlanProblem& problem);
std::vector<int> one_bin_per_grower(const BinPlanProblem& problem);

}  // namespace models
