#include "app/commands/control_command.h"

#include <cmath>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/cautions.h"
#include "app/commands/point_columns.h"
#include "app/commands/row_notes.h"
#include "app/commands/season_options.h"
#include "app/control_figure.h"
#include "app/drawing/numbers.h"
#include "app/stages/control_stage.h"
#include "app/table_text.h"
#include "app/words.h"
#include "geo/store/store.h"
#include "geo/tables/words.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

struct ControlAsked {
    std::string store, control, out, rules;
    std::optional<int> season;
    int on_one_side = 8, limits_from = 20;
    std::optional<double> reading_cv_pct, repeatability_pct, lot_bound_pct;
    bool as_read = false, json = false;
};

using ControlJson = nlohmann::ordered_json;

template <typename Number>
ControlJson control_value_or_null(const std::optional<Number>& value) {
    return value ? ControlJson(*value) : ControlJson(nullptr);
}

ControlJson percent_or_null(const std::optional<double>& fraction) {
    return fraction ? ControlJson(*fraction * 100.0) : ControlJson(nullptr);
}

/// A factor as what it adds: 1.05 is 5 %.
ControlJson added_percent(const std::optional<double>& factor) {
    return factor ? ControlJson((*factor - 1.0) * 100.0) : ControlJson(nullptr);
}

const char* name_of_outcome(models::LotOutcome outcome) {
    switch (outcome) {
        case models::LotOutcome::too_few:
            return "too_few";
        case models::LotOutcome::no_bound:
            return "no_bound";
        case models::LotOutcome::equivalent:
            return "equivalent";
        case models::LotOutcome::changed:
            return "changed";
        case models::LotOutcome::open:
            return "open";
    }
    return "";
}

ControlJson json_of_chart(const models::ControlChart& chart) {
    ControlJson out = {{"control", chart.control.control},
                       {"method", geo::words::word(chart.method)},
                       {"kit_lot", chart.kit_lot},
                       {"assigned_mg_per_kg", chart.control.assigned_mg_per_kg},
                       {"readings_a_point", chart.readings_a_point},
                       {"logarithm", chart.logarithm},
                       {"says", chart.says},
                       {"limits", nullptr}};
    if (chart.limits) {
        out["limits"] = {
            {"centre_mg_per_kg", chart.mg_per_kg_at(0.0)},   {"low_3sd_mg_per_kg", chart.mg_per_kg_at(-3.0)},
            {"high_3sd_mg_per_kg", chart.mg_per_kg_at(3.0)}, {"reading_sd", chart.limits->reading_sd},
            {"range_high", chart.limits->range_high},        {"points", chart.limits->points},
            {"provisional", chart.limits->provisional}};
    }
    out["points"] = ControlJson::array();
    for (const models::ChartPoint& point : chart.points) {
        ControlJson broken = ControlJson::array();
        for (const models::ControlRule rule : point.broken) {
            broken.push_back({{"rule", models::name_of(rule)}, {"words", models::in_words(rule, chart.rules)}});
        }
        out["points"].push_back({{"tests", point.tests},
                                 {"time", models::to_text(point.time)},
                                 {"reading", geo::words::word(point.reading)},
                                 {"don_mg_per_kg", point.don_mg_per_kg},
                                 {"sds", control_value_or_null(point.sds)},
                                 {"range", control_value_or_null(point.range)},
                                 {"sets_limits", point.sets_limits},
                                 {"outside_bounds", point.outside_bounds},
                                 {"by_later_limits", point.by_later_limits},
                                 {"broken_rules", std::move(broken)}});
    }
    return out;
}

