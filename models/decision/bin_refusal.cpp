#include "models/decision/bin_refusal.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/decision/expected.h"
#include "models/decision/limit_rule.h"
#include "models/spoken.h"
#include "models/words.h"

namespace models {

namespace {

constexpr double room_slack_t = 1e-9;  // below any scale's last digit; sums of tonnes are not exact in binary

}  // namespace

/// Where grain stands with a purpose: the best it has against the limits of that purpose's bins. Null: no bin.
const Clearing* WhyNot::best_state(std::size_t g, Purpose purpose) const {
    const auto order_of = [](ClearingState state) {
        return state == ClearingState::cleared ? 0 : state == ClearingState::undecided ? 1 : 2;
    };
    const Clearing* best = nullptr;
    for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
        const BinForPlan& bin = problem_.bins[b];
        if (bin.bin.purpose != purpose || !bin.limit || !speaks_of(bin, problem_.grain[g])) continue;
        const Clearing& clearing = clearings_[g][b];
        if (best == nullptr || order_of(clearing.state) < order_of(best->state)) best = &clearing;
    }
    return best;
}

bool WhyNot::tag_kept(std::size_t g, std::size_t b) const {
    const BinForPlan& bin = problem_.bins[b];
    const std::string tag = tag_of(bin);
    return !(bin.content_t > 0.0 || !tag.empty()) || tag == problem_.grain[g].keep_apart;
}

/// Why the bin takes nothing of this grain, whatever else goes where; empty where it may.
std::string WhyNot::shut(std::size_t g, std::size_t b) const {
    const BinForPlan& bin = problem_.bins[b];
    const std::string& name = bin.bin.bin;
    if (bin.closed) return phrase("{} is closed: {}", name, bin.closed_reason);
    if (!tag_kept(g, b)) {
        const std::string tag = tag_of(bin);
        return tag.empty() ? phrase("{} holds grain that is not {}", name, problem_.grain[g].keep_apart)
                           : phrase("{} keeps {} apart", name, tag);
    }
    if (bin.bin.purpose == Purpose::hold || !bin.limit) return "";
    if (bin.content_t > 0.0 && bin.content_draws_mg_per_kg.size() == 0) {
        return phrase("what lies in {} is not known", name);
    }
    if (bin.content_t > 0.0) {
        const double before = exceedance_of_draws(content_for_limit(bin), *bin.limit);
        if (before > problem_.bin_cap) {
            return phrase("what lies in {} has a {} chance of being over already", name,
                          chance_in_words(before, problem_.bin_cap));
        }
    }
    if (problem_.draws_mg_per_kg.size() == 0) return phrase("what would lie in {} is not known", name);
    return "";
}

std::string WhyNot::why_not_together(std::size_t b, const std::vector<Sent>& sent) const {
    const BinForPlan& bin = problem_.bins[b];
    // A mean is over only where a part of it is: if that is rare enough, so is this.
    double any = bin.content_t > 0.0 ? exceedance_of_draws(content_for_limit(bin), *bin.limit) : 0.0;
    for (const Sent& one : sent) any += clearings_[one.grain][b].exceedance.value_or(1.0);
    if (any <= problem_.bin_cap) return "";
    const auto mean = mean_after(problem_, b, sent);
    if (!mean) return phrase("what lies in {} is not known", bin.bin.bin);
    const double after = exceedance_of_draws(*mean, *bin.limit);
    if (after <= problem_.bin_cap) return "";
    return phrase("with it the mean of {} would have a {} chance of being over", bin.bin.bin,
                  chance_in_words(after, problem_.bin_cap));
}

double WhyNot::content_t(std::size_t b) const {
    double sum = problem_.bins[b].content_t;
    for (const Sent& one : inside_[b]) sum += one.mass_t;
    return sum;
}

/// "59.9 t are planned for W26-29, W26-30"
std::string WhyNot::planned_for(std::size_t b) const {
    double mass_t = 0.0;
    std::string names;
    for (const Sent& one : inside_[b]) {
        mass_t += one.mass_t;
        names += (names.empty() ? "" : ", ") + problem_.grain[one.grain].name;
    }
    return phrase("{:.1f} t are planned for {}", mass_t, names);
}

