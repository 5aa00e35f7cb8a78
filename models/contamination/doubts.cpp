#include "models/contamination/doubts.h"

#include <algorithm>

#include <fmt/format.h>

#include "models/counted.h"

namespace models {

std::string in_words(DoubtState state) {
    switch (state) {
        case DoubtState::doubted:
            return "doubted";
        case DoubtState::nothing_against:
            return "nothing against it";
        case DoubtState::cannot_be_told:
            break;
    }
    return "cannot be told from these results";
}

std::string name_of(Assumption what) {
    switch (what) {
        case Assumption::risk_effect:
            return "risk_effect";
        case Assumption::straight_effect:
            return "straight_effect";
        case Assumption::season_effect:
            return "season_effect";
        case Assumption::no_outliers:
            return "no_outliers";
        case Assumption::low_results:
            return "low_results";
        case Assumption::season_spread:
            return "season_spread";
        case Assumption::kit_lot:
            return "kit_lot";
        case Assumption::stage:
            return "stage";
        case Assumption::reason:
            return "reason";
        case Assumption::risk_weather:
            return "risk_weather";
        case Assumption::risk_dates:
            return "risk_dates";
        case Assumption::increments:
            break;
    }
    return "increments";
}

std::vector<std::string> warnings_of(const std::vector<Doubt>& doubts) {
    constexpr std::size_t most_doubted = 2;
    std::vector<const Doubt*> doubted;
    std::string unseen;
    for (const Doubt& doubt : doubts) {
        if (doubt.said_elsewhere) continue;
        if (doubt.state == DoubtState::doubted) doubted.push_back(&doubt);
        if (doubt.state == DoubtState::cannot_be_told && !doubt.in_short.empty())
            unseen += (unseen.empty() ? "" : "; ") + doubt.in_short;
    }
    // What the data themselves say comes before what only a test of them says.
    std::stable_sort(doubted.begin(), doubted.end(),
                     [](const Doubt* a, const Doubt* b) { return a->chance.value_or(0.0) < b->chance.value_or(0.0); });
    std::vector<std::string> lines;
    for (std::size_t i = 0; i < std::min(doubted.size(), most_doubted); ++i) lines.push_back(doubted[i]->sentence);
    if (doubted.size() > most_doubted) {
        const auto more = static_cast<long long>(doubted.size() - most_doubted);
        lines.back() += fmt::format(" {} doubted, too (map --assumptions).",
                                    counted(more, "more assumption is", "more assumptions are"));
    }
    if (!unseen.empty()) lines.push_back("These results would not show, or hardly: " + unseen + ".");
    return lines;
}

}  // namespace models
