#include "models/decision/bin_plan.h"

#include <algorithm>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "models/decision/bin_plan_score.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace models {

namespace bin_plan_parts {

constexpr double room_slack_t = 1e-9;  // below any scale's last digit; sums of tonnes are not exact in binary

std::string in_words(Purpose purpose) {
    switch (purpose) {
        case Purpose::food:
            return "food";
        case Purpose::feed:
            return "feed";
        case Purpose::hold:
            return "hold";
        case Purpose::other:
            return "other";
    }
    return "";
}

void check_chance(double chance, const char* where) {
    if (!(chance >= 0.0 && chance <= 1.0)) {
        throw Error(fmt::format("{} is no chance", chance), where, "give one from 0 to 1 (5 % is 0.05)");
    }
}

void check(const BinPlanProblem& problem) {
    if (problem.bins.empty()) throw Error("there are no bins", "bins", "add the bins and what lies in them");
    check_chance(problem.bin_cap, "bin cap");
    check_chance(problem.caps.load_cap, "load cap");
    const bool known = problem.draws_mg_per_kg.size() > 0;
    if (known && problem.draws_mg_per_kg.cols() != static_cast<Eigen::Index>(problem.grain.size())) {
        throw Error(fmt::format("there are draws of {} loads for {} loads", problem.draws_mg_per_kg.cols(),
                                problem.grain.size()));
    }
    const auto check_draws = [](const auto& draws, const std::string& where) {
        if (!(draws.array() >= 0.0).all() || !draws.allFinite()) {
            throw Error("a content that is drawn is not a number of 0 or more", where);
        }
    };
    check_draws(problem.draws_mg_per_kg, "");
    std::set<std::pair<GrainKind, std::string>> names;
    for (const WaitingGrain& grain : problem.grain) {
        const std::string where = models::in_words(grain.kind) + " " + grain.name;
        if (!names.insert({grain.kind, grain.name}).second) throw Error("it is listed twice", where);
        if (!(grain.mass_t > 0.0) || !std::isfinite(grain.mass_t)) {
            throw Error(fmt::format("{} t cannot be placed", grain.mass_t), where, "give its mass, above 0");
        }
    }
    std::set<std::string> bins;
    for (const BinForPlan& bin : problem.bins) {
        const std::string where = "bin " + bin.bin.bin;
        if (!bins.insert(bin.bin.bin).second) throw Error("it is listed twice", where);
        if (!(bin.bin.capacity_t >= 0.0) || !std::isfinite(bin.bin.capacity_t)) {
            throw Error(fmt::format("a capacity of {} t is none", bin.bin.capacity_t), where, "write 0 or more");
        }
        if (!(bin.content_t >= 0.0) || !std::isfinite(bin.content_t)) {
            throw Error(fmt::format("{} t cannot lie in it", bin.content_t), where, "correct its moves");
        }
        check_draws(bin.content_draws_mg_per_kg, where);
        if (known && bin.content_draws_mg_per_kg.size() > 0 &&
            bin.content_draws_mg_per_kg.size() != problem.draws_mg_per_kg.rows()) {
            throw Error(fmt::format("its content has {} draws, the loads have {}", bin.content_draws_mg_per_kg.size(),
                                    problem.draws_mg_per_kg.rows()),
                        where);
        }
    }
}

/// The bins as they fill, and the rule that sends one grain after the other.
class Greedy {
 public:
    explicit Greedy(const BinPlanProblem& problem) : problem_(problem), inside_(problem.bins.size()) {}

