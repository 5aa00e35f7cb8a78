#include "models/decision/bin_value.h"

#include <algorithm>

#include "models/decision/limit_rule.h"

namespace models {

int contract_of(const BinPlanProblem& problem, std::size_t bin) {
    const BinForPlan& there = problem.bins[bin];
    if (!problem.prices || !there.limit || there.bin.purpose == Purpose::hold) return -1;
    int best = -1;
    const auto& contracts = problem.prices->contracts;
    for (std::size_t k = 0; k < contracts.size(); ++k) {
        if (contracts[k].limit_id.empty() || contracts[k].limit_id != there.limit->limit_id) continue;
        if (best < 0 || contracts[k].price_per_t > contracts[static_cast<std::size_t>(best)].price_per_t) {
            best = static_cast<int>(k);
        }
    }
    return best;
}

double price_at(const ContractForPlan& contract, double mean_mg_per_kg) {
    const ContractForPlan::Step* reached = nullptr;
    for (const ContractForPlan::Step& step : contract.steps) {
        // A rounded 0.5 is no more exact in binary than the step is.
        if (step.from_mg_per_kg > mean_mg_per_kg + 1e-9) continue;
        if (reached == nullptr || step.from_mg_per_kg > reached->from_mg_per_kg) reached = &step;
    }
    return contract.price_per_t + (reached == nullptr ? 0.0 : reached->change_per_t);
}

double price_without_contract(const BinPlanProblem& problem, std::size_t bin) {
    switch (problem.bins[bin].bin.purpose) {
        case Purpose::food:
            return problem.prices->food_per_t;
        case Purpose::feed:
            return problem.prices->feed_per_t;
        case Purpose::other:
            return problem.prices->other_per_t;
        case Purpose::hold:
            return 0.0;
    }
    return 0.0;
}

Eigen::ArrayXd spoilt_draws(const BinPlanProblem& problem, std::size_t bin, const std::vector<Sent>& sent) {
    const BinForPlan& there = problem.bins[bin];
    const Eigen::Index n = std::max<Eigen::Index>(1, problem.draws_mg_per_kg.rows());
    Eigen::ArrayXd spoilt = Eigen::ArrayXd::Zero(n);
    if (!there.limit) return spoilt;
    if (const auto content = content_breaking_draws(there); content && content->size() == n) spoilt = *content;
    for (const Sent& one : sent) {
        if (one.bin == bin) spoilt = spoilt.max(breaking_draws(problem, one.grain, *there.limit));
    }
    return spoilt;
}

BinMoney money_of_bin(const BinPlanProblem& problem, std::size_t bin, const std::vector<Sent>& sent) {
    BinMoney money;
    for (const Sent& one : sent) {
        if (one.bin == bin) money.mass_t += one.mass_t;
    }
    const BinForPlan& there = problem.bins[bin];
    if (!(money.mass_t > 0.0) || there.bin.purpose == Purpose::hold) return money;
    const bool food = there.bin.purpose == Purpose::food;
    const int k = contract_of(problem, bin);
    const double without = price_without_contract(problem, bin);
    money.unsold = money.mass_t * without;
    Eigen::ArrayXd spoilt;
    if (food || k >= 0) spoilt = spoilt_draws(problem, bin, sent);
    const double cost = food ? problem.prices->wrong_acceptance_per_t : 0.0;
    if (food) money.unsold = money.mass_t * (without * (1.0 - spoilt.mean()) - cost * spoilt.mean());
    money.sold = money.unsold;
    if (k < 0) return money;
    const ContractForPlan& contract = problem.prices->contracts[static_cast<std::size_t>(k)];
    const auto mean = mean_after(problem, bin, sent);
    double paid = 0.0;
    for (Eigen::Index s = 0; s < spoilt.size(); ++s) {
        if (spoilt[s] > 0.0) {
            paid -= cost;
            continue;
        }
        // Where the mean is not known only the price itself can be named; no plan of ours fills such a bin.
        const double content = mean && s < mean->size() ? (*mean)[s] : 0.0;
        const auto step = there.limit->rounding_mg_per_kg;
        paid += price_at(contract, step ? rounded_to_step(content, *step) : content);
    }
    money.sold = money.mass_t * paid / static_cast<double>(spoilt.size());
    return money;
}

double money_together(const BinPlanProblem& problem, const std::vector<BinMoney>& bins) {
    std::vector<double> sent_t(problem.prices->contracts.size(), 0.0);
    for (std::size_t b = 0; b < bins.size(); ++b) {
        if (const int k = contract_of(problem, b); k >= 0) sent_t[static_cast<std::size_t>(k)] += bins[b].mass_t;
    }
    double value = 0.0;
    for (std::size_t b = 0; b < bins.size(); ++b) {
        double share = 1.0;
        if (const int k = contract_of(problem, b); k >= 0) {
            const auto left = problem.prices->contracts[static_cast<std::size_t>(k)].tonnes_left;
            const double all = sent_t[static_cast<std::size_t>(k)];
            if (left && all > *left) share = std::max(0.0, *left) / all;
        }
        value += share * bins[b].sold + (1.0 - share) * bins[b].unsold;
    }
    return value;
}

double money_of(const BinPlanProblem& problem, const std::vector<Sent>& sent) {
    std::vector<BinMoney> bins;
    for (std::size_t b = 0; b < problem.bins.size(); ++b) bins.push_back(money_of_bin(problem, b, sent));
    return money_together(problem, bins);
}

}  // namespace models
