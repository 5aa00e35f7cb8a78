#include "app/commands/results_command.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/stages/results_stage.h"
#include "app/table_text.h"
#include "geo/store/store.h"
#include "geo/tables/words.h"
#include "models/error.h"
#include "models/words.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

struct ResultsCommand {
    SeasonOptions season;
    std::string limit;
    std::optional<std::string> basis;
    bool own_duplicates = false;
};

models::Basis basis_option(const std::string& text) {
    const geo::words::List& known = geo::words::of<models::Basis>();
    const auto found = std::find(known.begin(), known.end(), text);
    if (found == known.end())
        throw models::Error("\"" + text + "\" is no basis", "--basis", "write as_is, dry or pct12");
    return static_cast<models::Basis>(found - known.begin());
}

Json known_number(const std::optional<double>& value) {
    return value && std::isfinite(*value) ? Json(*value) : Json(nullptr);
}

const char* outcome_word(models::LimitOutcome outcome) {
    switch (outcome) {
        case models::LimitOutcome::meets:
            return "meets";
        case models::LimitOutcome::breaks:
            return "over";
        case models::LimitOutcome::undecided:
            break;
    }
    return "undecided";
}

Json json_of_row(const ResultRow& row) {
    const bool converted = row.budget.has_value();
    Json out = {{"test", row.test.test},
                {"sample", row.test.sample},
                {"grain", row.grain},
                {"stage", geo::words::word(row.stage)},
                {"method", geo::words::word(row.test.method)},
                {"kit_lot", row.test.kit_lot},
                {"time", models::to_text(row.test.time)},
                {"reported", geo::words::word(row.test.reading)},
                {"reported_mg_per_kg",
                 row.test.reading == models::Reading::invalid ? Json(nullptr) : Json(row.test.don_mg_per_kg)},
                {"reported_basis", geo::words::word(row.test.basis)},
                {"reading", geo::words::word(row.measured.reading)},
                {"don_mg_per_kg", converted ? Json(row.measured.don_mg_per_kg) : Json(nullptr)}};
    const models::TrueContent truth = row.budget ? row.budget->truth : models::TrueContent{};
    out["content_mg_per_kg"] = known_number(truth.content_mg_per_kg);
    out["low90_mg_per_kg"] = known_number(truth.low90_mg_per_kg);
    out["high90_mg_per_kg"] = known_number(truth.high90_mg_per_kg);
    out["log_variance"] = out["share"] = nullptr;
    out["stated_uncertainty"] = row.measured.stated_relative_variance.has_value();
    out["shared"] = out["helps"] = Json::array();
    if (row.budget) {
        const models::BudgetParts& p = row.budget->parts;
        out["log_variance"] = {
            {"sampling", p.sampling}, {"preparation", p.preparation}, {"assay", p.assay}, {"shared", p.shared}};
        const double all = p.total() > 0.0 ? p.total() : 1.0;
        out["share"] = {{"sampling", p.sampling / all},
                        {"preparation", p.preparation / all},
                        {"assay", p.assay / all},
                        {"shared", p.shared / all}};
        for (const models::SharedPart& part : row.budget->shared)
            out["shared"].push_back({{"what", part.what}, {"log_variance", part.log_variance}});
        for (const models::Remedy& remedy : row.budget->remedies) {
            out["helps"].push_back({{"what", remedy.what},
                                    {"low90_mg_per_kg", known_number(remedy.brings.low90_mg_per_kg)},
                                    {"high90_mg_per_kg", known_number(remedy.brings.high90_mg_per_kg)},
                                    {"rests_on", remedy.basis}});
        }
    }
    out["chance_over"] = known_number(row.chance_over);
    out["outcome"] = row.outcome ? Json(outcome_word(*row.outcome)) : Json(nullptr);
    out["flags"] = row.flags;
    return out;
}

