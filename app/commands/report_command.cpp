#include "app/commands/report_command.h"

#include <memory>

#include <fmt/format.h>

#include "app/commands/season_options.h"
#include "app/report/season_report_json.h"
#include "app/report_of_season.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct ReportCommand {
    SeasonOptions season;
    std::string limit, out;
};

int run(const ReportCommand& command) {
    if (command.out == "-") {
        throw models::Error("the report is a page to open and does not go to standard output", "--out",
                            "name a file, such as season.html");
    }
    Question question;
    question.limit = command.limit;
    const SeasonView view = look(command.season, question);
    const geo::Store store = geo::Store::open(command.season.store, geo::Store::Access::read_only);
    const report::SeasonReport record = report_of_season(store, view);
    report::write_season_report(record, command.out);
    if (command.season.json) {
        print(report::season_report_json(record, {command.out}));
        return 0;
    }
    print(
        fmt::format("Written: {} (season {}; open it in any browser, print it from there)", command.out, view.season));
    return 0;
}

}  // namespace

Command make_report_command() {
    return {"report", "Writes the record of a season as one page that anybody can open.", [](Options& options) {
                auto command = std::make_shared<ReportCommand>();
                command->season.declare(options);
                command->season.declare_contamination(options);
                options.option(command->limit, "--limit", "L", "a limit_id of the store, or a number in mg/kg", true);
                options.option(command->out, "--out", "FILE.html", "where the page goes", true);
                options.footer(
                    "Example: lodicule report season.lodicule --season 2026 --limit 1.0 --out season-2026.html\n"
                    "With --json all that the page says is printed too, for programs.");
                return [command] { return run(*command); };
            }};
}

}  // namespace app::commands
