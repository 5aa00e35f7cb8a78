#include "models/decision/plan_choice.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <limits>
#include <map>

#include "models/decision/bin_value.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/decision/mip_solver.h"
#include "models/decision/plan_mip.h"

namespace models {

namespace plan_choice_parts {

constexpr double aim_slack_t = 1e-6;  // a gram: what an aim that is kept may lose to the solver's tolerance
constexpr int most_rounds = 12;       // of asking the solver anew for one aim
constexpr double money_slack = 1e-7;
constexpr std::size_t large = 150;  // columns from which a value need not be proved to the last coin
constexpr double large_gap = 1e-3;  // but to this share
constexpr double node_work = 2e4;   // nodes x rows of one search: ours, a second or two whatever the size

using Tier = BinToFill::Tier;

/// What plans are compared by, in numbers.
struct Aims {
    std::array<double, 5> of{};  ///< whole loads and tonnes with a place, then value or food, then feed, other
    bool better_than(const Aims& other, bool money) const {
        const std::array<double, 5> slack{0.5, aim_slack_t, money ? money_slack : aim_slack_t, aim_slack_t,
                                          aim_slack_t};
        for (std::size_t i = 0; i < of.size(); ++i) {
            if (of[i] > other.of[i] + slack[i]) return true;
            if (of[i] < other.of[i] - slack[i]) return false;
        }
        return false;
    }
};

class Chooser {
 public:
    Chooser(const BinPlanProblem& problem, const PlacingProblem& placing)
        : problem_(problem), placing_(placing), mip_(problem, placing) {
        for (const WaitingGrain& grain : problem.grain) splits_ = splits_ || grain.may_split;
        money_ = problem.prices.has_value();
    }

    ChosenBins choose() {
        const Placing placed = best_placing(placing_);
        best_ = sent_whole(problem_, placed.bin_of_grain);
        best_aims_ = aims_of(best_);
        if (!splits_ && placed.best_of_all) {
            if (!money_) {
                const bool food = best_aims_.of[2] > 0.0;
                done_ = {food ? "tonnes in food bins" : "tonnes with a place",
                         best_aims_.of[food ? 2 : 1],
                         best_aims_.of[food ? 2 : 1],
                         0.0,
                         0,
                         0};
                return answer(true);
            }
            kept_ = 2;  // places and tonnes are proved
        }
        return by_solver();
    }

    ChosenBins by_solver() {
        if (best_.empty()) best_aims_ = aims_of(best_);
        bool proved = true;
        const int aims = money_ ? 3 : 5;
        for (int aim = 0; aim < aims; ++aim) {
            const bool known = aim < kept_;
            if (!known) proved = stage(aim) && proved;
            if (aim < 2 || !money_) mip_.keep(aim, best_aims_.of[static_cast<std::size_t>(aim)]);
        }
        if (splits_) fewest_pieces();
        if (money_ || !proved) improve();
        if (money_) {
            done_.of = "value";
            done_.reached = best_aims_.of[2];
            done_.bound = std::max(value_bound_, done_.reached);
            // Where fewer have a place than could have, the bound speaks of other plans than this one.
            proved = proved && done_.bound - done_.reached <= 1e-6 * std::max(1.0, std::abs(done_.reached));
        }
        done_.gap = std::max(0.0, done_.bound - done_.reached) / std::max(1.0, std::abs(done_.reached));
        if (proved) done_.gap = 0.0;
        return answer(proved);
    }

 private:
    ChosenBins answer(bool proved) {
        std::sort(best_.begin(), best_.end(),
                  [](const Sent& a, const Sent& b) { return a.grain != b.grain ? a.grain < b.grain : a.bin < b.bin; });
        return {best_, proved, done_};
    }

    Aims aims_of(const std::vector<Sent>& sent) const {
        Aims aims;
        for (const Sent& one : sent) {
            if (!problem_.grain[one.grain].may_split) aims.of[0] += 1.0;
            aims.of[1] += one.mass_t;
            if (money_) continue;
            const Tier tier = placing_.bins[one.bin].tier;
            if (tier == Tier::food) aims.of[2] += one.mass_t;
            if (tier == Tier::feed) aims.of[3] += one.mass_t;
            if (tier == Tier::other) aims.of[4] += one.mass_t;
        }
        if (money_) aims.of[2] = money(sent);
        return aims;
    }

