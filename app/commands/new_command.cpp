#include "app/commands/new_command.h"

#include <memory>
#include <string>

#include <fmt/format.h>

#include "geo/store/store.h"

namespace app::commands {

Command make_new_command() {
    return {
        "new", "Makes a store: one file for everything of any number of seasons.", [](Options& options) {
            const auto file = std::make_shared<std::string>();
            options.positional(*file, "STORE", "The file to make, for example farm.lodicule");
            options.footer(
                "The store begins with a table of DON limits, dated and with their sources; those marked\n"
                "`confirmed = no` are from memory: check them before use (`lodicule export STORE limits --out -`).\n"
                "Next: lodicule import STORE fields outlines.geojson");
            return [file] {
                const geo::Store store = geo::Store::create(*file);
                const auto limits = store.limits();
                std::size_t unconfirmed = 0;
                for (const models::Limit& limit : limits) unconfirmed += limit.confirmed ? 0 : 1;
                fmt::print(
                    "made {} with {} limits, {} of them from memory and to be checked\n"
                    "Next: lodicule import {} fields outlines.geojson\n",
                    *file, limits.size(), unconfirmed, *file);
                return 0;
            };
        }};
}

}  // namespace app::commands