    void place(std::size_t g) {
        const WaitingGrain& grain = problem_.grain[g];
        std::string before;                             // why a better purpose did not take it
        ClearingState state = ClearingState::over;      // the best it has anywhere
        std::optional<ClearingState> for_best_purpose;  // what a person is told: mostly food
        for (const Purpose purpose : {Purpose::food, Purpose::feed, Purpose::other}) {
            const Best best = best_state(g, purpose);
            if (!best.any) continue;
            if (!for_best_purpose) for_best_purpose = best.clearing.state;
            if (best.clearing.state == ClearingState::undecided) {
                hold(g, best, purpose, before);
                return;
            }
            if (best.clearing.state == ClearingState::cleared) {
                std::vector<std::string> refusals;
                if (const auto b = fullest(g, purpose, refusals)) {
                    assign(g, *b, before);
                    return;
                }
                before += fmt::format("no {} bin takes it ({}); ", in_words(purpose), fmt::join(refusals, ", "));
                state = ClearingState::cleared;
                continue;
            }
            before += fmt::format("over for {}: {}; ", in_words(purpose), best.clearing.reason);
        }
        if (!for_best_purpose) state = ClearingState::undecided;
        if (const auto b = without_limit(g)) {
            put(g, *b, state, fmt::format("{}{} asks for no limit", before, problem_.bins[*b].bin.bin));
            return;
        }
        UnplacedGrain unplaced{grain.name, grain.kind, grain.mass_t, for_best_purpose.value_or(state), false, ""};
        if (!for_best_purpose) {
            unplaced.reason = "no bin here has a limit for it: give a bin a limit_id";
        } else if (state == ClearingState::over) {
            unplaced.turn_away = true;
            unplaced.reason = before + "no other bin may take it: turn it away";
        } else {
            unplaced.reason = before + "it stays on the truck";
        }
        plan_.unplaced.push_back(std::move(unplaced));
    }

    BinPlan plan() && {
        std::vector<int> bin_of_grain(problem_.grain.size(), not_placed);
        for (std::size_t b = 0; b < inside_.size(); ++b) {
            for (const std::size_t g : inside_[b]) bin_of_grain[g] = static_cast<int>(b);
        }
        plan_.score = score_of(problem_, "this plan", bin_of_grain);
        plan_.compared_with.push_back(score_of(problem_, "first come", first_come(problem_)));
        plan_.compared_with.push_back(
            score_of(problem_, "own number against the limit", own_number_against_the_limit(problem_)));
        plan_.compared_with.push_back(score_of(problem_, "one bin per grower", one_bin_per_grower(problem_)));
        plan_.value_in_money = problem_.prices.has_value();
        for (std::size_t b = 0; b < inside_.size(); ++b) plan_.bins.push_back(outlook(b));
        plan_.says = fmt::format(
            "A load is cleared up to a {} chance of being over, a bin filled up to a {} chance that its mean is over. "
            "{}",
            chance_in_words(problem_.caps.load_cap), chance_in_words(problem_.bin_cap),
            problem_.prices
                ? "The value is in money, by the prices given."
                : "The value is counted in tonnes: grain in food bins, minus food grain that a load over the limit "
                  "spoils, minus good grain that goes elsewhere.");
        return std::move(plan_);
    }

 private:
    /// Where grain stands with a purpose: the best it has against the limits of that purpose's bins.
    struct Best {
        bool any = false;
        Clearing clearing;
    };

    static int order_of(ClearingState state) {
        switch (state) {
            case ClearingState::cleared:
                return 0;
            case ClearingState::undecided:
                return 1;
            case ClearingState::over:
                return 2;
        }
        return 2;
    }

    Best best_state(std::size_t g, Purpose purpose) const {
        Best best;
        for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
            const BinForPlan& bin = problem_.bins[b];
            if (bin.bin.purpose != purpose || !bin.limit || !speaks_of(bin, problem_.grain[g])) continue;
            Clearing clearing = clear_for_bin(problem_, g, bin);
            if (!best.any || order_of(clearing.state) < order_of(best.clearing.state)) {
                best = {true, std::move(clearing)};
            }
        }
        return best;
    }

    double content_t(std::size_t b) const {
        double sum = problem_.bins[b].content_t;
        for (const std::size_t g : inside_[b]) sum += problem_.grain[g].mass_t;
        return sum;
    }

