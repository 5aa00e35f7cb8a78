#include "app/commands/results_output.h"

#include <algorithm>
#include <cmath>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/commands/row_notes.h"
#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/result_words.h"
#include "app/table_text.h"
#include "geo/tables/words.h"
#include "models/words.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

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

Json json_of_conformity(const models::Conformity& of) {
    return {{"meets_at_least", of.probability_low},
            {"meets_at_most", of.probability_high},
            {"accept_to_mg_per_kg", of.accept_to_mg_per_kg},
            {"break_from_mg_per_kg", of.break_from_mg_per_kg},
            {"guard_factor", of.guard_factor},
            {"guarded", outcome_word(of.guarded)}};
}

Json json_of_conclusion(const GrainConclusion& told) {
    const models::Conclusion& c = told.conclusion;
    return {{"grain", told.grain},
            {"tests", told.tests},
            {"state", models::in_words(c.state)},
            {"laboratory", c.laboratory ? Json(outcome_word(*c.laboratory)) : Json(nullptr)},
            {"sentence", c.sentence},
            {"results_counted", c.results_counted},
            {"repeats_due", c.repeats_due},
            {"mean_low_mg_per_kg", known_number(c.mean_low_mg_per_kg)},
            {"mean_high_mg_per_kg", known_number(c.mean_high_mg_per_kg)},
            {"chance_over_low", known_number(c.chance_over_low)},
            {"chance_over_high", known_number(c.chance_over_high)},
            {"improvement", c.improvement ? Json(c.improvement->words) : Json(nullptr)},
            {"chance_with_improvement", known_number(c.chance_with_improvement)},
            {"doubts", told.doubts},
            {"notes", c.notes}};
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
    out["kit_lot_log_mean"] = row.measured.shared_log_mean;
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
    out["conformity"] = out["official"] = nullptr;
    if (row.conformity) out["conformity"] = json_of_conformity(*row.conformity);
    if (row.official) {
        out["official"] = {{"over", row.official->over ? Json(*row.official->over) : Json(nullptr)},
                           {"says", row.official->says},
                           {"notes", row.official->notes}};
    }
    out["flags"] = row.all_flags();
    return out;
}

std::string chance_cell(std::optional<double> chance, models::Reading reading) {
    std::string text = chance ? drawing::percent_text(*chance) : "–";
    // Of a bound it is the end of what is possible: "at most 12 %", and "under 1 %" as it stands.
    const bool plain = text.empty() || !(text.front() >= '0' && text.front() <= '9');
    if (!plain && reading == models::Reading::below) text = "at most " + text;
    if (!plain && reading == models::Reading::above) text = "at least " + text;
    return text;
}

/// What would help, by a capital letter; the table has the letter and what it would bring.
class BestSteps {
 public:
    std::string letter_of(const std::string& step) {
        const auto found = std::find(steps_.begin(), steps_.end(), step);
        const auto place = static_cast<std::size_t>(found - steps_.begin());
        if (found == steps_.end()) steps_.push_back(step);
        return place < 26 ? std::string(1, static_cast<char>('A' + place)) : "Z" + std::to_string(place - 25);
    }
    void print_all() {
        if (!steps_.empty()) print("Best step: what would narrow the interval most, and to what:");
        for (const std::string& step : std::vector<std::string>(steps_))
            print(wrapped_text(letter_of(step) + ": " + step, 100, "  "));
    }

 private:
    std::vector<std::string> steps_;
};

