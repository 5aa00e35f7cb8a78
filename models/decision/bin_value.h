#pragma once

#include <vector>

#include <Eigen/Core>

#include "models/decision/bin_plan_score.h"

namespace models {

/// What the grain of a plan is worth in the user's money, by the draws. With m the tonnes sent to bin b, in draw s
///   spoilt(b,s)  anything in b, what lies there already included, is itself over b's limit in s
///   mean(b,s)    content of all that lies in b then, on the basis of its limit and rounded as the limit says
///   value(b,s) = m price(b,s) where b is not spoilt, else -m wrong_acceptance_per_t for food bins, 0 for others
///   price(b,s) = the contract's price_per_t + change_per_t of the highest step that mean(b,s) reaches
/// Where no contract names the bin's limit: food_per_t, for feed and other bins feed_per_t and other_per_t whatever
/// they hold. Grain on hold or without a place is worth nothing yet. A contract takes no more than tonnes_left; of
/// more, every bin under it is sold in the same share and the rest goes at the price without a contract.
///   value = sum over bins of the mean over draws of value(b,s)
/// The formula and the shares are this program's own; that one load over the limit spoils the lot it lies in is what
/// the mixing rules come to (the rest may not be used to thin it).
double money_of(const BinPlanProblem& problem, const std::vector<Sent>& sent);

/// 1 in every draw in which anything in the bin is itself over its limit; zeros where it has none.
Eigen::ArrayXd spoilt_draws(const BinPlanProblem& problem, std::size_t bin, const std::vector<Sent>& sent);

/// The contract that a bin is sold under: index into prices->contracts, -1 where there is none.
int contract_of(const BinPlanProblem& problem, std::size_t bin);

/// The price of a tonne at a content, rounded and on the limit's basis.
double price_at(const ContractForPlan& contract, double mean_mg_per_kg);
double price_without_contract(const BinPlanProblem& problem, std::size_t bin);  ///< 0 on hold

/// One bin's grain if all of it is sold under its contract, and if none of it is. Money.
struct BinMoney {
    double mass_t = 0.0, sold = 0.0, unsold = 0.0;
};
BinMoney money_of_bin(const BinPlanProblem& problem, std::size_t bin, const std::vector<Sent>& sent);
/// Of all bins together, contracts shared.
double money_together(const BinPlanProblem& problem, const std::vector<BinMoney>& bins);

}  // namespace models