    /// Why the bin does not take the grain, its limit and clearing aside; empty where it does.
    std::string refusal(std::size_t g, std::size_t b) const {
        const WaitingGrain& grain = problem_.grain[g];
        const BinForPlan& bin = problem_.bins[b];
        const std::string& name = bin.bin.bin;
        if (bin.closed) return fmt::format("{} is closed: {}", name, bin.closed_reason);
        const std::string tag = inside_[b].empty() ? tag_of(bin) : problem_.grain[inside_[b].front()].keep_apart;
        const bool tagged = !inside_[b].empty() || bin.content_t > 0.0 || !tag.empty();
        if (tagged && tag != grain.keep_apart) {
            if (tag.empty()) return fmt::format("{} holds grain that is not {}", name, grain.keep_apart);
            return inside_[b].empty() ? fmt::format("{} keeps {} apart", name, tag)
                                      : fmt::format("{} is given to {} in this plan, which is kept apart", name, tag);
        }
        const double room_t = bin.bin.capacity_t - content_t(b);
        if (grain.mass_t > room_t + room_slack_t) {
            return room_t < 0.05 ? fmt::format("{} is full", name)
                                 : fmt::format("{} has room for {:.1f} t only", name, room_t);
        }
        if (bin.bin.purpose == Purpose::hold || !bin.limit) return "";
        if (bin.content_t > 0.0 && bin.content_draws_mg_per_kg.size() == 0) {
            return fmt::format("what lies in {} is not known", name);
        }
        if (bin.content_t > 0.0) {
            const double before = exceedance_of_draws(bin.content_draws_mg_per_kg, *bin.limit);
            if (before > problem_.bin_cap) {
                return fmt::format("what lies in {} has a {} chance of being over already", name,
                                   chance_in_words(before, problem_.bin_cap));
            }
        }
        std::vector<std::size_t> with = inside_[b];
        with.push_back(g);
        const auto mean = mean_after(problem_, b, with);
        if (!mean) return fmt::format("what lies in {} is not known", name);
        const double after = exceedance_of_draws(*mean, *bin.limit);
        if (after > problem_.bin_cap) {
            return fmt::format("with it the mean of {} would have a {} chance of being over", name,
                               chance_in_words(after, problem_.bin_cap));
        }
        return "";
    }

