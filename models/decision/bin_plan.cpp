#include "models/decision/bin_plan.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <set>

#include <fmt/format.h>

#include "models/decision/bin_plan_score.h"
#include "models/decision/bin_refusal.h"
#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/decision/placing.h"
#include "models/decision/plan_choice.h"
#include "models/error.h"
#include "models/spatial/parallel.h"
#include "models/spoken.h"
#include "models/words.h"

namespace models {

namespace bin_plan_parts {

constexpr double crumb_t = 1e-6;  // a gram: less is left of no load

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

/// Which bins may take which grain, the choice among them, and the words for it.
class Planner {
 public:
    explicit Planner(const BinPlanProblem& problem)
        : problem_(problem),
          inside_(problem.bins.size()),
          clearings_(problem.grain.size()),
          why_(problem_, clearings_, inside_) {
        parallel_blocks(static_cast<long long>(problem.grain.size()), threads_to_use(problem.threads),
                        [this](long long block) {
                            const auto g = static_cast<std::size_t>(block);
                            for (const BinForPlan& bin : problem_.bins)
                                clearings_[g].push_back(clear_for_bin(problem_, g, bin));
                        });
        const PlacingProblem placing = placing_problem();
        const ChosenBins choice = choose_bins(problem, placing);
        plan_.best_of_all = choice.best_of_all;
        plan_.proof = choice.proof;
        sent_ = choice.sent;
        for (const Sent& one : sent_) inside_[one.bin].push_back(one);
        for (std::size_t g = 0; g < problem.grain.size(); ++g) {
            double left_t = problem.grain[g].mass_t;
            for (const Sent& one : sent_) {
                if (one.grain != g) continue;
                tell(g, static_cast<int>(one.bin), one.mass_t);
                left_t -= one.mass_t;
            }
            if (left_t > crumb_t) tell(g, not_placed, left_t);
        }
    }

    BinPlan plan() && {
        plan_.score = score_of(problem_, "this plan", sent_);
        const auto compare = [this](const char* rule, const std::vector<int>& bin_of_grain) {
            plan_.compared_with.push_back(score_of(problem_, rule, sent_whole(problem_, bin_of_grain)));
        };
        compare("first come", first_come(problem_));
        compare("own number against the limit", own_number_against_the_limit(problem_));
        compare("one bin per grower", one_bin_per_grower(problem_));
        note_what_binds();
        note_given_away();
        plan_.value_in_money = problem_.prices.has_value();
        plan_.bins.resize(inside_.size());
        parallel_blocks(static_cast<long long>(inside_.size()), threads_to_use(problem_.threads), [this](long long b) {
            plan_.bins[static_cast<std::size_t>(b)] = outlook(static_cast<std::size_t>(b));
        });
        plan_.says = phrase(
            "A load is cleared up to a {} chance of being over, a bin filled up to a {} chance that its mean is over. "
            "Of all ways that keep to this {} leaves the fewest loads without a place, then the fewest tonnes, then "
            "{}.",
            chance_in_words(problem_.caps.load_cap), chance_in_words(problem_.bin_cap),
            plan_.best_of_all ? phrase("the plan")
                              : phrase("and could be gone through (there are too many for all) the plan"),
            problem_.prices ? phrase("has the greatest value") : phrase("brings the most into food bins"));
        plan_.value_says =
            problem_.prices
                ? phrase(
                      "The value is in money: what contracts and prices pay for grain that is sent, over the draws, "
                      "nothing for a lot that a load over its limit spoils and minus what such food costs; places come "
                      "before it.") +
                      (problem_.prices->assumed.empty() ? "" : " " + problem_.prices->assumed)
                : phrase(
                      "The value is counted in tonnes, no price and no cost has a part in it: grain in food bins, "
                      "minus food grain that a load over the limit spoils, minus good grain that goes elsewhere.");
        if (problem_.caps.upper_cap) {
            plan_.says += phrase(" A load with more than a {} chance of being over counts as over, as you asked.",
                                 chance_in_words(*problem_.caps.upper_cap));
        }
        return std::move(plan_);
    }

