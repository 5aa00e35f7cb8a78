#pragma once

#include <optional>
#include <string>
#include <vector>

#include "models/decision/bin_plan.h"
#include "models/decision/bin_plan_score.h"

namespace models {

constexpr Purpose purposes_best_first[] = {Purpose::food, Purpose::feed, Purpose::other};

/// Why a bin does not take a grain. The short form is for a table, where the plan is spoken of anyway.
struct BinRefusal {
    enum class Kind { other, room, not_cleared };
    std::string words, in_short;
    Kind kind = Kind::other;
    Binding::What what = Binding::What::capacity;
    std::size_t bin = 0;

    static BinRefusal saying(std::string words, Kind kind = Kind::other, Binding::What what = Binding::What::capacity) {
        std::string in_short = words;
        return {std::move(words), std::move(in_short), kind, what};
    }
};

/// What stands against a grain in a bin: the bin's own rules, what lies in it, and what the plan puts there (bin_plan.h
/// has the rules). It looks at what it is given and keeps nothing: as `inside` fills, its answers follow.
class WhyNot {
 public:
    /// @param clearings  grain x bin
    /// @param inside     what is sent to each bin so far
    WhyNot(const BinPlanProblem& problem, const std::vector<std::vector<Clearing>>& clearings,
           const std::vector<std::vector<Sent>>& inside)
        : problem_(problem), clearings_(clearings), inside_(inside) {}

    /// Where grain stands with a purpose: the best it has against the limits of that purpose's bins. Null: no bin.
    const Clearing* best_state(std::size_t g, Purpose purpose) const;
    /// Why the bin takes nothing of this grain, whatever else goes where; empty where it may.
    std::string shut(std::size_t g, std::size_t b) const;
    /// Why all this may not lie in the bin together with what is in it: its mean would be over too often.
    std::string why_not_together(std::size_t b, const std::vector<Sent>& sent) const;
    double content_t(std::size_t b) const;  ///< with what is sent to it
    /// What the plan puts into the bin leaves it no place there: it is kept apart from that, or there is no room
    /// beside.
    std::optional<BinRefusal> given_to_others(std::size_t g, std::size_t b, double mass_t) const;
    /// Why grain is none for a bin on hold, which takes what is undecided for the best purpose that it is not over for;
    /// empty where it is some.
    std::string why_not_on_hold(std::size_t g) const;
    /// Of each bin of that purpose, in the bins' order.
    std::vector<BinRefusal> refusals(std::size_t g, Purpose purpose, double mass_t) const;

 private:
    bool tag_kept(std::size_t g, std::size_t b) const;
    std::string planned_for(std::size_t b) const;
    BinRefusal refusal(std::size_t g, std::size_t b, double mass_t) const;

    const BinPlanProblem& problem_;
    const std::vector<std::vector<Clearing>>& clearings_;
    const std::vector<std::vector<Sent>>& inside_;
};

std::string words_of_refusals(const std::vector<BinRefusal>& all);
/// The reason that a person can least guess: that room is short comes after what keeps an empty bin shut.
std::string short_of_refusals(const std::vector<BinRefusal>& all, Purpose purpose);

}  // namespace models
