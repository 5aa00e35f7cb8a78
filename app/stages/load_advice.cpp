#include "app/stages/load_advice.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/stages/next_stage.h"
#include "models/decision/limit_rule.h"
#include "models/listed.h"
#include "models/spoken.h"
#include "models/words.h"

namespace app {

namespace {

using models::ClearingState;
using models::Purpose;

/// What would say where the load may go, as part of a sentence: "take a second sample, which clears it ...".
struct Settling {
    NextStep step = NextStep::nothing;
    std::string clause;
    std::string in_vain = {};  ///< why another strip is not taken: "a strip would hardly clear it (under 1 % chance)"
};

/// Of the bins that may take such grain, the one of a purpose that the load is nearest to going into; null: none.
const BinChoice* nearest_of(const NextLoad& next, Purpose purpose) {
    const auto order = [](const BinChoice& choice) {
        const int state = !choice.not_cleared ? 0 : choice.clearing.state == ClearingState::undecided ? 1 : 2;
        return std::pair(state, choice.clearing.exceedance.value_or(1.0));
    };
    const BinChoice* best = nullptr;
    for (const BinChoice& choice : next.choices) {
        if (choice.purpose != purpose || choice.limit.empty() || choice.misplaced) continue;
        if (best == nullptr || order(choice) < order(*best)) best = &choice;
    }
    return best;
}

Settling by_a_laboratory(const NextLoad& next) {
    return {NextStep::laboratory, next.tested_sample.empty()
                                      ? models::phrase("have a laboratory test it")
                                      : models::phrase("have a laboratory test its sample {}", next.tested_sample)};
}

/// What settles a load that is undecided: its result, a sample, or a laboratory where another strip would not pay.
Settling by_a_sample(const NextLoad& next) {
    if (next.has_result && (!next.second || !next.second_pays)) return by_a_laboratory(next);
    Settling out;
    if (!next.unread_sample.empty()) {
        out.step = NextStep::read;
        out.clause = models::phrase("read its sample {}", next.unread_sample);
    } else {
        out.step = NextStep::sample;
        out.clause = next.has_result ? models::phrase("take a second sample") : models::phrase("take a sample");
    }
    if (!next.second) return out;
    const auto bin = std::find_if(next.choices.begin(), next.choices.end(),
                                  [&](const BinChoice& choice) { return choice.bin == next.second_bin; });
    const bool closed = bin != next.choices.end() && !bin->closed_because.empty();
    const std::string clears = models::chance_in_words(next.second->clears),
                      over = models::chance_in_words(next.second->over);
    // What it is likely to bring is said, whichever way.
    if (next.second->clears >= next.second->over)
        out.clause += closed ? models::phrase(" ({} chance that it clears it for {}, which is closed now)", clears,
                                              next.second_bin)
                             : models::phrase(" ({} chance that it clears it for {})", clears, next.second_bin);
    else
        out.clause +=
            closed ? models::phrase(" ({} chance that it reads over, {} that it clears it for {}, which is closed now)",
                                    over, clears, next.second_bin)
                   : models::phrase(" ({} chance that it reads over, {} that it clears it for {})", over, clears,
                                    next.second_bin);
    return out;
}

/// A load without a result that another strip would hardly clear, whatever it read. Where it is more likely over than
/// not it is turned away or held; where not, what reads better than a strip may clear it. That half is ours.
Settling without_a_sample(const NextLoad& next, const BinChoice& best) {
    constexpr double likely_over = 0.5;
    Settling out;
    out.in_vain =
        models::phrase("a strip would hardly clear it ({} chance)", models::chance_in_words(next.second->clears));
    if (best.clearing.exceedance.value_or(1.0) > likely_over) {
        out.step = NextStep::turn_away;
        out.clause = models::phrase("turn it away");
    } else {
        out.step = NextStep::laboratory;
        out.clause = models::phrase("have a laboratory test it");
    }
    return out;
}

/// What says where it may go, by the best purpose that it is not over for.
Settling settled_by(const NextLoad& next) {
    bool by_strips_alone = false, speaks = false;
    const BinChoice* in_vain = nullptr;  // of the best purpose for which a sample would not pay
    for (const Purpose purpose : {Purpose::food, Purpose::feed, Purpose::other}) {
        const BinChoice* best = nearest_of(next, purpose);
        if (best == nullptr) continue;
        speaks = true;
        if (!best->not_cleared) {
            if (by_strips_alone) return by_a_laboratory(next);  // it could be better than what it is cleared for
            return {NextStep::make_room, models::phrase("make room for it")};
        }
        if (best->clearing.state == ClearingState::undecided) {
            const auto& none_for = next.no_test_for;
            const bool vain = next.second && !next.has_result && next.unread_sample.empty() &&
                              std::find(none_for.begin(), none_for.end(), purpose) != none_for.end();
            if (!vain) return by_a_sample(next);
            if (in_vain == nullptr) in_vain = best;
        }
        by_strips_alone = by_strips_alone || best->clearing.suspected;
    }
    if (!speaks) return {NextStep::nothing, ""};
    if (by_strips_alone) return by_a_laboratory(next);
    if (in_vain != nullptr) return without_a_sample(next, *in_vain);
    return {NextStep::turn_away, models::phrase("turn it away")};
}

/// " (food)": of which bins the limit is that was named; the bin too where others of its purpose have other limits.
std::string whose_limit(const NextLoad& next, const BinChoice& bin) {
    const bool alike = std::all_of(next.choices.begin(), next.choices.end(), [&](const BinChoice& other) {
        return other.purpose != bin.purpose || other.misplaced || other.limit.empty() || other.limit == bin.limit;
    });
    return alike ? fmt::format(" ({})", models::in_words(bin.purpose))
                 : fmt::format(" ({}: {})", bin.bin, models::in_words(bin.purpose));
}

/// Why it is not cleared for the best purpose here; empty: it is, or no bin has a limit for it.
/// @param contradicted  its samples contradict one another
std::string why_not_cleared(const NextLoad& next, const models::ClearingCaps& caps, bool contradicted) {
    const std::string also = contradicted ? models::phrase("; its tests contradict") : "";
    for (const Purpose purpose : {Purpose::food, Purpose::feed, Purpose::other}) {
        const BinChoice* best = nearest_of(next, purpose);
        if (best == nullptr) continue;
        if (!best->not_cleared) break;
        const models::Clearing& clearing = best->clearing;
        const bool names_limit = clearing.state == ClearingState::over || clearing.exceedance;
        const std::string whose = names_limit ? whose_limit(next, *best) : "";
        if (clearing.state == ClearingState::undecided && clearing.exceedance && *clearing.exceedance > caps.load_cap)
            return models::spoken(models::word("in a sentence", "{} chance over {}"),
                                  models::chance_in_words(*clearing.exceedance, caps.load_cap), best->limit) +
                   whose + also;
        return clearing.contradicted ? clearing.in_short : clearing.in_short + whose + also;
    }
    return contradicted ? models::spoken(samples_contradict) : "";
}

bool samples_of_it_contradict(const BinsView& bins, const std::string& load) {
    const auto says_so = [&load](const auto& placed) { return placed.name == load && placed.contradicted; };
    return std::any_of(bins.plan.unplaced.begin(), bins.plan.unplaced.end(), says_so) ||
           std::any_of(bins.plan.assignments.begin(), bins.plan.assignments.end(), says_so);
}

const models::BinOutlook* outlook_of(const BinsView& bins, const std::string& bin) {
    for (const models::BinOutlook& one : bins.plan.bins)
        if (one.bin == bin) return &one;
    return nullptr;
}

const models::UnplacedGrain* unplaced_of(const BinsView& bins, const std::string& load) {
    for (const models::UnplacedGrain& one : bins.plan.unplaced)
        if (one.name == load) return &one;
    return nullptr;
}

/// "W26-29, W26-30 and 2 more"
std::string some_of(const std::vector<std::string>& names) {
    constexpr std::size_t most = 3;
    if (names.size() <= most) return models::listed(names);
    const std::vector<std::string> first(names.begin(), names.begin() + (most - 1));
    return models::phrase("{} and {} more", fmt::format("{}", fmt::join(first, ", ")), names.size() - first.size());
}

/// Whether both may lie in one bin, by tag and commodity.
bool may_lie_together(const SeasonData& data, const std::string& one, const std::string& other) {
    const models::Load *a = load_named(data, one), *b = load_named(data, other);
    if (a == nullptr || b == nullptr) return true;
    return a->keep_apart == b->keep_apart && (!a->commodity || !b->commodity || *a->commodity == *b->commodity);
}

/// What a bin on hold is kept for that does not take the load, and why those go first.
std::string way_of_hold(const SeasonData& data, const BinsView& bins, const std::string& load, const BinChoice& hold,
                        bool undecided) {
    if (hold.too_small) return models::phrase("{} (hold) has room for {:.1f} t only", hold.bin, hold.room_t);
    const models::BinOutlook* look = outlook_of(bins, hold.bin);
    if (!undecided || look == nullptr || look->sent.empty())
        return hold.given.empty()
                   ? models::phrase("{} (hold) has room for {:.1f} t", hold.bin, hold.room_t)
                   : models::phrase("{} (hold) has room for {:.1f} t, but {}", hold.bin, hold.room_t, hold.given);
    const bool apart = std::any_of(look->sent.begin(), look->sent.end(),
                                   [&](const std::string& name) { return !may_lie_together(data, load, name); });
    // The plan's own aims (models/decision/bin_plan.h): how long a truck has waited decides only between equals.
    return apart ? models::phrase(
                       "{} (hold) has room for {:.1f} t, kept for {}, which it may not join: so the fewest "
                       "trucks go without a place",
                       hold.bin, hold.room_t, some_of(look->sent))
                 : models::phrase(
                       "{} (hold) has room for {:.1f} t, kept for {}: so the fewest trucks go without a "
                       "place; the longest wait decides only between equal plans",
                       hold.bin, hold.room_t, some_of(look->sent));
}

/// What would let it into a bin that is not on hold, the nearest of each kind.
void add_ways_in(const NextLoad& next, const models::ClearingCaps& caps, std::vector<std::string>& ways) {
    bool clearing = false, laboratory = false;
    for (const Purpose purpose : {Purpose::food, Purpose::feed, Purpose::other}) {
        const BinChoice* nearest = nullptr;  // that is open and has room
        for (const BinChoice& choice : next.choices) {
            if (choice.purpose != purpose || choice.misplaced || choice.limit.empty()) continue;
            if (choice.not_cleared) {
                if (choice.too_small || !choice.closed_because.empty()) continue;
                if (nearest == nullptr ||
                    choice.clearing.exceedance.value_or(1.0) < nearest->clearing.exceedance.value_or(1.0))
                    nearest = &choice;
            } else if (!choice.closed_because.empty() && !choice.too_small) {
                ways.push_back(models::phrase("{} would take it if it were open; it is closed: {}", choice.bin,
                                              choice.closed_because));
            } else if (choice.too_small) {
                ways.push_back(
                    models::phrase("{} would take it, but has room for {:.1f} t only", choice.bin, choice.room_t));
            }
        }
        if (nearest == nullptr) continue;
        if (nearest->clearing.state == ClearingState::undecided && nearest->clearing.exceedance && !clearing) {
            clearing = true;
            ways.push_back(models::phrase("{} would take it once its chance of being over {} is at most {} (now {})",
                                          nearest->bin, nearest->limit, models::chance_in_words(caps.load_cap),
                                          models::chance_in_words(*nearest->clearing.exceedance, caps.load_cap)));
        } else if (nearest->clearing.suspected && !laboratory) {
            laboratory = true;
            ways.push_back(models::phrase("{} would take it only if a laboratory's test of the same sample met {}",
                                          nearest->bin, nearest->limit));
        }
    }
}

/// Why a bin is out of the question, in a few words; empty: it is not.
std::string why_never(const SeasonData& data, const models::Load& load, const models::Bin& bin, const LimitOfBin& limit,
                      const BinChoice& choice) {
    if (choice.misplaced) {
        if (!why_misplaced(data, bin, std::nullopt, load, {}).empty())
            return models::phrase("kept for {}", bin.keep_apart);
        return limit.limit && !why_misplaced(data, bin, limit.limit, load, {}).empty()
                   ? models::phrase("limit for {}", limit.limit->commodity)
                   : models::phrase("other grain lies in it");
    }
    // Closed first, as the bin's own picture has it: grain that is settled there is asked about before its room.
    if (!choice.closed_because.empty()) return models::phrase("closed");
    if (choice.too_small) return choice.room_t > 0.0 ? models::phrase("too full") : models::phrase("full");
    return "";
}

std::string never_into(const SeasonData& data, const BinsView& bins, const NextLoad& next) {
    const models::Load* load = load_named(data, next.load);
    if (load == nullptr) return "";
    std::vector<std::pair<std::string, std::vector<std::string>>> groups;  // by reason, in the order of the bins
    for (std::size_t b = 0; b < data.bins.size(); ++b) {
        const auto choice = std::find_if(next.choices.begin(), next.choices.end(),
                                         [&](const BinChoice& one) { return one.bin == data.bins[b].bin; });
        if (choice == next.choices.end()) continue;
        const std::string why = why_never(data, *load, data.bins[b], bins.limits[b], *choice);
        if (why.empty()) continue;
        auto group = std::find_if(groups.begin(), groups.end(), [&](const auto& one) { return one.first == why; });
        if (group == groups.end()) group = groups.insert(groups.end(), {why, {}});
        group->second.push_back(choice->bin);
    }
    std::string all;
    for (const auto& [why, names] : groups)
        all += fmt::format("{}{} ({})", all.empty() ? "" : "; ", fmt::join(names, ", "), why);
    return all;
}

std::string stale_in_words(const StaleLoads& stale, std::size_t waiting) {
    std::string kept;
    for (const StaleLoads::Kept& one : stale.kept)
        kept += (kept.empty() ? "" : ", ") + models::phrase("{} ({:.1f} t)", one.bin, one.mass_t);
    const std::string longest = age_in_words(stale.longest_h), most = age_in_words(stale_h);
    std::string text =
        stale.loads.size() == 1
            ? models::phrase("{} has waited for {}: is it there at all? If it is gone, turn it away or withdraw it",
                             stale.loads.front(), longest)
        : stale.loads.size() == waiting
            ? models::phrase(
                  "all {} trucks have waited for more than {}, the first for {}: are they there at all? Turn away or "
                  "withdraw those that are gone",
                  waiting, most, longest)
            : models::phrase(
                  "{} of {} trucks have waited for more than {} ({}), the first for {}: are they there at all? Turn "
                  "away or withdraw those that are gone",
                  stale.loads.size(), waiting, most, some_of(stale.loads), longest);
    if (!kept.empty()) text += models::phrase("; until then the plan keeps room for them: {}", kept);
    return text;
}

}  // namespace

LoadAdvice advice_of_load(const SeasonData& data, const BinsView& bins, const NextLoad& next, const models::Stamp& at) {
    LoadAdvice out;
    out.why = why_not_cleared(next, bins.caps, samples_of_it_contradict(bins, next.load));
    out.elsewhere = never_into(data, bins, next);
    const auto waited_h = hours_waited(data, next.load, at);
    const auto tell_if_stale = [&] {
        if (waited_h && *waited_h > stale_h)
            out.ways.push_back(
                models::phrase("it came {} ago: if it is gone, turn it away or withdraw it", age_in_words(*waited_h)));
    };
    if (!next.advised.empty()) {
        out.step = NextStep::dump;
        const bool holds = std::any_of(next.choices.begin(), next.choices.end(), [&](const BinChoice& choice) {
            return choice.bin == next.advised && choice.purpose == Purpose::hold;
        });
        const Settling settling = holds ? settled_by(next) : Settling{};
        if (settling.clause.empty())
            out.says = models::phrase("put it into {}", next.advised);
        else if (settling.in_vain.empty())
            out.says = models::phrase("on hold in {} until it is settled: {}", next.advised, settling.clause);
        else
            out.says =
                settling.step == NextStep::turn_away
                    ? models::phrase("{}: {}; hold it in {}, or turn it away", out.why, settling.in_vain, next.advised)
                    : models::phrase("{}: {}; hold it in {} and {}", out.why, settling.in_vain, next.advised,
                                     settling.clause);
        tell_if_stale();
        return out;
    }
    if (!(next.mass_t > 0.0)) {
        out.step = NextStep::weigh;
        out.says = models::phrase("nobody knows its mass: weigh it");
        return out;
    }
    const models::UnplacedGrain* unplaced = unplaced_of(bins, next.load);
    const Settling settling = settled_by(next);
    out.step = settling.step;
    if (unplaced != nullptr && unplaced->turn_away) out.step = NextStep::turn_away;
    if (unplaced == nullptr || out.step == NextStep::nothing) {
        out.step = NextStep::nothing;
        out.says = unplaced != nullptr ? unplaced->in_short
                                       : models::phrase("nothing is known of such grain here: the plan leaves it out");
        tell_if_stale();
        return out;
    }
    if (!settling.in_vain.empty() && out.step == NextStep::turn_away) {
        out.says = models::phrase("{}: {}; turn it away, or hold it where there is room", out.why, settling.in_vain);
    } else if (!settling.in_vain.empty()) {
        out.says = models::phrase("{}: {}; keep it on the truck and {}", out.why, settling.in_vain, settling.clause);
    } else if (out.step == NextStep::turn_away) {
        out.says = models::phrase("no bin here may take it: turn it away, or find a buyer with a higher limit");
    } else if (out.step == NextStep::make_room) {
        out.says = models::phrase(
            "it is cleared, but no bin that may take it is open and has room: it stays on the "
            "truck until one is");
    } else {
        out.says = models::phrase("no bin takes it now: keep it on the truck and {}", settling.clause);
    }
    const bool undecided = unplaced->state == ClearingState::undecided;
    for (const BinChoice& choice : next.choices)
        if (choice.purpose == Purpose::hold && !choice.misplaced)
            out.ways.push_back(way_of_hold(data, bins, next.load, choice, undecided));
    if (settling.in_vain.empty()) add_ways_in(next, bins.caps, out.ways);
    if (out.step != NextStep::turn_away && out.step != NextStep::make_room)
        out.ways.push_back(models::phrase("if it cannot wait: turn it away, or find a buyer with a higher limit"));
    tell_if_stale();
    return out;
}

std::string word_of(NextStep step) {
    switch (step) {
        case NextStep::dump:
            return "dump";
        case NextStep::read:
            return "read";
        case NextStep::sample:
            return "sample";
        case NextStep::laboratory:
            return "laboratory";
        case NextStep::make_room:
            return "make_room";
        case NextStep::turn_away:
            return "turn_away";
        case NextStep::weigh:
            return "weigh";
        case NextStep::nothing:
            return "nothing";
    }
    return "";
}

StaleLoads stale_loads(const SeasonData& data, const BinsView& bins, const models::Stamp& at) {
    StaleLoads out;
    std::vector<std::pair<double, std::string>> waited;
    for (const std::string& name : bins.waiting)
        if (const auto hours = hours_waited(data, name, at); hours && *hours > stale_h)
            waited.emplace_back(*hours, name);
    if (waited.empty()) return out;
    std::stable_sort(waited.begin(), waited.end(), [](const auto& a, const auto& b) { return a.first > b.first; });
    out.longest_h = waited.front().first;
    for (const auto& [hours, name] : waited) out.loads.push_back(name);
    for (const models::BinOutlook& look : bins.plan.bins) {
        double mass_t = 0.0;
        for (const std::string& name : look.sent) {
            if (std::find(out.loads.begin(), out.loads.end(), name) == out.loads.end()) continue;
            for (const models::Assignment& placed : bins.plan.assignments)
                if (placed.name == name && placed.bin == look.bin) mass_t += placed.mass_t;
        }
        if (mass_t > 0.0) out.kept.push_back({look.bin, mass_t});
    }
    out.says = stale_in_words(out, bins.waiting.size());
    return out;
}

std::string age_in_words(double hours) {
    const auto minutes = static_cast<long long>(hours * 60.0);
    if (hours < 48.0) return models::phrase("{} h {:02} min", minutes / 60, minutes % 60);
    return models::phrase("{} d {} h", minutes / 1440, minutes / 60 % 24);
}

std::optional<double> hours_waited(const SeasonData& data, const std::string& load, const models::Stamp& at) {
    const models::Load* record = load_named(data, load);
    if (record == nullptr || record->time.utc.time_since_epoch().count() == 0 || record->time.utc > at.utc)
        return std::nullopt;
    return std::chrono::duration<double, std::ratio<3600>>(at.utc - record->time.utc).count();
}

models::Stamp last_record_of_grain(const SeasonData& data, int season) {
    models::Stamp last;
    const auto also = [&](const models::Stamp& stamp) {
        if (models::year_of(stamp.local_day()) <= season && stamp.utc > last.utc) last = stamp;
    };
    for (const models::Move& move : data.moves) also(move.time);
    for (const models::Load& load : data.loads) also(load.time);
    for (const models::Test& test : data.tests) also(test.time);
    for (const models::Sample& sample : data.samples)
        if (sample.taken_time) also(*sample.taken_time);
    return last;
}

}  // namespace app