 private:
    /// The bins of that purpose that may take the grain by rule: cleared for their own limit, on hold without one.
    void add_bins(std::size_t g, Purpose purpose, std::vector<std::size_t>& bins) const {
        for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
            const BinForPlan& bin = problem_.bins[b];
            if (bin.bin.purpose != purpose || !speaks_of(bin, problem_.grain[g])) continue;
            const bool may =
                purpose == Purpose::hold || (bin.limit && clearings_[g][b].state == ClearingState::cleared);
            if (may && why_.shut(g, b).empty()) bins.push_back(b);
        }
    }

    std::vector<std::size_t> may_go_into(std::size_t g) const {
        std::vector<std::size_t> bins;
        for (const Purpose purpose : purposes_best_first) {
            const Clearing* best = why_.best_state(g, purpose);
            if (best == nullptr || best->state == ClearingState::over) continue;
            add_bins(g, best->state == ClearingState::cleared ? purpose : Purpose::hold, bins);
            if (best->state == ClearingState::undecided) return bins;
        }
        for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
            const BinForPlan& bin = problem_.bins[b];
            if (bin.bin.purpose == Purpose::other && !bin.limit && why_.shut(g, b).empty()) bins.push_back(b);
        }
        return bins;
    }

    PlacingProblem placing_problem() const {
        PlacingProblem placing;
        for (std::size_t g = 0; g < problem_.grain.size(); ++g) {
            std::vector<std::size_t> bins = may_go_into(g);
            std::sort(bins.begin(), bins.end());
            placing.grain.push_back({problem_.grain[g].mass_t, problem_.grain[g].keep_apart, std::move(bins)});
        }
        for (const BinForPlan& bin : problem_.bins) {
            BinToFill fill;
            fill.tier = bin.bin.purpose == Purpose::food   ? BinToFill::Tier::food
                        : bin.bin.purpose == Purpose::feed ? BinToFill::Tier::feed
                        : bin.bin.purpose == Purpose::hold ? BinToFill::Tier::hold
                                                           : BinToFill::Tier::other;
            fill.room_t = bin.bin.capacity_t - bin.content_t;
            fill.tag = tag_of(bin);
            fill.has_tag = bin.content_t > 0.0 || !fill.tag.empty();
            fill.mix_is_asked = bin.bin.purpose != Purpose::hold && bin.limit;
            if (!(bin.content_t > 0.0)) {
                fill.alike = fmt::format("{} {} {} {}", models::in_words(bin.bin.purpose), bin.bin.capacity_t, fill.tag,
                                         bin.closed);
                if (bin.limit) {
                    fill.alike +=
                        fmt::format(" {} {} {} {} {}", bin.limit->commodity, bin.limit->limit_mg_per_kg,
                                    static_cast<int>(bin.limit->basis), static_cast<int>(bin.limit->comparison),
                                    bin.limit->rounding_mg_per_kg.value_or(0.0));
                }
            }
            placing.bins.push_back(std::move(fill));
        }
        placing.may_lie_together = [this](std::size_t b, const std::vector<std::size_t>& grain) {
            return why_not_together(b, grain).empty();
        };
        return placing;
    }

    std::string why_not_together(std::size_t b, const std::vector<std::size_t>& grain) const {
        std::vector<Sent> sent;
        for (const std::size_t g : grain) sent.push_back({g, b, problem_.grain[g].mass_t});
        return why_.why_not_together(b, sent);
    }

