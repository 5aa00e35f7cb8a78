#include "models/decision/plan_mip.h"

#include <algorithm>
#include <cmath>

#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"

namespace models {

namespace plan_mip_parts {

constexpr double room_slack_t = 1e-9;
constexpr double kept_slack_t = 1e-6;        // a gram: what an aim that is kept may lose to the solver's tolerance
constexpr std::size_t sets_counted = 40;     // of grain that is over together, a bin; fewer where they would
constexpr std::size_t set_rows = 60;         // take more rows than this, a bin
constexpr std::size_t most_draw_rows = 600;  // added to one bin in one round

}  // namespace plan_mip_parts

PlanMip::PlanMip(const BinPlanProblem& problem, const PlacingProblem& placing)
    : problem_(problem), placing_(placing), money_(problem.prices.has_value()) {
    build();
}

void PlanMip::ask_for(int aim) {
    const std::vector<double> objective = objective_of(aim);
    for (std::size_t c = 0; c < objective.size(); ++c) mip_.columns[c].objective = objective[c];
}

void PlanMip::ask_for_few_pieces() {
    for (MipColumn& column : mip_.columns) column.objective = 0.0;
    for (const Way& way : ways_) mip_.columns[static_cast<std::size_t>(way.used)].objective = -1.0;
}

void PlanMip::keep_value_of(const std::vector<Sent>& sent) {
    const std::vector<double> values = values_of(sent);
    std::map<int, double> sums;
    for (const auto& [column, value] : money_terms_) sums[column] += value;
    double reached = 0.0;
    Terms terms;
    for (const auto& [column, value] : sums) {
        reached += value * values[static_cast<std::size_t>(column)];
        terms.push_back({column, value});
    }
    if (!terms.empty()) mip_.at_least(reached - 1e-6 * std::max(1.0, std::abs(reached)), terms);
}

void PlanMip::build() {
    ways_of_bin_.resize(placing_.bins.size());
    for (std::size_t g = 0; g < placing_.grain.size(); ++g) {
        Terms shares;
        for (const std::size_t b : placing_.grain[g].bins) {
            const BinToFill& bin = placing_.bins[b];
            if (bin.has_tag && bin.tag != placing_.grain[g].tag) continue;
            const double mass_t = placing_.grain[g].mass_t;
            Way way{g, b};
            if (problem_.grain[g].may_split) {
                const double least = std::min(1.0, problem_.least_piece_t / mass_t);
                if (!(bin.room_t >= least * mass_t - plan_mip_parts::room_slack_t)) continue;
                way.share = mip_.add({0.0, std::min(1.0, std::max(0.0, bin.room_t) / mass_t), false, 0.0});
                way.used = mip_.yes_or_no();
                mip_.at_most(0.0, {{way.share, 1.0}, {way.used, -1.0}});
                mip_.at_least(0.0, {{way.share, 1.0}, {way.used, -least}});
            } else {
                if (mass_t > bin.room_t + plan_mip_parts::room_slack_t) continue;
                way.share = way.used = mip_.yes_or_no();
            }
            ways_of_bin_[b].push_back(ways_.size());
            ways_.push_back(way);
            shares.push_back({way.share, 1.0});
        }
        if (shares.size() > 1 || (shares.size() == 1 && problem_.grain[g].may_split)) mip_.at_most(1.0, shares);
    }
    for (std::size_t b = 0; b < placing_.bins.size(); ++b) {
        if (ways_of_bin_[b].empty()) continue;
        mip_.at_most(placing_.bins[b].room_t + plan_mip_parts::room_slack_t, tonnes_in(b));
        std::map<std::string, int> tags;
        for (const std::size_t w : ways_of_bin_[b]) tags[placing_.grain[ways_[w].grain].tag] = 0;
        if (tags.size() < 2) continue;
        Terms one_tag;
        for (auto& [tag, column] : tags) {
            column = mip_.yes_or_no();
            one_tag.push_back({column, 1.0});
        }
        mip_.at_most(1.0, one_tag);
        for (const std::size_t w : ways_of_bin_[b]) {
            mip_.at_most(0.0, {{ways_[w].used, 1.0}, {tags[placing_.grain[ways_[w].grain].tag], -1.0}});
        }
        tag_columns_[b] = std::move(tags);
    }
    draws_in_.resize(placing_.bins.size());
    over_columns_.resize(placing_.bins.size());
    if (money_) add_money();
}

PlanMip::Terms PlanMip::tonnes_in(std::size_t b) const {
    Terms terms;
    for (const std::size_t w : ways_of_bin_[b]) terms.push_back({ways_[w].share, mass_of(ways_[w])});
    return terms;
}
double PlanMip::mass_of(const Way& way) const {
    return placing_.grain[way.grain].mass_t;
}

/// Objective of an aim, by column.
std::vector<double> PlanMip::objective_of(int aim) const {
    std::vector<double> objective(mip_.columns.size(), 0.0);
    for (const Way& way : ways_) {
        const auto tier = placing_.bins[way.bin].tier;
        const auto share = static_cast<std::size_t>(way.share);
        if (aim == 0 && !problem_.grain[way.grain].may_split) objective[share] = 1.0;
        if (aim == 1) objective[share] = mass_of(way);
        if (aim == 2 && money_) objective[share] = 0.0;
        if (aim == 2 && !money_ && tier == BinToFill::Tier::food) objective[share] = mass_of(way);
        if (aim == 3 && tier == BinToFill::Tier::feed) objective[share] = mass_of(way);
        if (aim == 4 && tier == BinToFill::Tier::other) objective[share] = mass_of(way);
    }
    if (aim == 2 && money_) {
        for (const auto& [column, value] : money_terms_) objective[static_cast<std::size_t>(column)] += value;
    }
    return objective;
}

/// What the best plan so far has of an aim, later aims may not lose.
void PlanMip::keep(int aim, double reached) {
    Terms terms;
    const std::vector<double> objective = objective_of(aim);
    for (std::size_t c = 0; c < objective.size(); ++c) {
        if (objective[c] != 0.0) terms.push_back({static_cast<int>(c), objective[c]});
    }
    if (!terms.empty() && reached > 0.0)
        mip_.at_least(reached - (aim == 0 ? 0.5 : plan_mip_parts::kept_slack_t), terms);
}

std::vector<Sent> PlanMip::sent_of(const std::vector<double>& values) const {
    std::vector<Sent> sent;
    for (const Way& way : ways_) {
        const double share = values[static_cast<std::size_t>(way.share)];
        if (!(values[static_cast<std::size_t>(way.used)] > 0.5) || !(share > 0.0)) continue;
        // Shares that add up to the whole but for the solver's last digits are the whole.
        const double rounded = std::abs(share - 1.0) < 1e-7 ? 1.0 : share;
        sent.push_back({way.grain, way.bin, rounded * mass_of(way)});
    }
    return sent;
}

/// The columns that stand for a plan, the draws and spoilt tonnes that follow from it among them.
std::vector<double> PlanMip::values_of(const std::vector<Sent>& sent) const {
    std::vector<double> values(mip_.columns.size(), 0.0);
    std::vector<double> mass_t(placing_.bins.size(), 0.0);
    std::vector<std::set<std::size_t>> inside(placing_.bins.size());
    for (const Sent& one : sent) {
        mass_t[one.bin] += one.mass_t;
        inside[one.bin].insert(one.grain);
        for (const std::size_t w : ways_of_bin_[one.bin]) {
            if (ways_[w].grain != one.grain) continue;
            values[static_cast<std::size_t>(ways_[w].share)] = one.mass_t / mass_of(ways_[w]);
            values[static_cast<std::size_t>(ways_[w].used)] = 1.0;
        }
        const auto tags = tag_columns_.find(one.bin);
        if (tags != tag_columns_.end())
            values[static_cast<std::size_t>(tags->second.at(placing_.grain[one.grain].tag))] = 1.0;
    }
    for (std::size_t b = 0; b < placing_.bins.size(); ++b) {
        if (over_columns_[b].empty()) continue;
        const auto mean = mean_after(problem_, b, sent);
        for (const auto& [draw, column] : over_columns_[b]) {
            const bool over = mean && breaking_point(*problem_.bins[b].limit).breaks((*mean)[draw]);
            values[static_cast<std::size_t>(column)] = over ? 1.0 : 0.0;
        }
    }
    for (const Spoilt& spoilt : spoilt_) {
        const bool any = std::any_of(spoilt.grain.begin(), spoilt.grain.end(),
                                     [&](std::size_t g) { return inside[spoilt.bin].count(g) > 0; });
        if (any) values[static_cast<std::size_t>(spoilt.column)] = mass_t[spoilt.bin];
    }
    for (const auto& [column, contract] : beyond_) {
        double all = 0.0;
        for (std::size_t b = 0; b < mass_t.size(); ++b) {
            if (contract_of(problem_, b) == contract) all += mass_t[b];
        }
        const double left = *problem_.prices->contracts[static_cast<std::size_t>(contract)].tonnes_left;
        values[static_cast<std::size_t>(column)] = std::max(0.0, all - left);
    }
    return values;
}

/// Rows for the draws in which the mean of a bin is worst over. False: they all are there already.
bool PlanMip::add_draws(std::size_t b, const std::vector<Sent>& sent) {
    const Limit& limit = *problem_.bins[b].limit;
    const auto mean = mean_after(problem_, b, sent);
    if (!mean) return false;
    const BreakingPoint point = breaking_point(limit);
    std::vector<Eigen::Index> over;
    for (Eigen::Index s = 0; s < mean->size(); ++s) {
        if (point.breaks((*mean)[s]) && draws_in_[b].count(s) == 0) over.push_back(s);
    }
    if (over.empty()) return false;
    std::stable_sort(over.begin(), over.end(), [&](auto a, auto c) { return (*mean)[a] > (*mean)[c]; });
    const auto allowed = static_cast<std::size_t>(problem_.bin_cap * static_cast<double>(mean->size()) + 1e-9);
    if (over.size() > std::min(plan_mip_parts::most_draw_rows, allowed + 1))
        over.resize(std::min(plan_mip_parts::most_draw_rows, allowed + 1));
    const double content_t = problem_.bins[b].content_t;
    for (const Eigen::Index s : over) {
        draws_in_[b].insert(s);
        Terms terms;
        double steepest = 0.0, all_over = 0.0;
        for (const std::size_t w : ways_of_bin_[b]) {
            const std::size_t g = ways_[w].grain;
            const double excess = problem_.draws_mg_per_kg(s, static_cast<Eigen::Index>(g)) -
                                  point.mg_per_kg * counted_per_t(problem_, b, g);
            terms.push_back({ways_[w].share, mass_of(ways_[w]) * excess});
            if (excess <= 0.0) continue;
            steepest = std::max(steepest, excess);
            all_over += excess * mass_of(ways_[w]);
        }
        const double there = content_t > 0.0 ? content_t * (problem_.bins[b].content_draws_mg_per_kg[s] -
                                                            point.mg_per_kg * content_counted_per_t(problem_.bins[b]))
                                             : 0.0;
        const double most = std::min(all_over, steepest * placing_.bins[b].room_t) + there;
        if (!(most > 0.0)) continue;
        const int column = mip_.yes_or_no();
        over_columns_[b].push_back({s, column});
        terms.push_back({column, -most});
        mip_.at_most(-there, terms);
    }
    Terms sum;
    for (const auto& [draw, column] : over_columns_[b]) sum.push_back({column, 1.0});
    if (!sum.empty()) mip_.at_most(static_cast<double>(allowed), sum);
    return true;
}

void PlanMip::rule_out(const std::vector<Sent>& sent, std::size_t b) {
    Terms terms;
    double inside = 0.0;
    for (const std::size_t w : ways_of_bin_[b]) {
        const bool in = std::any_of(sent.begin(), sent.end(),
                                    [&](const Sent& one) { return one.bin == b && one.grain == ways_[w].grain; });
        terms.push_back({ways_[w].used, in ? 1.0 : -1.0});
        inside += in;
    }
    mip_.at_most(inside - 1.0, terms);
}

void PlanMip::add_money() {
    std::map<int, double> least_loss;  // by contract: of a tonne beyond it
    for (std::size_t b = 0; b < placing_.bins.size(); ++b) {
        if (ways_of_bin_[b].empty() || problem_.bins[b].bin.purpose == Purpose::hold) continue;
        const int k = contract_of(problem_, b);
        const bool food = problem_.bins[b].bin.purpose == Purpose::food;
        const double without = price_without_contract(problem_, b);
        double price = without;
        if (k >= 0) {
            const ContractForPlan& contract = problem_.prices->contracts[static_cast<std::size_t>(k)];
            price = price_at(contract, 0.0);
            for (const auto& step : contract.steps) price = std::max(price, price_at(contract, step.from_mg_per_kg));
            if (contract.tonnes_left) price = std::max(price, without);
        }
        const double cost = food ? problem_.prices->wrong_acceptance_per_t : 0.0;
        const double loss = food || k >= 0 ? price + cost : 0.0;
        const double never_spoilt = loss > 0.0 ? add_spoiling(b, price, loss) : 1.0;
        if (!(loss > 0.0)) {
            for (const auto& [column, mass_t] : tonnes_in(b)) money_terms_.push_back({column, price * mass_t});
        }
        if (k >= 0) {
            const double of_a_tonne = std::max(0.0, (price - without) * (food ? never_spoilt : 0.0));
            const auto [known, is_new] = least_loss.try_emplace(k, of_a_tonne);
            known->second = std::min(known->second, of_a_tonne);
        }
    }
    for (const auto& [k, loss] : least_loss) {
        const auto left = problem_.prices->contracts[static_cast<std::size_t>(k)].tonnes_left;
        if (!left || !(loss > 0.0)) continue;
        Terms terms;
        double most = 0.0;
        for (std::size_t b = 0; b < placing_.bins.size(); ++b) {
            if (contract_of(problem_, b) != k) continue;
            for (const auto& term : tonnes_in(b)) {
                terms.push_back(term);
                most += term.second;
            }
        }
        const int column = mip_.add({0.0, most + std::max(0.0, -*left), false, 0.0});
        terms.push_back({column, -1.0});
        mip_.at_most(*left, terms);
        money_terms_.push_back({column, -loss});
        beyond_.push_back({column, k});
    }
}

/// The bin's price, and the tonnes that are lost with grain that is over. Returns the share of draws in which
/// nothing that may come in, and nothing that lies there, is over.
double PlanMip::add_spoiling(std::size_t b, double price, double loss) {
    const Limit& limit = *problem_.bins[b].limit;
    const auto there = content_breaking_draws(problem_.bins[b]);
    std::map<std::size_t, Eigen::ArrayXd> over;
    for (const std::size_t w : ways_of_bin_[b]) over[ways_[w].grain] = breaking_draws(problem_, ways_[w].grain, limit);
    const Eigen::Index n = over.begin()->second.size();
    std::map<std::vector<std::size_t>, double> sets;
    double lost_anyhow = 0.0;
    for (Eigen::Index s = 0; s < n; ++s) {
        if (there && there->size() == n && (*there)[s] > 0.0) {
            lost_anyhow += 1.0;
            continue;
        }
        std::vector<std::size_t> together;
        for (const auto& [g, draws] : over) {
            if (draws[s] > 0.0) together.push_back(g);
        }
        sets[std::move(together)] += 1.0;
    }
    const auto draws = static_cast<double>(n);
    const std::vector<std::size_t> nothing;
    const double never = sets[nothing] / draws;
    sets.erase(nothing);
    std::vector<std::pair<std::vector<std::size_t>, double>> by_share(sets.begin(), sets.end());
    std::stable_sort(by_share.begin(), by_share.end(),
                     [](const auto& a, const auto& c) { return a.second > c.second; });
    const Terms tonnes = tonnes_in(b);
    for (const auto& [column, mass_t] : tonnes) {
        money_terms_.push_back({column, mass_t * (price - loss * lost_anyhow / draws)});
    }
    double most = 0.0;
    for (const auto& [column, mass_t] : tonnes) most += mass_t;
    most = std::min(most, placing_.bins[b].room_t);
    std::size_t rows = 0;
    for (std::size_t p = 0; p < by_share.size(); ++p) {
        const auto& [together, count] = by_share[p];
        const double lost = loss * count / draws;
        Terms own;
        std::vector<int> used;
        for (const std::size_t w : ways_of_bin_[b]) {
            if (!std::binary_search(together.begin(), together.end(), ways_[w].grain)) continue;
            own.push_back({ways_[w].share, mass_of(ways_[w])});
            used.push_back(ways_[w].used);
        }
        rows += used.size() + 1;
        if (p >= plan_mip_parts::sets_counted || rows > plan_mip_parts::set_rows) {
            for (const auto& [column, mass_t] : own) money_terms_.push_back({column, -lost * mass_t});
            continue;
        }
        const int column = mip_.add({0.0, most, false, 0.0});
        money_terms_.push_back({column, -lost});
        spoilt_.push_back({b, together, column});
        own.push_back({column, -1.0});
        mip_.at_most(0.0, own);
        for (const int one : used) {
            // tonnes in b - most (1 - u) <= w; what of the grain itself is in the bin needs no such slack.
            Terms all = tonnes;
            const auto same = std::find_if(all.begin(), all.end(), [one](const auto& t) { return t.first == one; });
            if (same != all.end()) {
                same->second += most;
            } else {
                all.push_back({one, most});
            }
            all.push_back({column, -1.0});
            mip_.at_most(most, all);
        }
    }
    return never;
}

}  // namespace models