void print_table_of_rows(const ResultsView& view) {
    // Where a line has no room for all, what the uncertainty comes from stands in a block of its own.
    std::vector<std::string> columns = {"test", "grain", ">reads", ">content", "90 % interval"};
    if (view.limit) columns.push_back(">chance over");
    columns.insert(columns.end(), {"best step", "flag", ">samp", ">prep", ">assay", ">shared"});
    TextTable table(columns);
    BestSteps steps;
    RowNotes flags;
    for (const ResultRow& row : view.rows) {
        const bool on_basis = row.budget.has_value();
        std::vector<std::string> cells = {row.test.test, row.grain,
                                          on_basis || row.test.reading == models::Reading::invalid
                                              ? reads_cell(row.measured.reading, row.measured.don_mg_per_kg)
                                              : "–"};
        std::vector<std::string> sources(4, "–");
        if (row.budget) {
            const models::ResultBudget& b = *row.budget;
            const auto share = [&](double part) { return fmt::format("{:.0f}", 100.0 * part / b.parts.total()); };
            cells.push_back(b.truth.content_mg_per_kg ? drawing::number_text(*b.truth.content_mg_per_kg) : "–");
            cells.push_back(interval_cell(b.truth));
            sources[0] = share(b.parts.sampling);
            // A laboratory states one number for preparation and analysis; own duplicates may tell a step only with
            // those below it.
            const auto& own_analysis = row.measured.error.own_analysis_cv;
            const bool told_above = own_analysis && *own_analysis == 0.0 && b.parts.assay <= 0.0;
            if (!row.measured.stated_relative_variance) sources[1] = share(b.parts.preparation);
            if (!told_above) sources[2] = share(b.parts.assay);
            if (row.test.method == models::Method::strip) sources[3] = share(b.parts.shared);
        } else {
            cells.insert(cells.end(), 2, "–");
        }
        if (view.limit) cells.push_back(chance_cell(row.chance_over, row.measured.reading));
        std::string step = "–";
        if (row.budget && !row.budget->remedies.empty()) {
            const models::Remedy& best = row.budget->remedies.front();
            step = steps.letter_of(best.what) + " " + interval_cell(best.brings);
        }
        cells.push_back(std::move(step));
        std::vector<RowNote> notes;
        for (const std::string& flag : row.all_flags()) notes.push_back({flag, ""});
        cells.push_back(flags.marks(row.test.test, notes));
        cells.insert(cells.end(), sources.begin(), sources.end());
        table.row(std::move(cells));
    }
    print(table.text_within());
    print(wrapped_text(
        "samp, prep, assay, shared: how much of the uncertainty, in percent, comes from sampling, from preparation "
        "(grind "
        "and portion), from the strip with its curve, and from what results share (kit lot; operator, reader and run "
        "where you give their size). A laboratory's stated uncertainty holds preparation "
        "and assay in one."));
    steps.print_all();
    if (const std::string told = flags.text(); !told.empty()) print("Flags:\n" + told);
}

std::string mean_cell(const models::Conclusion& c) {
    if (!c.mean_low_mg_per_kg || !c.mean_high_mg_per_kg) return "–";
    const double low = *c.mean_low_mg_per_kg, high = *c.mean_high_mg_per_kg;
    if (low == high) return drawing::number_text(low);
    if (!std::isfinite(high)) return "> " + drawing::number_text(low);
    return low > 0.0 ? drawing::interval_text(low, high) : "< " + drawing::number_text(high);
}

std::string chance_cell(const models::Conclusion& c) {
    if (!c.chance_over_low || !c.chance_over_high) return "–";
    const std::string low = drawing::percent_text(*c.chance_over_low),
                      high = drawing::percent_text(*c.chance_over_high);
    if (low == high) return low;
    if (*c.chance_over_low <= 0.0) return high.starts_with("under") ? high : "at most " + high;
    return *c.chance_over_high >= 1.0 ? "at least " + low : low + " to " + high;
}

/// A few grains in full sentences, many in a table.
void print_conclusions(const ResultsView& view) {
    constexpr std::size_t most_in_sentences = 4;
    const bool in_a_table = view.conclusions.size() > most_in_sentences;
    std::set<std::string> notes;
    TextTable table({"at the counter", ">counted", ">mean reads", ">chance over", "state"});
    for (const GrainConclusion& told : view.conclusions) {
        const models::Conclusion& c = told.conclusion;
        table.row({told.grain, std::to_string(c.results_counted), mean_cell(c), chance_cell(c),
                   models::state_in_words(c) + (told.doubts.empty() ? "" : ", in doubt")});
        for (const std::string& note : c.notes) {
            const bool of_all = note.starts_with("Procedure") || note.starts_with("No procedure");
            if (!in_a_table || of_all) notes.insert(note);
        }
        if (in_a_table) continue;
        std::string name = told.grain;
        if (name.front() >= 'a' && name.front() <= 'z') name.front() = static_cast<char>(name.front() - 'a' + 'A');
        print(wrapped_text(name + ": " + c.sentence));
        for (const std::string& doubt : told.doubts) print(wrapped_text("Doubt: " + doubt + ".", 100, "  "));
    }
    if (in_a_table) {
        print(table.text());
        print("The sentence for the counter, with the cut-off: --load, --bin or --field and a name.");
    }
    for (const std::string& note : notes) print(wrapped_text(note, 100, in_a_table ? "" : "  "));
    if (!view.conclusions.empty()) print("");
}

}  // namespace