    void note_given_away() {
        for (std::size_t g = 0; g < problem_.grain.size(); ++g) {
            const WaitingGrain& grain = problem_.grain[g];
            if (grain.kind != GrainKind::load) continue;
            const std::string not_on_hold = why_.why_not_on_hold(g);
            for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
                const BinForPlan& bin = problem_.bins[b];
                if (std::any_of(inside_[b].begin(), inside_[b].end(), [&](const Sent& one) { return one.grain == g; }))
                    continue;
                if (bin.bin.purpose == Purpose::hold && !not_on_hold.empty())
                    plan_.given_away.push_back({grain.name, bin.bin.bin, not_on_hold});
                else if (const std::optional<BinRefusal> no = why_.given_to_others(g, b, grain.mass_t);
                         no && !inside_[b].empty())
                    plan_.given_away.push_back({grain.name, bin.bin.bin, no->words});
            }
        }
    }

    /// Says where a grain goes and why, or why it stays.
    void tell(std::size_t g, int placed, double mass_t) {
        const auto b = static_cast<std::size_t>(std::max(placed, 0));
        const auto is_in = [&](Purpose purpose) { return placed >= 0 && problem_.bins[b].bin.purpose == purpose; };
        std::string before, before_in_short;            // why a better purpose did not take it
        std::string stays_in_short;                     // the same with the bins' own reasons, for grain that stays
        ClearingState state = ClearingState::over;      // the best it has anywhere
        std::optional<ClearingState> for_best_purpose;  // what a person is told: mostly food
        bool by_strips_alone = false;                   // a strip holds grain, it never turns it away
        for (const Purpose purpose : purposes_best_first) {
            const Clearing* best = why_.best_state(g, purpose);
            if (best == nullptr) continue;
            const std::string word = models::in_words(purpose);
            if (!for_best_purpose) for_best_purpose = best->state;
            by_strips_alone |= best->suspected;
            if (best->state == ClearingState::undecided) {
                const std::string why = before + phrase("not clear for {}: {}", word, best->reason);
                if (placed >= 0) {
                    put(g, placed, mass_t, ClearingState::undecided, why, before_in_short + best->in_short);
                    plan_.assignments.back().contradicted = best->contradicted;
                } else {
                    const std::vector<BinRefusal> no = why_.refusals(g, Purpose::hold, mass_t);
                    leave(g, mass_t, ClearingState::undecided, false,
                          no.empty() ? phrase("{}; there is no hold bin", why)
                                     : phrase("{}; no hold bin takes it ({})", why, words_of_refusals(no)),
                          before_in_short + best->in_short + "; " + short_of_refusals(no, Purpose::hold));
                    plan_.unplaced.back().contradicted = best->contradicted;
                }
                return;
            }
            if (best->state == ClearingState::cleared) {
                if (is_in(purpose) && problem_.bins[b].limit) {
                    const Clearing& clearing = clearings_[g][b];
                    put(g, placed, mass_t, clearing.state,
                        before + phrase("cleared for {} ({} breaks it): {}", problem_.bins[b].bin.bin,
                                        models::in_words(*problem_.bins[b].limit), clearing.reason),
                        before_in_short + clearing.in_short);
                    return;
                }
                const std::vector<BinRefusal> no = why_.refusals(g, purpose, mass_t);
                before += phrase("no {} bin takes it ({}); ", word, words_of_refusals(no));
                stays_in_short += (stays_in_short.empty() ? "" : "; ") + short_of_refusals(no, purpose);
                before_in_short += phrase("no {} bin takes it; ", word);
                state = ClearingState::cleared;
                continue;
            }
            before += phrase("over for {}: {}; ", word, best->reason);
            before_in_short = best->in_short + "; ";
            stays_in_short = best->in_short;
        }
        if (!for_best_purpose) state = ClearingState::undecided;
        if (placed >= 0) {
            const std::string& name = problem_.bins[b].bin.bin;
            put(g, placed, mass_t, state, before + phrase("{} asks for no limit", name),
                before_in_short + phrase("{} asks for no limit", name));
        } else if (!for_best_purpose) {
            leave(g, mass_t, state, false, phrase("no bin here has a limit for it: give a bin a limit_id"),
                  phrase("no bin has a limit for it"));
        } else if (state == ClearingState::over && by_strips_alone) {
            leave(g, mass_t, *for_best_purpose, false,
                  before + phrase("no other bin may take it: hold it until a laboratory has confirmed it"),
                  before_in_short + phrase("no bin may take it"));
        } else if (state == ClearingState::over) {
            leave(g, mass_t, *for_best_purpose, true, before + phrase("no other bin may take it: turn it away"),
                  before_in_short + phrase("no bin may take it"));
        } else {
            leave(g, mass_t, *for_best_purpose, false,
                  before + (problem_.grain[g].kind == GrainKind::load ? phrase("it stays on the truck")
                                                                      : phrase("it has no place yet")),
                  stays_in_short);
        }
    }

    void put(std::size_t g, int b, double mass_t, ClearingState state, std::string reason, std::string in_short) {
        const WaitingGrain& grain = problem_.grain[g];
        plan_.assignments.push_back({grain.name, grain.kind, problem_.bins[static_cast<std::size_t>(b)].bin.bin, mass_t,
                                     state, std::move(reason), std::move(in_short)});
    }
    void leave(std::size_t g, double mass_t, ClearingState state, bool turn_away, std::string reason,
               std::string in_short) {
        const WaitingGrain& grain = problem_.grain[g];
        plan_.unplaced.push_back(
            {grain.name, grain.kind, mass_t, state, turn_away, std::move(reason), std::move(in_short)});
    }

    /// Of every grain that is not in the best purpose there is a bin for: what each of those bins has against it. Once
    /// a grain is not clear for a purpose nothing else about its bins matters.
    void note_what_binds() {
        std::map<std::pair<int, std::string>, Binding> found;
        const auto note = [&](Binding::What what, const std::string& name, std::size_t g, double mass_t) {
            Binding& binding = found[{static_cast<int>(what), name}];
            binding.what = what;
            binding.name = name;
            if (std::find(binding.keeps_out.begin(), binding.keeps_out.end(), problem_.grain[g].name) !=
                binding.keeps_out.end())
                return;
            binding.keeps_out.push_back(problem_.grain[g].name);
            binding.mass_t += mass_t;
        };
        for (std::size_t g = 0; g < problem_.grain.size(); ++g) {
            std::vector<std::pair<int, double>> pieces;
            double left_t = problem_.grain[g].mass_t;
            for (const Sent& one : sent_) {
                if (one.grain != g) continue;
                pieces.push_back({static_cast<int>(one.bin), one.mass_t});
                left_t -= one.mass_t;
            }
            if (left_t > crumb_t) pieces.push_back({not_placed, left_t});
            for (const auto& [b, mass_t] : pieces) {
                for (const Purpose purpose : purposes_best_first) {
                    const bool here =
                        b != not_placed && problem_.bins[static_cast<std::size_t>(b)].bin.purpose == purpose;
                    if (here) break;
                    const Clearing* best = why_.best_state(g, purpose);
                    if (best == nullptr) continue;
                    if (best->state != ClearingState::cleared) {
                        note(Binding::What::clearing, models::in_words(purpose), g, mass_t);
                        if (best->state == ClearingState::over) continue;
                        if (b != not_placed) break;
                        for (const BinRefusal& no : why_.refusals(g, Purpose::hold, mass_t))
                            note(no.what, problem_.bins[no.bin].bin.bin, g, mass_t);
                        break;
                    }
                    for (const BinRefusal& no : why_.refusals(g, purpose, mass_t)) {
                        if (no.what == Binding::What::clearing) continue;  // another bin of the purpose clears it
                        note(no.what, problem_.bins[no.bin].bin.bin, g, mass_t);
                    }
                }
            }
        }
        for (auto& [key, binding] : found) plan_.binds.push_back(std::move(binding));
        std::stable_sort(plan_.binds.begin(), plan_.binds.end(),
                         [](const Binding& a, const Binding& b) { return a.mass_t > b.mass_t; });
    }

    BinOutlook outlook(std::size_t b) const {
        const BinForPlan& bin = problem_.bins[b];
        BinOutlook look;
        look.bin = bin.bin.bin;
        look.content_t = why_.content_t(b);
        for (const Sent& one : inside_[b]) {
            look.sent.push_back(problem_.grain[one.grain].name);
            look.sent_t += one.mass_t;
        }
        if (bin.closed) {
            look.closed_reason = bin.closed_reason;
            look.note = phrase("closed: {}", bin.closed_reason);
        }
        if (!(look.content_t > 0.0)) return look;
        const auto mean = mean_after(problem_, b, inside_[b]);
        if (!mean) {
            look.note += std::string(look.note.empty() ? "" : "; ") + phrase("what lies in it is not known");
            return look;
        }
        look.mean_mg_per_kg = mean->mean();
        look.low90_mg_per_kg = quantile_of_draws(*mean, 0.05);
        look.high90_mg_per_kg = quantile_of_draws(*mean, 0.95);
        if (!bin.limit) return look;
        look.exceedance = exceedance_of_draws(*mean, *bin.limit);
        if (*look.exceedance > problem_.bin_cap) {
            look.note += (look.note.empty() ? "" : "; ") +
                         phrase("above the {} chance a bin may have: confirm before anything leaves it",
                                chance_in_words(problem_.bin_cap));
        }
        if (problem_.buyer) look.rejection_probability = rejection_probability(*mean, *bin.limit, *problem_.buyer);
        return look;
    }

    const BinPlanProblem& problem_;
    std::vector<std::vector<Sent>> inside_;         ///< what is sent to each bin, by grain
    std::vector<std::vector<Clearing>> clearings_;  ///< grain x bin
    WhyNot why_;
    std::vector<Sent> sent_;
    BinPlan plan_;
};

}  // namespace bin_plan_parts