Json json_of_results(const ResultsView& view) {
    Json out = {{"season", view.season}, {"basis", geo::words::word(view.basis)}};
    out["limit_mg_per_kg"] = view.limit ? Json(view.limit->limit_mg_per_kg) : Json(nullptr);
    out["limit_basis"] = view.limit ? Json(geo::words::word(view.limit->basis)) : Json(nullptr);
    out["error_model"] = view.error_model;
    out["errors_from"] = view.own ? "own duplicates" : "published";
    if (view.own) {
        const auto component = [](const models::VarianceComponent& c) {
            if (!c.told) return Json{{"told", false}, {"message", c.message}};
            return Json{{"told", true},
                        {"log_variance", c.log_variance},
                        {"low90", c.low90},
                        {"high90", known_number(c.high90)},
                        {"message", c.message}};
        };
        out["own_duplicates"] = {{"lots", view.own->lots},
                                 {"samples", view.own->samples},
                                 {"portions", view.own->portions},
                                 {"readings", view.own->readings},
                                 {"sampling", component(view.own->sampling)},
                                 {"preparation", component(view.own->preparation)},
                                 {"analysis", component(view.own->analysis)}};
    }
    out["notes"] = view.notes;
    out["results"] = Json::array();
    for (const ResultRow& row : view.rows) out["results"].push_back(json_of_row(row));
    return out;
}

std::string reading_text(models::Reading reading, double don) {
    switch (reading) {
        case models::Reading::value:
            return models::content_in_words(don);
        case models::Reading::below:
            return "< " + models::content_in_words(don);
        case models::Reading::above:
            return "> " + models::content_in_words(don);
        case models::Reading::invalid:
            break;
    }
    return "void";
}

std::string interval_cell(const models::TrueContent& truth) {
    if (truth.low90_mg_per_kg && truth.high90_mg_per_kg)
        return drawing::interval_text(*truth.low90_mg_per_kg, *truth.high90_mg_per_kg);
    if (truth.high90_mg_per_kg) return "at most " + drawing::number_text(*truth.high90_mg_per_kg);
    return "at least " + drawing::number_text(*truth.low90_mg_per_kg);
}

void print_rows(const ResultsView& view) {
    std::vector<std::string> columns = {"test",      "grain",        ">reads", ">content", "90 % interval",
                                        ">sampling", ">preparation", ">assay", ">kit lot"};
    if (view.limit) columns.push_back(">chance over");
    columns.push_back("what would help most");
    columns.push_back("flag");
    TextTable table(columns);
    std::map<std::string, std::string> flagged;  // tests by what is said of them
    for (const ResultRow& row : view.rows) {
        const bool on_basis = row.budget.has_value();
        std::vector<std::string> cells = {row.test.test, row.grain,
                                          on_basis || row.test.reading == models::Reading::invalid
                                              ? reading_text(row.measured.reading, row.measured.don_mg_per_kg)
                                              : "–"};
        if (row.budget) {
            const models::ResultBudget& b = *row.budget;
            const auto share = [&](double part) { return fmt::format("{:.0f} %", 100.0 * part / b.parts.total()); };
            cells.push_back(b.truth.content_mg_per_kg ? drawing::number_text(*b.truth.content_mg_per_kg) : "–");
            cells.push_back(interval_cell(b.truth));
            cells.push_back(share(b.parts.sampling));
            // A laboratory states one number for both.
            cells.push_back(row.measured.stated_relative_variance ? "in assay" : share(b.parts.preparation));
            const auto& own_analysis = row.measured.error.own_analysis_cv;
            const bool told_above = own_analysis && *own_analysis == 0.0 && b.parts.assay <= 0.0;
            cells.push_back(told_above ? "in those" : share(b.parts.assay));
            cells.push_back(row.test.method == models::Method::strip ? share(b.parts.shared) : "–");
        } else {
            cells.insert(cells.end(), 6, "–");
        }
        if (view.limit) {
            std::string chance = row.chance_over ? drawing::percent_text(*row.chance_over) : "–";
            // Of a bound it is the end of what is possible: "at most 12 %", and "under 1 %" as it stands.
            const bool plain = chance.empty() || !(chance.front() >= '0' && chance.front() <= '9');
            if (!plain && row.measured.reading == models::Reading::below) chance = "at most " + chance;
            if (!plain && row.measured.reading == models::Reading::above) chance = "at least " + chance;
            cells.push_back(std::move(chance));
        }
        std::string help = "–";
        if (row.budget && !row.budget->remedies.empty()) {
            const models::Remedy& best = row.budget->remedies.front();
            help = best.what + ": " + interval_cell(best.brings);
        }
        cells.push_back(std::move(help));
        std::string mark;
        for (const std::string& flag : row.flags) {
            std::string& tests = flagged[flag];
            tests += (tests.empty() ? "" : ", ") + row.test.test;
            const std::string word = flag.substr(0, flag.find(':'));
            mark += (mark.empty() ? "" : ", ") + (word.size() < 20 ? word : std::string("see below"));
        }
        cells.push_back(std::move(mark));
        table.row(std::move(cells));
    }
    print(table.text());
    for (const auto& [flag, tests] : flagged) print(wrapped_text("Flag: " + flag + ": " + tests + "."));
}

