#include "app/commands/check_command.h"

#include <memory>
#include <string>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/check.h"
#include "geo/store/store.h"

namespace app::commands {

namespace {

int check_one(const std::string& file, bool as_json) {
    geo::Store store = geo::Store::open(file, geo::Store::Access::read_only);
    const auto findings = geo::check_store(store);
    bool good = true;
    nlohmann::ordered_json list = nlohmann::ordered_json::array();
    for (const geo::CheckFinding& finding : findings) {
        good = good && finding.good;
        list.push_back({{"what", finding.what}, {"good", finding.good}, {"detail", finding.detail}});
        if (!as_json) fmt::print("{:<18}{:<7}{}\n", finding.what, finding.good ? "good" : "WRONG", finding.detail);
    }
    if (as_json) {
        const nlohmann::ordered_json out = {{"good", good}, {"findings", std::move(list)}};
        fmt::print("{}\n", out.dump(2, ' ', false, nlohmann::json::error_handler_t::replace));
    } else if (!good) {
        fmt::print(stderr, "lodicule: {}: the store is not as it was made. Keep a copy, and take the last backup.\n",
                   file);
    }
    return good ? 0 : 1;
}

}  // namespace

Command make_check_command() {
    return {
        "check", "Looks whether the store is whole and nobody altered it.", [](Options& options) {
            struct Asked {
                std::string store;
                bool json = false;
            };
            const auto asked = std::make_shared<Asked>();
            options.positional(asked->store, "STORE", "The store");
            options.flag(asked->json, "--json", "The findings as JSON");
            options.footer(
                "Checked are the database file, the rules of its tables, the chain of records (every record against\n"
                "what was said when it went in), names that records refer to, the outlines, the weather.\n"
                "Whoever notes the last number of the chain can see later that nothing before it was altered.");
            return [asked] { return check_one(asked->store, asked->json); };
        }};
}

}  // namespace app::commands