ControlJson json_of_control(const ControlView& view, const ControlAsked& asked) {
    ControlJson out;
    out["season"] = control_value_or_null(asked.season);
    out["charts"] = ControlJson::array();
    for (const models::ControlChart& chart : view.charts) out["charts"].push_back(json_of_chart(chart));
    out["recovery"] = ControlJson::array();
    for (const models::LotRecovery& lot : view.recoveries) {
        ControlJson readings = ControlJson::array();
        for (const models::ReadingRecovery& one : lot.readings) {
            readings.push_back(
                {{"test", one.test},
                 {"recovery_pct", one.fraction * 100.0},
                 {"standard_uncertainty_from_assigned_pct", percent_or_null(one.standard_uncertainty_from_assigned)}});
        }
        out["recovery"].push_back(
            {{"control", lot.control.control},
             {"kit_lot", lot.kit_lot},
             {"mean_pct", lot.readings.empty() ? ControlJson(nullptr) : ControlJson(lot.mean_fraction * 100.0)},
             {"low90_pct", percent_or_null(lot.low90)},
             {"high90_pct", percent_or_null(lot.high90)},
             {"holds_all", control_value_or_null(lot.holds_all)},
             {"says", lot.says},
             {"readings", std::move(readings)}});
    }
    out["duplicates"] = ControlJson::array();
    for (const models::DuplicateChart& chart : view.duplicates) {
        ControlJson pairs = ControlJson::array();
        for (const models::ChartedPair& charted : chart.pairs) {
            pairs.push_back({{"sample", charted.pair.sample},
                             {"tests", {charted.pair.first_test, charted.pair.second_test}},
                             {"relative_difference_pct", charted.relative_difference * 100.0},
                             {"over_limit", charted.over_limit}});
        }
        ControlJson row = {{"what", chart.what == models::Duplicated::reading ? "reading" : "split"},
                           {"says", chart.says},
                           {"repeatability_cv_pct", nullptr},
                           {"limit_pct", nullptr}};
        if (chart.repeatability) row["repeatability_cv_pct"] = chart.repeatability->cv() * 100.0;
        if (chart.limit_holds) row["limit_pct"] = chart.repeatability->relative_limit() * 100.0;
        row["pairs"] = std::move(pairs);
        out["duplicates"].push_back(std::move(row));
    }
    out["refused_duplicates"] = ControlJson::array();
    for (const models::RefusedDuplicate& refused : view.refused_duplicates) {
        out["refused_duplicates"].push_back({{"test", refused.test}, {"why", refused.why}});
    }
    out["lot_changes"] = ControlJson::array();
    for (const models::LotChange& change : view.lot_changes) {
        out["lot_changes"].push_back({{"of", change.of},
                                      {"old_lot", change.old_lot},
                                      {"new_lot", change.new_lot},
                                      {"paired", change.paired},
                                      {"old_readings", change.old_readings},
                                      {"new_readings", change.new_readings},
                                      {"change_pct", added_percent(change.factor)},
                                      {"low90_pct", added_percent(change.low90)},
                                      {"high90_pct", added_percent(change.high90)},
                                      {"outcome", name_of_outcome(change.outcome)},
                                      {"says", change.says}});
    }
    out["marks"] = ControlJson::array();
    for (const models::FailedControl& failed : view.failed) {
        out["marks"].push_back({{"control", failed.control.control},
                                {"test", failed.test.test},
                                {"tests_in_doubt", failed.in_doubt},
                                {"words", models::in_words(failed)}});
    }
    out["refused"] = ControlJson::array();
    for (const models::RefusedControlTest& refused : view.refused) {
        out["refused"].push_back({{"test", refused.test}, {"control", refused.control}, {"why", refused.why}});
    }
    out["files"] = ControlJson::array();
    if (!asked.out.empty()) out["files"].push_back(asked.out);
    return out;
}

void print_charts(const ControlView& view) {
    TextTable table({"control", "kit lot", ">readings", ">assigned", ">centre", ">-3 sd", ">+3 sd", "limits"});
    RowNotes notes;
    for (const models::ControlChart& chart : view.charts) {
        std::size_t readings = 0;
        for (const models::ChartPoint& point : chart.points) readings += point.tests.size();
        const auto at = [&](double sds) {
            return chart.limits ? models::limit_in_words(chart.mg_per_kg_at(sds)) : std::string("–");
        };
        const std::string lot = models::lot_in_words(chart.method, chart.kit_lot);
        table.row({chart.control.control, lot, std::to_string(readings),
                   drawing::set_number_text(chart.control.assigned_mg_per_kg), at(0.0), at(-3.0), at(3.0),
                   notes.marks(fmt::format("{}, {}", chart.control.control, lot), {{chart.says, ""}})});
    }
    print("Charts, mg/kg:");
    print(table.text_within());
    print(notes.text());
}

void print_control(const ControlView& view, const ControlAsked& asked) {
    print(asked.season ? spoken(words::title_control_season, *asked.season)
                       : std::string(spoken(words::title_control)));
    if (view.charts.empty()) {
        print(wrapped_text(view.refused.empty() ? "No control was read; a control is a sample of stage control that "
                                                  "bears the control's name."
                                                : "No control was read that can be charted."));
    } else {
        print_charts(view);
        if (view.failed.empty()) print("No control reads outside what it accepts and none breaks a rule of its chart.");
        for (const models::FailedControl& failed : view.failed) print(wrapped_text(models::in_words(failed) + "."));
        print("Recovery:");
        for (const models::LotRecovery& lot : view.recoveries) {
            print(wrapped_text(fmt::format("{}, {}: {}.", lot.control.control,
                                           models::lot_in_words(lot.method, lot.kit_lot), lot.says),
                               100, "  "));
        }
    }
    if (!view.duplicates.empty()) print("Duplicates:");
    for (const models::DuplicateChart& chart : view.duplicates) {
        print(wrapped_text(chart.says + ".", 100, "  "));
        for (const models::ChartedPair& charted : chart.pairs) {
            if (!charted.over_limit) continue;
            print(fmt::format("  sample {}, tests {} and {}: {} and {} mg/kg, {:.0f} % apart", charted.pair.sample,
                              charted.pair.first_test, charted.pair.second_test, charted.pair.first_mg_per_kg,
                              charted.pair.second_mg_per_kg, charted.relative_difference * 100.0));
        }
    }
    for (const models::RefusedDuplicate& refused : view.refused_duplicates) {
        print(wrapped_text(refused.why + ".", 100, "  "));
    }
    if (!view.lot_changes.empty()) print("From one kit lot to the next:");
    for (const models::LotChange& change : view.lot_changes) {
        print(wrapped_text(change.says + ".", 100, "  "));
    }
    for (const std::string& sentence : models::in_words(view.refused)) print(wrapped_text(sentence + "."));
    if (!asked.out.empty()) print("Written: " + asked.out);
    print(wrapped_text(spoken(caution::screening)));
}

