#include "models/error.h"

#include <algorithm>
#include <cctype>
#include <utility>

namespace models {

namespace {

std::string sentence(const std::string& what_happened, const std::string& where, const std::string& how_to_mend) {
    std::string text;
    if (!where.empty()) text += where + ": ";
    text += what_happened;
    if (!text.empty() && text.back() != '.' && text.back() != '?') text += '.';
    if (!how_to_mend.empty()) {
        text += " To mend it: " + how_to_mend;
        if (text.back() != '.' && text.back() != '?') text += '.';
    }
    return text;
}

std::string lower(std::string_view text) {
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

}  // namespace

Error::Error(std::string what_happened, std::string where, std::string how_to_mend)
    : std::runtime_error(sentence(what_happened, where, how_to_mend)),
      what_happened_(std::move(what_happened)),
      where_(std::move(where)),
      how_to_mend_(std::move(how_to_mend)) {}

std::string nearest_name(std::string_view wrong, const std::vector<std::string>& known) {
    const std::string wanted = lower(wrong);
    std::string best;
    std::size_t best_distance = std::max<std::size_t>(1, wanted.size() / 3) + 1;
    for (const std::string& name : known) {
        const std::size_t distance = edit_distance(wanted, lower(name));
        if (distance < best_distance) {
            best_distance = distance;
            best = name;
        }
    }
    return best;
}

}  // namespace models