Json json_of_results(const ResultsView& view) {
    Json out = {{"season", view.season}, {"basis", geo::words::word(view.basis)}};
    out["limit_mg_per_kg"] = view.limit ? Json(view.limit->limit_mg_per_kg) : Json(nullptr);
    out["limit_basis"] = view.limit ? Json(geo::words::word(view.limit->basis)) : Json(nullptr);
    out["error_model"] = view.error_model;
    out["errors_from"] = view.own ? "own duplicates" : "published";
    if (view.own) {
        const auto component = [](const models::VarianceComponent& c, int pairs) {
            if (!c.told) return Json{{"told", false}, {"message", c.message}};
            return Json{{"told", true},
                        {"pairs", pairs},
                        {"log_variance", c.log_variance},
                        {"low90", c.low90},
                        {"high90", known_number(c.high90)},
                        {"message", c.message}};
        };
        const models::DuplicatePairs pairs = models::pairs_of(*view.own);
        out["own_duplicates"] = {{"lots", view.own->lots},
                                 {"samples", view.own->samples},
                                 {"portions", view.own->portions},
                                 {"readings", view.own->readings},
                                 {"sampling", component(view.own->sampling, pairs.sampling)},
                                 {"preparation", component(view.own->preparation, pairs.preparation)},
                                 {"analysis", component(view.own->analysis, pairs.analysis)}};
    }
    out["notes"] = view.notes;
    out["kit_lots"] = out["conclusions"] = Json::array();
    for (const models::KitLotEffect& lot : view.kit_lots) {
        out["kit_lots"].push_back({{"kit_lot", lot.kit_lot},
                                   {"log_mean", lot.log_mean},
                                   {"log_variance", lot.log_variance},
                                   {"laboratory_pairs", lot.laboratory_pairs},
                                   {"controls", lot.controls}});
    }
    for (const GrainConclusion& told : view.conclusions) out["conclusions"].push_back(json_of_conclusion(told));
    out["results"] = Json::array();
    for (const ResultRow& row : view.rows) out["results"].push_back(json_of_row(row));
    return out;
}

void print_results(const ResultsView& view) {
    std::string heading = fmt::format("Results of {} in mg/kg, {}", view.season, models::in_words(view.basis));
    if (view.limit) {
        heading += "; limit: " + models::in_words(*view.limit);
        if (view.limit->basis != view.basis) heading += ", " + models::in_words(view.limit->basis);
    }
    print(heading);
    if (view.limit) print_conclusions(view);
    print_table_of_rows(view);
    for (const ResultRow& row : view.rows) {
        if (row.official && view.conclusions.size() < 5)
            print(wrapped_text("Test " + row.test.test + ", for information: " + row.official->says));
    }
    const bool theory = std::any_of(view.rows.begin(), view.rows.end(), [](const ResultRow& row) {
        return row.budget && !row.budget->remedies.empty() && !row.budget->remedies.front().basis.empty();
    });
    if (theory) {
        print(wrapped_text(
            "Note: what a grind half as coarse brings is theory, not measured here: the variance of a portion is in "
            "proportion to the cube of the particle size (Gy 1998)."));
    }
    for (const std::string& note : view.notes) print(wrapped_text("Note: " + note + "."));
    print(wrapped_text(
        "Content and interval take the error at the true content, so that the content lies above a low reading. One "
        "result by itself: the map joins it with all others."));
    print(wrapped_text(spoken(caution::screening)));
}

}  // namespace app::commands
