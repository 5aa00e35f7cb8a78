#include "models/nearest_names.h"

#include <algorithm>
#include <cctype>

#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace {

std::string lower_letters(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return out;
}

/// Insertions, deletions, substitutions and swaps of neighbours that turn one word into the other.
std::size_t edit_distance(const std::string& a, const std::string& b) {
    std::vector<std::vector<std::size_t>> cost(a.size() + 1, std::vector<std::size_t>(b.size() + 1));
    for (std::size_t i = 0; i <= a.size(); ++i) cost[i][0] = i;
    for (std::size_t j = 0; j <= b.size(); ++j) cost[0][j] = j;
    for (std::size_t i = 1; i <= a.size(); ++i) {
        for (std::size_t j = 1; j <= b.size(); ++j) {
            const std::size_t change = a[i - 1] == b[j - 1] ? 0 : 1;
            cost[i][j] = std::min({cost[i - 1][j] + 1, cost[i][j - 1] + 1, cost[i - 1][j - 1] + change});
            if (i > 1 && j > 1 && a[i - 1] == b[j - 2] && a[i - 2] == b[j - 1]) {
                cost[i][j] = std::min(cost[i][j], cost[i - 2][j - 2] + 1);
            }
        }
    }
    return cost[a.size()][b.size()];
}

std::size_t letters_to_change(const std::string& wanted) {
    return std::max<std::size_t>(1, wanted.size() / 3);
}

bool begin_alike(const std::string& a, const std::string& b) {
    constexpr std::size_t same = 3;
    return a.size() >= same && b.size() >= same && a.compare(0, same, b, 0, same) == 0;
}

}  // namespace

std::string nearest_name(std::string_view wrong, const std::vector<std::string>& known) {
    const std::string wanted = lower_letters(wrong);
    std::string best;
    std::size_t best_distance = letters_to_change(wanted) + 1;
    for (const std::string& name : known) {
        const std::size_t distance = edit_distance(wanted, lower_letters(name));
        if (distance < best_distance) {
            best_distance = distance;
            best = name;
        }
    }
    return best;
}

std::vector<std::string> nearest_names(std::string_view wrong, const std::vector<std::string>& known,
                                       std::size_t most) {
    const std::string wanted = lower_letters(wrong);
    std::vector<std::pair<std::size_t, std::string>> ranked;
    for (const std::string& name : known) {
        const std::string lowered = lower_letters(name);
        const bool begins = !wanted.empty() && lowered.starts_with(wanted);
        const std::size_t distance = edit_distance(wanted, lowered);
        if (begins || begin_alike(wanted, lowered) || distance <= letters_to_change(wanted))
            ranked.emplace_back(begins ? 0 : 1 + distance, name);
    }
    std::stable_sort(ranked.begin(), ranked.end(), [](const auto& a, const auto& b) { return a.first < b.first; });
    if (ranked.size() > most) ranked.resize(most);
    std::vector<std::string> names;
    for (auto& [distance, name] : ranked) names.push_back(std::move(name));
    return names;
}

std::string mend_of_unknown_name(std::string_view wrong, const std::vector<std::string>& known,
                                 const std::string& listing) {
    constexpr std::size_t few = 6;
    if (known.empty()) return phrase("there is none yet");
    std::string list;
    if (known.size() <= few) {
        for (const std::string& name : known) list += (list.empty() ? "" : ", ") + name;
        return known.size() == 1 ? phrase("use {}", list) : phrase("use one of {}", list);
    }
    const std::vector<std::string> near = nearest_names(wrong, known);
    if (near.empty()) return phrase("use one of the {} that `{}` lists", known.size(), listing);
    for (std::size_t i = 0; i < near.size(); ++i) {
        list += (i == 0 ? std::string() : i + 1 == near.size() ? phrase(" or ") : std::string(", ")) + near[i];
    }
    return phrase("did you mean {}? `{}` lists all", list, listing);
}

}  // namespace models
