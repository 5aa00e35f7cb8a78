#include "app/commands/results_command.h"

#include <algorithm>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/results_output.h"
#include "app/commands/season_options.h"
#include "app/stages/results_stage.h"
#include "geo/store/store.h"
#include "geo/tables/words.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct ResultsCommand {
    SeasonOptions season;
    std::string limit;
    GrainAsked grain;
    std::optional<std::string> basis;
    bool own_duplicates = false;
    double operator_pct = 0.0, reader_pct = 0.0, run_pct = 0.0;
};

/// Percent on the command line, a fraction inside.
double fraction_option(double percent, const char* option) {
    if (!(percent >= 0.0 && percent <= 100.0))
        throw models::Error(fmt::format("{} % is no coefficient of variation here", percent), option,
                            "give one from 0 to 100, as you measured it");
    return percent / 100.0;
}

models::Basis basis_option(const std::string& text) {
    const geo::words::List& known = geo::words::of<models::Basis>();
    const auto found = std::find(known.begin(), known.end(), text);
    if (found == known.end())
        throw models::Error("\"" + text + "\" is no basis", "--basis", "write as_is, dry or pct12");
    return static_cast<models::Basis>(found - known.begin());
}

int run_results(const ResultsCommand& command) {
    ResultsSettings settings;
    std::optional<models::Basis> basis;
    if (command.basis) basis = basis_option(*command.basis);
    settings.own_duplicates = command.own_duplicates;
    settings.grain = command.grain;
    settings.shared = {fraction_option(command.operator_pct, "--operator-cv"),
                       fraction_option(command.reader_pct, "--reader-cv"),
                       fraction_option(command.run_pct, "--run-cv")};
    ResultsView view;
    with_the_store(command.season, {}, [&](const geo::Store& store, const Question& question, const models::Progress&) {
        const SeasonData data = read_season_data(store);
        settings.season = question.season ? *question.season : newest_season(data);
        if (!command.limit.empty()) settings.limit = limit_for_season(data, command.limit, settings.season);
        settings.basis = basis.value_or(settings.limit ? settings.limit->basis : models::Basis::as_is);
        view = results_of_season(data, settings);
    });
    if (command.season.json) {
        print(json_of_results(view).dump(2, ' ', false, nlohmann::ordered_json::error_handler_t::replace));
    } else {
        print_results(view);
    }
    return 0;
}

}  // namespace

Command make_results_command() {
    return {
        "results", "Every test of a season with its interval, and what its error consists of.", [](Options& options) {
            auto command = std::make_shared<ResultsCommand>();
            command->season.declare(options);
            options.option(command->limit, "--limit", "L",
                           "a limit_id of the store, or a number in mg/kg: what the results mean beside it");
            options.option(command->grain.load, "--load", "LOAD", "only what was taken of this load");
            options.option(command->grain.bin, "--bin", "BIN", "only what was taken of this bin");
            options.option(command->grain.field, "--field", "FIELD", "only what was taken of this field");
            options.option(command->grain.sample, "--sample", "SAMPLE", "only this sample and what was split from it");
            options.option(command->basis, "--basis", "BASIS",
                           "as_is, dry or pct12: of the whole table; the limit's where it is not said, else as_is");
            options.flag(command->own_duplicates, "--own-duplicates",
                         "errors of strips from the store's own duplicates in place of the published ones");
            options.option(command->operator_pct, "--operator-cv", "PCT",
                           "what results of one operator share, as you measured it");
            options.option(command->reader_pct, "--reader-cv", "PCT", "what results of one reader share");
            options.option(command->run_pct, "--run-cv", "PCT",
                           "what strips of one kit lot on one day share beside the lot");
            options.footer(
                "Examples: lodicule results season.lodicule --season 2026\n"
                "          lodicule results season.lodicule --load L07 --limit 1.25\n"
                "With --limit each load, bin and field has the counter's conclusion: below the cut-off, suspected,\n"
                "undecided, or what a laboratory found. The cut-off is that of the kit lot's validation for this\n"
                "limit (lodicule cut-off), else where guarded acceptance ends. How often is tested again is laid\n"
                "down beforehand, with the limit (repeat_when, repeat_most, repeat_of).\n"
                "Errors are published for wheat (Whitaker et al. 2000, J AOAC Int 83, 1285) and taken at the true\n"
                "content. Duplicates: two samples of one load, bin or field and day; two samples that were split\n"
                "from one (parent); two tests of a sample that was split off. A laboratory's stated uncertainty\n"
                "stands for its preparation and analysis. A result that cannot be brought to the table's basis,\n"
                "because neither its sample's nor its load's moisture is recorded, has no number in it.");
            return [command] { return run_results(*command); };
        }};
}

}  // namespace app::commands