BinPlan plan_bins(const BinPlanProblem& problem) {
    bin_plan_parts::check(problem);
    return bin_plan_parts::Planner(problem).plan();
}

double rejection_probability(const Eigen::Ref<const Eigen::VectorXd>& lot_mean_draws_mg_per_kg, const Limit& limit,
                             const ReadingLaw& buyer) {
    const BreakingPoint point = breaking_point(limit);
    // A reading of exactly the breaking point has no chance of its own.
    const Eigen::ArrayXd contents = lot_mean_draws_mg_per_kg.array().max(1e-9);
    const auto chances = [&](const Eigen::ArrayXd& at) {
        return Eigen::ArrayXd(buyer.log_density({Reading::above, point.mg_per_kg}, at).exp());
    };
    // Of thousands of draws a table of the chance by ln content, read by cubic interpolation: it goes up from 0 to 1
    // over the errors of a strip, of which a step is a small part, so that no chance is off by 1e-6.
    constexpr Eigen::Index steps = 400;
    const double low = std::log(contents.minCoeff()), high = std::log(contents.maxCoeff());
    if (contents.size() < 2 * steps || !(high - low < 10.0)) return chances(contents).mean();
    const double step = std::max(high - low, 1e-9) / static_cast<double>(steps);
    const Eigen::ArrayXd table = chances(Eigen::ArrayXd::LinSpaced(steps + 3, low - step, high + step).exp());
    double sum = 0.0;
    for (Eigen::Index i = 0; i < contents.size(); ++i) {
        const double at = (std::log(contents[i]) - low) / step + 1.0;
        const auto k = std::clamp<Eigen::Index>(static_cast<Eigen::Index>(at), 1, steps);
        const double t = at - static_cast<double>(k);
        const double* v = table.data() + k - 1;
        sum += -t * (t - 1.0) * (t - 2.0) / 6.0 * v[0] + (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0 * v[1] -
               (t + 1.0) * t * (t - 2.0) / 2.0 * v[2] + (t + 1.0) * t * (t - 1.0) / 6.0 * v[3];
    }
    return std::clamp(sum / static_cast<double>(contents.size()), 0.0, 1.0);
}

std::string in_words(const Binding& binding) {
    constexpr std::size_t named = 4;
    std::string names;
    for (std::size_t i = 0; i < std::min(named, binding.keeps_out.size()); ++i) {
        names += (i == 0 ? "" : ", ") + binding.keeps_out[i];
    }
    if (binding.keeps_out.size() > named) names += phrase(" and {} more", binding.keeps_out.size() - named);
    const char* what = binding.what == Binding::What::capacity     ? "room in "
                       : binding.what == Binding::What::cap        ? "the mean of "
                       : binding.what == Binding::What::keep_apart ? "what is kept apart in "
                       : binding.what == Binding::What::clearing   ? "not clear for "
                                                                   : "shut: ";
    return fmt::format("{}{} ({}; {:.1f} t)", what, binding.name, names, binding.mass_t);
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
