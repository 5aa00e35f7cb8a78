#include "app/commands/add_command.h"

#include <memory>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "app/stages/grain_in_bins.h"
#include "app/table_text.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct AddAsked {
    std::string store, kind;
    std::vector<std::string> values;
    geo::ImportOptions options;
};

std::vector<std::string> warnings_of(const geo::Store& store,
                                     const std::vector<std::pair<std::string, std::string>>& values) {
    for (const auto& [column, value] : values) {
        if (column != "move") continue;
        try {
            return warnings_of_move(read_season_data(store), value);
        } catch (const models::Error& error) {  // the moves do not add up
            return {error.what()};
        }
    }
    return {};
}

int add_one(const AddAsked& asked) {
    geo::tables::kind_named(asked.kind);
    std::vector<std::pair<std::string, std::string>> values;
    for (const std::string& given : asked.values) {
        const auto mark = given.find('=');
        if (mark == std::string::npos || mark == 0) {
            throw models::Error("\"" + given + "\" is no column=value", "", "write for example field=F12");
        }
        values.emplace_back(given.substr(0, mark), given.substr(mark + 1));
    }
    geo::Store store = geo::Store::open(asked.store);
    const geo::ImportReport report = geo::add_row(store, asked.kind, values, asked.options);
    for (const std::string& note : report.notes) fmt::print("{}\n", note);
    fmt::print("{}\n", report.corrected > 0 ? "corrected" : report.added > 0 ? "added" : "there already");
    if (asked.kind == "moves") {
        // What happened is recorded whatever it was; who records it learns at once what is wrong with it.
        for (const std::string& warning : warnings_of(store, values)) {
            fmt::print("{}", wrapped_text("Caution: " + warning + "."));
        }
    }
    return 0;
}

}  // namespace

Command make_add_command() {
    return {
        "add", "Adds one row by hand or scanner.", [](Options& options) {
            const auto asked = std::make_shared<AddAsked>();
            options.positional(asked->store, "STORE", "The store");
            options.positional(asked->kind, "KIND", "What the row is: samples, tests, loads, moves ...");
            options.positional(asked->values, "VALUES", "column=value, as many as are known");
            options.option(asked->options.correct_because, "--correct", "REASON",
                           "This corrects what is there, for this reason");
            options.option(asked->options.actor, "--actor", "NAME", "Who does this; else the user's name");
            options.footer(
                "Examples\n"
                "  lodicule add farm.lodicule samples sample=S17 stage=standing kind=composite field=F12 "
                "chosen_because=risk\n"
                "  lodicule add farm.lodicule tests test=T17 sample=S17 time=2026-07-20T09:30:00+02:00 don=0.42 "
                "unit=mg/kg\n"
                "  lodicule add farm.lodicule tests test=T18 sample=S18 time=2026-07-20T09:50:00+02:00 \"don=<0.2\" "
                "unit=mg/kg\n"
                "`lodicule import --help` lists every column.");
            return [asked] { return add_one(*asked); };
        }};
}

}  // namespace app::commands
