#include "app/commands/add_command.h"

#include <cstdio>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include <fmt/format.h>

#include "app/commands/bench_steps.h"
#include "app/commands/record_cautions.h"
#include "app/table_text.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct AddAsked {
    std::string store, kind;
    std::optional<std::string> withdraw_because;
    std::vector<std::string> values;
    geo::ImportOptions options;
    AddTest test;
};

std::string listed(const std::vector<std::string>& parts) {
    std::string text;
    for (const std::string& part : parts) text += (text.empty() ? "" : ", ") + part;
    return text;
}

int add_one(const AddAsked& asked) {
    if (asked.kind == "test") {
        if (!asked.values.empty()) {
            throw models::Error("the bench takes no column=value", "add STORE test",
                                "a row as it stands: add STORE tests " + asked.values.front() + " ...; or see " +
                                    "lodicule add --help");
        }
        if (asked.withdraw_because || !asked.options.correct_because.empty() || asked.options.as_written) {
            throw models::Error("the bench corrects and withdraws nothing", "add STORE test",
                                "add STORE tests test=... --correct REASON, or --withdraw REASON");
        }
        return add_test(asked.store, asked.test, asked.options.actor);
    }
    geo::tables::kind_named(asked.kind);
    if (const std::string option = asked.test.option_given(); !option.empty()) {
        throw models::Error(option + " is of the bench, and here a row of " + asked.kind + " is added", "",
                            "open the bench with add STORE test, or write column=value");
    }
    if (asked.values.empty()) {
        std::fprintf(stderr, "lodicule: VALUES is required. `lodicule add --help` tells more.\n");
        return 2;
    }
    std::vector<std::pair<std::string, std::string>> values;
    for (const std::string& given : asked.values) {
        const auto mark = given.find('=');
        if (mark == std::string::npos || mark == 0) {
            throw models::Error("\"" + given + "\" is no column=value", "", "write for example field=F12");
        }
        values.emplace_back(given.substr(0, mark), given.substr(mark + 1));
    }
    geo::Store store = geo::Store::open(asked.store);
    if (asked.withdraw_because) {
        if (!asked.options.correct_because.empty()) {
            throw models::Error("a record is corrected or withdrawn, not both", "--withdraw", "leave one of them out");
        }
        const std::string name =
            geo::withdraw_row(store, asked.kind, values, *asked.withdraw_because, asked.options.actor);
        fmt::print("{} is withdrawn; the record of it stays (lodicule check names it)\n", name);
        return 0;
    }
    const geo::ImportReport report = geo::add_row(store, asked.kind, values, asked.options);
    for (const std::string& note : report.notes) fmt::print("{}\n", note);
    fmt::print("{}\n", report.corrected > 0 ? "corrected" : report.added > 0 ? "added" : "there already");
    for (const std::string& change : report.changed) fmt::print("{}", wrapped_text(change, 100, "  "));
    if (!report.kept.empty()) fmt::print("{}", wrapped_text("kept: " + listed(report.kept), 100, "  "));
    // What happened is recorded whatever it was; who records it learns at once what is wrong with it.
    for (const std::string& caution : cautions_of_records(store, report)) {
        fmt::print("{}", wrapped_text("Caution: " + caution + "."));
    }
    return 0;
}

}  // namespace

Command make_add_command() {
    return {
        "add", "Adds one row by hand or scanner; `add STORE test` opens the bench.", [](Options& options) {
            const auto asked = std::make_shared<AddAsked>();
            options.positional(asked->store, "STORE", "The store");
            options.positional(asked->kind, "KIND",
                               "What the row is: samples, tests, loads, moves ...; test: the bench");
            options.positional(asked->values, "VALUES", "column=value, as many as are known; none at the bench", false);
            options.option(asked->options.correct_because, "--correct", "REASON",
                           "This corrects what is there, for this reason; what is not typed stays");
            options.option(asked->withdraw_because, "--withdraw", "REASON",
                           "The record was wrong and counts no more, for this reason; type only its key");
            options.flag(asked->options.as_written, "--as-written",
                         "A value that looks like another unit is right as it stands");
            options.option(asked->options.actor, "--actor", "NAME", "Who does this; else the user's name");
            asked->test.declare(options);
            options.footer(
                "The bench, one test after another\n"
                "  lodicule add farm.lodicule test --operator Ada --kit-lot K1\n"
                "Scan or type a sample's code: the clock of its strip starts, and says when the kit lot lets it be\n"
                "read; several run side by side. Type what it reads (0.42, <0.3, lines 512 940, void REASON), then\n"
                "yes. `help` inside lists the words. Every start and result is in the store at once: leaving, or a\n"
                "power cut, loses none. Lines may come from a file. A control is due first with each kit lot on\n"
                "each day and after 20 strips of grain (common practice, no source), or as the kit lot's\n"
                "control_every_tests or --control-every says. One step without a dialogue:\n"
                "  lodicule add farm.lodicule test --sample S12 --kit-lot K1 --start\n"
                "  lodicule add farm.lodicule test --sample S12 --content 0.42\n"
                "  lodicule add farm.lodicule test --sample S12 --test-line 512 --control-line 940\n"
                "\nExamples of rows\n"
                "  lodicule add farm.lodicule samples sample=S17 stage=standing kind=composite field=F12 "
                "chosen_because=risk\n"
                "  lodicule add farm.lodicule tests test=T17 sample=S17 time=2026-07-20T09:30:00+02:00 don=0.42 "
                "unit=mg/kg\n"
                "  lodicule add farm.lodicule tests test=T18 sample=S18 time=2026-07-20T09:50:00+02:00 \"don=<0.2\" "
                "unit=mg/kg\n"
                "  lodicule add farm.lodicule tests test=T19 sample=S18 time=2026-07-20T09:58:00+02:00 valid=no \\\n"
                "      void_reason=\"no control line\"\n"
                "  lodicule add farm.lodicule samples sample=K1 stage=control kind=composite   (of control K1)\n"
                "  lodicule add farm.lodicule bins bin=S6 limit_id=eu-food-wheat --correct \"new contract\"\n"
                "  lodicule add farm.lodicule moves move=M43 --withdraw \"typed twice\"\n"
                "With --correct, what is not typed stays as it is, and column= or column=- clears. A withdrawn record\n"
                "stays in the chain of records with its reason. A move that takes more than lies there (50 kg are let\n"
                "pass, for scales) is refused. `lodicule import --help` lists every column.");
            return [asked] { return add_one(*asked); };
        }};
}

}  // namespace app::commands