    /// money_of, each bin's part kept: a move changes two bins.
    double money(const std::vector<Sent>& sent) const {
        std::vector<std::vector<std::pair<std::size_t, double>>> inside(problem_.bins.size());
        for (const Sent& one : sent) inside[one.bin].push_back({one.grain, one.mass_t});
        std::vector<BinMoney> bins;
        for (std::size_t b = 0; b < inside.size(); ++b) {
            std::sort(inside[b].begin(), inside[b].end());
            const auto [known, is_new] = money_of_bins_.try_emplace({b, inside[b]});
            if (is_new) {
                std::vector<Sent> its;
                for (const auto& [g, mass_t] : inside[b]) its.push_back({g, b, mass_t});
                known->second = money_of_bin(problem_, b, its);
            }
            bins.push_back(known->second);
        }
        return money_together(problem_, bins);
    }

    // ------------------------------------------------------------------ the rules, exactly

    bool cap_kept(std::size_t b, const std::vector<Sent>& sent) const {
        if (!placing_.bins[b].mix_is_asked) return true;
        if (std::none_of(sent.begin(), sent.end(), [b](const Sent& one) { return one.bin == b; })) return true;
        const auto mean = mean_after(problem_, b, sent);
        return mean && exceedance_of_draws(*mean, *problem_.bins[b].limit) <= problem_.bin_cap;
    }
    bool room_and_tag_kept(std::size_t b, const std::vector<Sent>& sent) const {
        double mass_t = 0.0;
        const std::string* tag = placing_.bins[b].has_tag ? &placing_.bins[b].tag : nullptr;
        for (const Sent& one : sent) {
            if (one.bin != b) continue;
            mass_t += one.mass_t;
            const std::string& its = placing_.grain[one.grain].tag;
            if (tag == nullptr) tag = &its;
            if (*tag != its) return false;
        }
        return mass_t <= placing_.bins[b].room_t + aim_slack_t;
    }
    bool rules_kept(const std::vector<Sent>& sent) const {
        for (std::size_t b = 0; b < placing_.bins.size(); ++b) {
            if (!room_and_tag_kept(b, sent) || !cap_kept(b, sent)) return false;
        }
        return true;
    }

    MipSettings settings_now() const {
        MipSettings settings;
        const double rows = static_cast<double>(mip_.problem().rows.size() + 1);
        settings.most_nodes = std::min(problem_.most_nodes, 5 + static_cast<int>(node_work / rows));
        settings.start = mip_.values_of(best_);
        return settings;
    }

    /// Betters the plan in one aim. True: proved that no plan has more of it.
    bool stage(int aim) {
        if (mip_.empty()) {
            if (aim == 2) value_bound_ = 0.0;
            return true;
        }
        double bound = std::numeric_limits<double>::infinity();
        bool settled = false;
        for (int round = 0; round < most_rounds; ++round) {
            mip_.ask_for(aim);
            MipSettings settings = settings_now();
            if (aim == 2 && money_ && mip_.problem().columns.size() > large) settings.relative_gap = large_gap;
            const MipResult result = solve_mip(mip_.problem(), settings);
            ++done_.rounds;
            done_.nodes += result.nodes;
            if (!result.has_values()) break;
            bound = std::min(bound, result.bound);
            const std::vector<Sent> sent = mip_.sent_of(result.values);
            std::vector<std::size_t> broken;
            for (std::size_t b = 0; b < placing_.bins.size(); ++b) {
                if (!cap_kept(b, sent)) broken.push_back(b);
            }
            if (broken.empty()) {
                if (rules_kept(sent)) take(sent);
                settled = result.status == MipResult::Status::best;
                break;
            }
            bool added = false;
            for (const std::size_t b : broken) added = mip_.add_draws(b, sent) || added;
            // A mean on the very edge, within the solver's tolerance: this very plan is ruled out.
            if (!added) mip_.rule_out(sent, broken.front());
        }
        const double reached = best_aims_.of[static_cast<std::size_t>(aim)];
        if (money_ && aim == 2) value_bound_ = bound;
        static constexpr const char* names[] = {"loads with a place", "tonnes with a place", "tonnes in food bins",
                                                "tonnes in feed bins", "tonnes in other bins"};
        const bool proved = settled && bound - reached <= 1e-6 * std::max(1.0, std::abs(reached));
        // What is told is the first aim that is not proved, else the last one that says something.
        if (!(money_ && aim == 2) && !open_aim_told_ && std::isfinite(bound) && (!proved || reached > 0.0)) {
            done_.of = names[aim];
            done_.reached = reached;
            done_.bound = std::max(bound, reached);
            open_aim_told_ = !proved;
        }
        return (money_ && aim == 2) || proved;  // of a value the bound itself says it, when all is done
    }