/// What the plan puts into the bin leaves it no place there: it is kept apart from that, or there is no room
/// beside.
std::optional<BinRefusal> WhyNot::given_to_others(std::size_t g, std::size_t b, double mass_t) const {
    using What = Binding::What;
    const WaitingGrain& grain = problem_.grain[g];
    const BinForPlan& bin = problem_.bins[b];
    const std::string& name = bin.bin.bin;
    if (!inside_[b].empty() && problem_.grain[inside_[b].front().grain].keep_apart != grain.keep_apart) {
        const std::string& tag = problem_.grain[inside_[b].front().grain].keep_apart;
        const std::string given = tag.empty() ? phrase("{} is given to grain that is not {}", name, grain.keep_apart)
                                              : phrase("{} is given to {}, which is kept apart", name, tag);
        return BinRefusal{phrase("{} in this plan: {}", given, planned_for(b)), given, BinRefusal::Kind::other,
                          What::keep_apart};
    }
    const double room_t = bin.bin.capacity_t - content_t(b);
    if ((grain.may_split ? std::min(mass_t, problem_.least_piece_t) : mass_t) <= room_t + room_slack_t)
        return std::nullopt;
    const std::string room =
        room_t < 0.05 ? phrase("{} is full", name) : phrase("{} has room for {:.1f} t only", name, room_t);
    return BinRefusal{inside_[b].empty() ? room : phrase("{} in this plan: {}", room, planned_for(b)), room,
                      BinRefusal::Kind::room, What::capacity};
}

/// Why grain is none for a bin on hold, which takes what is undecided for the best purpose that it is not over for;
/// empty where it is some.
std::string WhyNot::why_not_on_hold(std::size_t g) const {
    std::string stands;
    for (const Purpose purpose : purposes_best_first) {
        const Clearing* best = best_state(g, purpose);
        if (best == nullptr) continue;
        if (best->state == ClearingState::undecided) return "";
        const bool cleared = best->state == ClearingState::cleared;
        stands +=
            (stands.empty() ? "" : phrase(" and ")) + (cleared ? phrase("cleared for {}", models::in_words(purpose))
                                                               : phrase("over for {}", models::in_words(purpose)));
        if (cleared) break;
    }
    if (stands.empty()) return phrase("no bin here has a limit for it");
    return phrase("hold is for grain that is undecided, and {} is {}", problem_.grain[g].name, stands);
}

/// Why the bin does not take the grain beside all that the plan puts into it, its limit and clearing aside.
BinRefusal WhyNot::refusal(std::size_t g, std::size_t b, double mass_t) const {
    using What = Binding::What;
    if (std::string no = shut(g, b); !no.empty()) {
        if (problem_.bins[b].closed)
            return {std::move(no), phrase("{} is closed", problem_.bins[b].bin.bin), BinRefusal::Kind::other,
                    What::closed};
        return BinRefusal::saying(std::move(no), BinRefusal::Kind::other,
                                  tag_kept(g, b) ? What::closed : What::keep_apart);
    }
    if (std::optional<BinRefusal> given = given_to_others(g, b, mass_t)) return *std::move(given);
    const BinForPlan& bin = problem_.bins[b];
    const std::string& name = bin.bin.bin;
    if (bin.bin.purpose != Purpose::hold && bin.limit) {
        std::vector<Sent> with = inside_[b];
        with.push_back({g, b, mass_t});
        if (std::string no = why_not_together(b, with); !no.empty())
            return BinRefusal::saying(std::move(no), BinRefusal::Kind::other, What::cap);
    }
    return BinRefusal::saying(problem_.prices ? phrase("{} is left to grain that is worth more there", name)
                                              : phrase("{} is left to loads that have no other place", name));
}

std::vector<BinRefusal> WhyNot::refusals(std::size_t g, Purpose purpose, double mass_t) const {
    std::vector<BinRefusal> all;
    for (std::size_t b = 0; b < problem_.bins.size(); ++b) {
        const BinForPlan& bin = problem_.bins[b];
        if (bin.bin.purpose != purpose || !speaks_of(bin, problem_.grain[g])) continue;
        if (!bin.limit && purpose == Purpose::other) continue;
        if (!bin.limit && purpose != Purpose::hold) {
            all.push_back(BinRefusal::saying(phrase("{} has no limit", bin.bin.bin), BinRefusal::Kind::other,
                                             Binding::What::closed));
        } else if (purpose != Purpose::hold && clearings_[g][b].state != ClearingState::cleared) {
            all.push_back(BinRefusal::saying(phrase("not cleared for {}", bin.bin.bin), BinRefusal::Kind::not_cleared,
                                             Binding::What::clearing));
        } else {
            all.push_back(refusal(g, b, mass_t));
        }
        all.back().bin = b;
    }
    return all;
}

std::string words_of_refusals(const std::vector<BinRefusal>& all) {
    std::string text;
    for (const BinRefusal& no : all) text += (text.empty() ? "" : ", ") + no.words;
    return text;
}

/// The reason that a person can least guess: that room is short comes after what keeps an empty bin shut.
std::string short_of_refusals(const std::vector<BinRefusal>& all, Purpose purpose) {
    if (all.empty()) return phrase("no {} bin", in_words(purpose));
    const auto first = std::min_element(all.begin(), all.end(),
                                        [](const BinRefusal& a, const BinRefusal& b) { return a.kind < b.kind; });
    if (first->kind == BinRefusal::Kind::room)
        return purpose == Purpose::hold ? phrase("no room on hold") : phrase("no room for {}", in_words(purpose));
    return first->in_short + (all.size() == 1 ? "" : phrase(", no other takes it"));
}

}  // namespace models