    /// The bin of that purpose with least room left among those that take the grain and for whose limit it is cleared.
    std::optional<std::size_t> fullest(std::size_t g, Purpose purpose, std::vector<std::string>& refusals) const {
        std::optional<std::size_t> best;
        double best_room_t = 0.0;
        for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
            const BinForPlan& bin = problem_.bins[b];
            if (bin.bin.purpose != purpose || !speaks_of(bin, problem_.grain[g])) continue;
            if (!bin.limit && purpose == Purpose::other) continue;
            if (!bin.limit && purpose != Purpose::hold) {
                refusals.push_back(fmt::format("{} has no limit", bin.bin.bin));
                continue;
            }
            if (purpose != Purpose::hold && clear_for_bin(problem_, g, bin).state != ClearingState::cleared) {
                refusals.push_back(fmt::format("not cleared for {}", bin.bin.bin));
                continue;
            }
            if (std::string no = refusal(g, b); !no.empty()) {
                refusals.push_back(std::move(no));
                continue;
            }
            const double room_t = bin.bin.capacity_t - content_t(b);
            if (!best || room_t < best_room_t) {
                best = b;
                best_room_t = room_t;
            }
        }
        return best;
    }

    /// Last of all, a bin of purpose other that asks for no limit.
    std::optional<std::size_t> without_limit(std::size_t g) const {
        std::optional<std::size_t> best;
        double best_room_t = 0.0;
        for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
            const BinForPlan& bin = problem_.bins[b];
            if (bin.bin.purpose != Purpose::other || bin.limit || !refusal(g, b).empty()) continue;
            const double room_t = bin.bin.capacity_t - content_t(b);
            if (!best || room_t < best_room_t) {
                best = b;
                best_room_t = room_t;
            }
        }
        return best;
    }

    void put(std::size_t g, std::size_t b, ClearingState state, std::string reason) {
        const WaitingGrain& grain = problem_.grain[g];
        inside_[b].push_back(g);
        plan_.assignments.push_back(
            {grain.name, grain.kind, problem_.bins[b].bin.bin, grain.mass_t, state, std::move(reason)});
    }

    void assign(std::size_t g, std::size_t b, const std::string& before) {
        const BinForPlan& bin = problem_.bins[b];
        const Clearing clearing = clear_for_bin(problem_, g, bin);
        put(g, b, clearing.state,
            fmt::format("{}cleared for {} ({} breaks it): {}", before, bin.bin.bin, models::in_words(*bin.limit),
                        clearing.reason));
    }

    void hold(std::size_t g, const Best& best, Purpose purpose, const std::string& before) {
        const WaitingGrain& grain = problem_.grain[g];
        const std::string why = fmt::format("{}not clear for {}: {}", before, in_words(purpose), best.clearing.reason);
        std::vector<std::string> refusals;
        if (const auto b = fullest(g, Purpose::hold, refusals)) {
            put(g, *b, ClearingState::undecided, why);
            return;
        }
        plan_.unplaced.push_back({grain.name, grain.kind, grain.mass_t, ClearingState::undecided, false,
                                  refusals.empty()
                                      ? why + "; there is no hold bin"
                                      : fmt::format("{}; no hold bin takes it ({})", why, fmt::join(refusals, ", "))});
    }

    BinOutlook outlook(std::size_t b) const {
        const BinForPlan& bin = problem_.bins[b];
        BinOutlook look;
        look.bin = bin.bin.bin;
        look.content_t = content_t(b);
        if (bin.closed) look.note = "closed: " + bin.closed_reason;
        if (!(look.content_t > 0.0)) return look;
        const auto mean = mean_after(problem_, b, inside_[b]);
        if (!mean) {
            look.note += std::string(look.note.empty() ? "" : "; ") + "what lies in it is not known";
            return look;
        }
        look.mean_mg_per_kg = mean->mean();
        look.low90_mg_per_kg = quantile_of_draws(*mean, 0.05);
        look.high90_mg_per_kg = quantile_of_draws(*mean, 0.95);
        if (!bin.limit) return look;
        look.exceedance = exceedance_of_draws(*mean, *bin.limit);
        if (problem_.buyer) look.rejection_probability = rejection_probability(*mean, *bin.limit, *problem_.buyer);
        return look;
    }

    const BinPlanProblem& problem_;
    std::vector<std::vector<std::size_t>> inside_;  ///< grain sent to each bin
    BinPlan plan_;
};

}  // namespace bin_plan_parts

BinPlan plan_bins(const BinPlanProblem& problem) {
    bin_plan_parts::check(problem);
    bin_plan_parts::Greedy greedy(problem);
    for (std::size_t g = 0; g < problem.grain.size(); ++g) greedy.place(g);
    return std::move(greedy).plan();
}

double rejection_probability(const Eigen::Ref<const Eigen::VectorXd>& lot_mean_draws_mg_per_kg, const Limit& limit,
                             const ReadingLaw& buyer) {
    const BreakingPoint point = breaking_point(limit);
    // A reading of exactly the breaking point has no chance of its own.
    const Eigen::ArrayXd contents = lot_mean_draws_mg_per_kg.array().max(1e-9);
    return buyer.log_density({Reading::above, point.mg_per_kg}, contents).exp().mean();
}

std::string in_words(GrainKind kind) {
    switch (kind) {
        case GrainKind::load:
            return "load";
        case GrainKind::zone:
            return "zone";
        case GrainKind::field:
            return "field";
    }
    return "";
}

}  // namespace models