std::optional<double> fraction_of(const std::optional<double>& percent, const char* flag) {
    if (!percent) return std::nullopt;
    if (!std::isfinite(*percent) || !(*percent > 0.0)) {
        throw models::Error(fmt::format("{} % says nothing", *percent), flag, "give a percentage above 0, such as 10");
    }
    return *percent / 100.0;
}

models::ControlRules rules_asked_for(const ControlAsked& asked) {
    try {
        return models::control_rules_named(names_in_list(asked.rules), asked.on_one_side);
    } catch (const models::Error& error) {
        throw models::Error(error.what_happened(), "--rules", error.how_to_mend());
    }
}

int run_control(const ControlAsked& asked) {
    ControlQuestion question;
    question.season = asked.season;
    question.control = asked.control;
    question.charts.logarithm = !asked.as_read;
    question.charts.points_for_limits = asked.limits_from;
    question.charts.stated_cv = fraction_of(asked.reading_cv_pct, "--reading-cv");
    question.charts.rules.on_one_side = asked.on_one_side;
    if (asked.on_one_side != 0 && asked.on_one_side < 2) {
        throw models::Error(fmt::format("{} on one side is no run", asked.on_one_side), "--one-side",
                            "give 2 or more, or 0 to leave the rule out");
    }
    if (!asked.rules.empty()) question.charts.rules = rules_asked_for(asked);
    if (asked.limits_from < question.charts.least_points) {
        throw models::Error(
            fmt::format("limits from {} would be no limits", models::counted(asked.limits_from, "reading")),
            "--limits-from", fmt::format("give {} or more", question.charts.least_points));
    }
    question.repeatability_cv = fraction_of(asked.repeatability_pct, "--repeatability");
    question.lot_bound = fraction_of(asked.lot_bound_pct, "--lot-bound");
    const geo::Store store = geo::Store::open(asked.store, geo::Store::Access::read_only);
    const ControlView view = look_at_control(read_season_data(store), question);
    if (!asked.out.empty()) write_control_figure(asked.out, control_figure_of(view, question));
    if (asked.json) {
        print(json_of_control(view, asked).dump(2, ' ', false, ControlJson::error_handler_t::replace));
    } else {
        print_control(view, asked);
    }
    return 0;
}

}  // namespace

Command make_control_command() {
    return {
        "control", "Charts of controls, recovery, duplicates, and changes between kit lots.", [](Options& options) {
            auto asked = std::make_shared<ControlAsked>();
            options.positional(asked->store, "STORE", "the store, one file");
            options.option(asked->season, "--season", "Y",
                           "the kit lots a control was read with in that year; else all");
            options.option(asked->control, "--control", "C", "one control; duplicates are left out");
            options.option(asked->out, "--out", "FILE", "the charts as a picture: .png, .svg or .pdf");
            options.option(asked->rules, "--rules", "NAME,...",
                           "only these rules: beyond-3, two-of-three, four-of-five, one-side, range");
            options.option(asked->on_one_side, "--one-side", "N", "how many in a row on one side of the centre line");
            options.option(asked->limits_from, "--limits-from", "N",
                           "the first N readings of a kit lot set its limits; until then the first 8 do");
            options.option(asked->reading_cv_pct, "--reading-cv", "PCT",
                           "limits about the assigned content instead: the spread of one reading, % of it");
            options.flag(asked->as_read, "--as-read", "contents as they are, not by their logarithm");
            options.option(asked->repeatability_pct, "--repeatability", "PCT",
                           "stated repeatability of duplicates, % (else from the pairs)");
            options.option(asked->lot_bound_pct, "--lot-bound", "PCT",
                           "how much of a change between kit lots would matter, %; without it nothing is claimed");
            options.flag(asked->json, "--json", "machine-readable output with stable keys");
            options.footer(
                "Example: lodicule control season.lodicule --season 2026 --lot-bound 10 --out bench.png\n"
                "A chart belongs to one control and one kit lot and is never joined across lots. Where every day has\n"
                "the same number of readings a point is their mean (mean and range chart), else each reading is one\n"
                "(individuals and moving range). check, map, first, bins and report mark the results of a run whose\n"
                "control breaks a rule, by the rules and limits that stand here as defaults; nothing is left out.\n"
                "Of readings in control, all rules together call one in some 43 wrongly.");
            return [asked] { return run_control(*asked); };
        }};
}

}  // namespace app::commands