void print_results(const ResultsView& view) {
    std::string heading = fmt::format("Results of {} in mg/kg, {}", view.season, models::in_words(view.basis));
    if (view.limit) heading += ", limit: " + models::in_words(*view.limit);
    print(heading);
    print_rows(view);
    long long theory = 0;
    for (const ResultRow& row : view.rows)
        theory += row.budget && !row.budget->remedies.empty() && !row.budget->remedies.front().basis.empty() ? 1 : 0;
    if (theory > 0) {
        print(wrapped_text(
            "Note: what a grind half as coarse brings is theory, not measured here: the variance of a portion is in "
            "proportion to the cube of the particle size (Gy 1998)."));
    }
    for (const std::string& note : view.notes) print(wrapped_text("Note: " + note + "."));
    print(wrapped_text(
        "Shares are of the variance of the logarithm. Content and interval take the error at the true content, so that "
        "the content lies above a low reading. One result by itself: the map joins it with all others."));
    print(wrapped_text(caution::screening));
}

int run_results(const ResultsCommand& command) {
    ResultsSettings settings;
    std::optional<models::Basis> basis;
    if (command.basis) basis = basis_option(*command.basis);
    settings.own_duplicates = command.own_duplicates;
    ResultsView view;
    with_the_store(command.season, {}, [&](const geo::Store& store, const Question& question, const models::Progress&) {
        const SeasonData data = read_season_data(store);
        settings.season = question.season ? *question.season : newest_season(data);
        if (!command.limit.empty()) settings.limit = limit_for_season(data, command.limit, settings.season);
        settings.basis = basis.value_or(settings.limit ? settings.limit->basis : models::Basis::as_is);
        view = results_of_season(data, settings);
    });
    if (command.season.json) {
        print(json_of_results(view).dump(2, ' ', false, Json::error_handler_t::replace));
    } else {
        print_results(view);
    }
    return 0;
}

}  // namespace

Command make_results_command() {
    return {"results", "Every test of a season with its interval, and what its error consists of.",
            [](Options& options) {
                auto command = std::make_shared<ResultsCommand>();
                command->season.declare(options);
                options.option(command->limit, "--limit", "L",
                               "a limit_id of the store, or a number in mg/kg: the chance to be over it");
                options.option(command->basis, "--basis", "BASIS",
                               "as_is, dry or pct12: of the whole table; the limit's where it is not said, else as_is");
                options.flag(command->own_duplicates, "--own-duplicates",
                             "errors of strips from the store's own duplicates in place of the published ones");
                options.footer(
                    "Example: lodicule results season.lodicule --season 2026 --limit 1.25\n"
                    "Errors are published for wheat (Whitaker et al. 2000, J AOAC Int 83, 1285) and taken at the true\n"
                    "content. Duplicates: two samples of one load, bin or field and day; two samples that were split\n"
                    "from one (parent); two tests of a sample that was split off. A laboratory's stated uncertainty\n"
                    "stands for its preparation and analysis. A result that cannot be brought to the table's basis,\n"
                    "because its sample's moisture is not recorded, has no number in it.");
                return [command] { return run_results(*command); };
            }};
}

}  // namespace app::commands
