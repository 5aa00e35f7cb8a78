#include "models/decision/load_life.h"

#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "models/spoken.h"

namespace models {

namespace {

constexpr LoadStatus all_load_states[] = {LoadStatus::arrived,  LoadStatus::probed, LoadStatus::awaiting,
                                          LoadStatus::directed, LoadStatus::dumped, LoadStatus::turned_away};

bool still_waits(LoadStatus status) {
    return status != LoadStatus::dumped && status != LoadStatus::turned_away;
}

}  // namespace

LoadState state_of_load(const LoadFacts& facts) {
    LoadState state;
    state.status = facts.written;
    if (facts.in_bins || facts.sent_away) {
        state.status = facts.in_bins ? LoadStatus::dumped : LoadStatus::turned_away;
        state.derived = state.status != facts.written;
        if (!still_waits(facts.written) && state.derived)
            state.odd = facts.in_bins ? phrase("its status says turned away, and by the moves it was dumped")
                                      : phrase("its status says dumped, and by the moves it was turned away");
        return state;
    }
    if (!still_waits(facts.written)) {
        state.odd = facts.written == LoadStatus::dumped
                        ? phrase("its status says {}, and no move says into which bin", in_words(facts.written))
                        : phrase("its status says {}, and no move says that it left", in_words(facts.written));
        return state;
    }
    const LoadStatus done = facts.has_result ? LoadStatus::awaiting
                            : facts.sampled  ? LoadStatus::probed
                                             : LoadStatus::arrived;
    state.status = std::max(facts.written, done);
    state.derived = state.status != facts.written;
    return state;
}

bool may_follow(LoadStatus before, LoadStatus after) {
    if (before == after) return true;
    if (!still_waits(before)) return false;
    if (!still_waits(after) || after > before) return true;
    return before == LoadStatus::directed && after != LoadStatus::arrived;
}

std::string why_not_followed(LoadStatus before, LoadStatus after) {
    if (may_follow(before, after)) return "";
    if (!still_waits(before)) {
        return phrase("a load that was {} is not {} afterwards; if it was not, correct or withdraw its move",
                      in_words(before), in_words(after));
    }
    std::string next;
    for (const LoadStatus status : all_load_states) {
        if (status == before || !may_follow(before, status)) continue;
        next += (next.empty() ? "" : ", ") + in_words(status);
    }
    return phrase("a load that is {} is not {} next; after it comes {}", in_words(before), in_words(after), next);
}

std::string in_words(LoadStatus status) {
    switch (status) {
        case LoadStatus::arrived:
            return phrase("arrived");
        case LoadStatus::probed:
            return phrase("probed");
        case LoadStatus::awaiting:
            return phrase("awaiting");
        case LoadStatus::directed:
            return phrase("directed");
        case LoadStatus::dumped:
            return phrase("dumped");
        case LoadStatus::turned_away:
            return phrase("turned away");
    }
    return "";
}

}  // namespace models