    void take(const std::vector<Sent>& sent) {
        const Aims aims = aims_of(sent);
        if (!aims.better_than(best_aims_, money_)) return;
        best_ = sent;
        best_aims_ = aims;
    }

    void fewest_pieces() {
        if (mip_.empty()) return;
        if (money_) mip_.keep_value_of(best_);
        mip_.ask_for_few_pieces();
        const MipSettings settings = settings_now();
        const MipResult result = solve_mip(mip_.problem(), settings);
        ++done_.rounds;
        done_.nodes += result.nodes;
        if (!result.has_values()) return;
        const std::vector<Sent> sent = mip_.sent_of(result.values);
        if (sent.size() < best_.size() && rules_kept(sent) && !best_aims_.better_than(aims_of(sent), money_)) {
            best_ = sent;
            best_aims_ = aims_of(sent);
        }
    }

    // ------------------------------------------------------------------ moves and exchanges under the true aims

    void improve() {
        if (mip_.empty()) return;
        const auto may = [&](std::size_t g, std::size_t b) {
            const auto& bins = placing_.grain[g].bins;
            return std::find(bins.begin(), bins.end(), b) != bins.end();
        };
        const auto try_it = [&](const std::vector<Sent>& sent, std::size_t b, std::size_t c) {
            for (const std::size_t one : {b, c}) {
                if (!room_and_tag_kept(one, sent)) return false;
            }
            const Aims aims = aims_of(sent);
            if (!aims.better_than(best_aims_, money_) || !cap_kept(b, sent) || !cap_kept(c, sent)) return false;
            best_ = sent;
            best_aims_ = aims;
            return true;
        };
        const auto twice = [](const std::vector<Sent>& sent, std::size_t i) {
            return std::any_of(sent.begin(), sent.end(), [&](const Sent& one) {
                return &one != &sent[i] && one.grain == sent[i].grain && one.bin == sent[i].bin;
            });
        };
        int tries = 4000;  // ours: a second or so of a large pit
        for (bool again = true; again && tries > 0;) {
            again = false;
            for (std::size_t i = 0; i < best_.size() && tries > 0; ++i) {
                for (const std::size_t b : placing_.grain[best_[i].grain].bins) {
                    if (b == best_[i].bin || --tries <= 0) continue;
                    std::vector<Sent> sent = best_;
                    sent[i].bin = b;
                    if (!twice(sent, i) && try_it(sent, b, best_[i].bin)) again = true;
                }
                for (std::size_t j = i + 1; j < best_.size() && tries > 0; ++j) {
                    if (best_[i].bin == best_[j].bin || !may(best_[i].grain, best_[j].bin) ||
                        !may(best_[j].grain, best_[i].bin)) {
                        continue;
                    }
                    --tries;
                    std::vector<Sent> sent = best_;
                    std::swap(sent[i].bin, sent[j].bin);
                    if (!twice(sent, i) && !twice(sent, j) && try_it(sent, sent[i].bin, sent[j].bin)) again = true;
                }
            }
            for (std::size_t g = 0; g < placing_.grain.size() && tries > 0; ++g) {
                const bool placed =
                    std::any_of(best_.begin(), best_.end(), [g](const Sent& s) { return s.grain == g; });
                if (placed) continue;
                for (const std::size_t b : placing_.grain[g].bins) {
                    if (--tries <= 0) break;
                    std::vector<Sent> sent = best_;
                    sent.push_back({g, b, placing_.grain[g].mass_t});
                    if (try_it(sent, b, b)) {
                        again = true;
                        break;
                    }
                }
            }
        }
    }

    const BinPlanProblem& problem_;
    const PlacingProblem& placing_;
    bool splits_ = false, money_ = false, open_aim_told_ = false;
    int kept_ = 0;
    std::vector<Sent> best_;
    Aims best_aims_;
    PlanProof done_;
    double value_bound_ = std::numeric_limits<double>::infinity();
    mutable std::map<std::pair<std::size_t, std::vector<std::pair<std::size_t, double>>>, BinMoney> money_of_bins_;
    PlanMip mip_;
};

}  // namespace plan_choice_parts

ChosenBins choose_bins(const BinPlanProblem& problem, const PlacingProblem& placing) {
    return plan_choice_parts::Chooser(problem, placing).choose();
}

ChosenBins choose_bins_by_solver(const BinPlanProblem& problem, const PlacingProblem& placing) {
    return plan_choice_parts::Chooser(problem, placing).by_solver();
}

}  // namespace models
