#include "app/stages/withdrawn_names.h"

#include <cctype>
#include <charconv>

#include <fmt/format.h>

#include "geo/store/store.h"

namespace app {

std::set<std::string> withdrawn_names(const geo::Store& store, const std::string& kind) {
    std::set<std::string> names;
    for (const geo::Withdrawal& one : store.withdrawals())
        if (one.kind == kind) names.insert(one.name);
    return names;
}

std::string next_move_name(const std::vector<models::Move>& moves, const std::set<std::string>& withdrawn) {
    std::set<std::string> taken = withdrawn;
    for (const models::Move& move : moves) taken.insert(move.move);
    return name_after(moves.empty() ? "M0" : moves.back().move,
                      [&taken](const std::string& name) { return taken.count(name) != 0; });
}

std::string name_after(const std::string& before, const std::function<bool(const std::string&)>& taken) {
    std::size_t digits = 0;
    while (digits < before.size() && digits < 9 &&
           std::isdigit(static_cast<unsigned char>(before[before.size() - 1 - digits])) != 0)
        ++digits;
    const std::string stem = before.substr(0, before.size() - digits) + (digits == 0 ? "-" : "");
    long number = 1;
    if (digits > 0) std::from_chars(before.data() + before.size() - digits, before.data() + before.size(), number);
    while (true) {
        std::string name = stem + fmt::format("{:0{}}", ++number, digits);
        if (!taken(name)) return name;
    }
}

}  // namespace app
