#include "app/commands/first_output.h"

#include <cmath>
#include <map>

#include <fmt/format.h>

#include "app/cautions.h"
#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_season.h"
#include "app/table_text.h"
#include "app/walk_files.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"

namespace app::commands {

namespace {

using FirstJson = nlohmann::ordered_json;

/// Where the contamination model is in doubt: sentences with their full stop.
std::vector<std::string> warnings_of_model(const SeasonView& view) {
    if (!view.contamination.model) return {};
    return models::warnings_of(view.contamination.model->learnt().doubts);
}

std::string clock_in_words(double minutes) {
    const auto whole = static_cast<int>(std::lround(minutes));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
}

}  // namespace

nlohmann::ordered_json json_of_order(const SeasonView& view) {
    const models::TestOrder& order = *view.order;
    FirstJson out;
    out["season"] = view.season;
    out["limit_mg_per_kg"] = view.limit->limit_mg_per_kg;
    out["ranking_only"] = order.ranking_only;
    out["expected_gain_unit"] = order.unit == models::GainUnit::money    ? "money"
                                : order.unit == models::GainUnit::tonnes ? "tonnes"
                                                                         : "none";
    out["expected_loss_now"] = order.expected_loss_now;
    out["worth_making"] = order.worth_making;
    out["expected_loss_after"] = order.expected_loss_after;
    out["says"] = order.says;
    std::vector<std::string> notes = control_notes(view);
    for (std::string& warning : warnings_of_model(view)) notes.push_back(std::move(warning));
    if (!view.other_grain.empty()) notes.push_back(view.other_grain);
    out["notes"] = std::move(notes);
    out["fields"] = FirstJson::array();
    for (const models::RankedField& field : order.fields) {
        out["fields"].push_back(
            {{"rank", field.rank},
             {"field", field.field},
             {"exceedance", order.ranking_only ? FirstJson(nullptr) : FirstJson(field.exceedance)},
             {"expected_gain", order.ranking_only ? FirstJson(nullptr) : FirstJson(field.expected_gain)},
             {"tonnes", field.tonnes},
             {"tests_so_far", field.tests_so_far},
             {"risk", field.risk ? FirstJson(*field.risk) : FirstJson(nullptr)},
             {"test_its_loads", field.test_its_loads},
             {"why", field.why}});
    }
    return out;
}

void print_order(const SeasonView& view, int tests) {
    const models::TestOrder& order = *view.order;
    print(fmt::format("Which field first, season {}, limit: {}", view.season, models::in_words(*view.limit)));
    print(wrapped_text(order.says));
    const bool money = order.unit == models::GainUnit::money;
    TextTable table({">", "field", ">chance over", money ? ">gain" : ">gain t", ">tonnes", ">tests", "why"});
    if (order.fields.empty()) {
        print("Every wheat field of the season has a test already; --repeat ranks them again.");
        return;
    }
    int shown = 0, standing = 0;
    std::map<std::string, std::string> cut;  // by what is said of them
    for (const models::RankedField& field : order.fields) {
        if (field.test_its_loads) {
            std::string& names = cut[field.why.substr(0, field.why.find(':'))];
            names += (names.empty() ? "" : "; ") + field.field;
            continue;
        }
        if (standing++ >= tests) continue;
        ++shown;
        const bool worth = order.ranking_only || field.expected_gain > 0.0;
        table.row({worth ? std::to_string(field.rank) : "–", field.field,
                   order.ranking_only ? "–" : drawing::percent_text(field.exceedance),
                   order.ranking_only ? "–"
                   : worth            ? drawing::rough_text(field.expected_gain)
                                      : "none",
                   fmt::format("{:.0f}", field.tonnes), std::to_string(field.tests_so_far), field.why});
    }
    if (shown > 0) print(table.text());
    if (standing > shown) {
        print(models::counted(standing - shown, "more field") + "; --tests N shows more of them, --json all.");
    }
    if (!cut.empty()) print("Fields whose loads are to be tested instead:");
    for (const auto& [why, names] : cut) print(wrapped_text(why + ": " + names + ".", 100, "  "));
    if (!view.other_grain.empty()) print(wrapped_text("Note: " + view.other_grain + "."));
    for (const std::string& note : control_notes_in_short(view)) print(wrapped_text("Note: " + note + "."));
    for (const std::string& warning : warnings_of_model(view)) print(wrapped_text("Note: " + warning));
    print(wrapped_text(order.ranking_only ? spoken(caution::risk_is_not_don) : spoken(caution::screening)));
}

nlohmann::ordered_json json_of_round(const SeasonView& view, const RoundOfTests& round) {
    FirstJson out = {{"minutes", round.route.minutes}, {"driven_km", round.route.driven_km}, {"gain", round.route.gain},
                     {"exact", round.route.exact},     {"left_out", round.left_out},         {"notes", round.notes}};
    out["visits"] = FirstJson::array();
    for (const RoundVisit& visit : round.visits) {
        out["visits"].push_back({{"field", view.fields[visit.field].name},
                                 {"rank", visit.rank},
                                 {"gain", visit.gain},
                                 {"arrive_minutes", visit.arrive_minutes}});
    }
    return out;
}

void print_round(const SeasonView& view, const RoundOfTests& round, const RoundSettings& settings) {
    print("");
    if (round.visits.empty()) {
        print(fmt::format("No field that is worth a test can be reached and tested in {:.0f} minutes.",
                          settings.minutes));
        return;
    }
    print(wrapped_text(fmt::format(
        "Round of {} in {} (of {}), {:.0f} km{}:", models::counted(static_cast<long long>(round.visits.size()), "test"),
        clock_in_words(round.route.minutes), clock_in_words(settings.minutes), round.route.driven_km,
        settings.back_to_start ? " and back" : "")));
    TextTable table({">", "field", ">arrive", ">rank", ">gain"});
    int number = 0;
    for (const RoundVisit& visit : round.visits) {
        table.row({std::to_string(++number), view.fields[visit.field].name, clock_in_words(visit.arrive_minutes),
                   std::to_string(visit.rank), drawing::rough_text(visit.gain)});
    }
    print(table.text());
    std::string says = "Straight lines, 1.3 times as long, stand for roads.";
    if (round.left_out > 0)
        says += fmt::format(" {} worth a test lie outside the time.", models::counted(round.left_out, "more field"));
    if (!round.route.exact) says += " Of so many fields the round is a good one, not surely the best.";
    print(wrapped_text(says));
    for (const std::string& note : round.notes) print(wrapped_text("Note: " + note + "."));
}

nlohmann::ordered_json json_of_walks(const SeasonView& view, const FieldWalks& walks,
                                     const std::vector<std::string>& files) {
    FirstJson out;
    out["files"] = files;
    out["notes"] = walks.notes;
    out["walks"] = FirstJson::array();
    for (const FieldWalk& walk : walks.walks) {
        FirstJson stops = FirstJson::array();
        for (const geo::PointDeg& place : places_of(walk, *view.data.work))
            stops.push_back({{"longitude_deg", place.longitude_deg}, {"latitude_deg", place.latitude_deg}});
        out["walks"].push_back({{"rank", walk.rank},
                                {"field", walk.field},
                                {"part", walk.part},
                                {"sample", walk.sample},
                                {"length_m", walk.walk.length_m},
                                {"mean_distance_m", walk.walk.mean_distance_m},
                                {"farthest_m", walk.walk.farthest_m},
                                {"headland_m", walk.walk.headland_m},
                                {"stops", std::move(stops)}});
    }
    return out;
}

void print_walks(const FieldWalks& walks, const std::vector<std::string>& files, const std::string& folder) {
    TextTable table({">", "field", "sample", ">stops", ">way", ">farthest place"});
    for (const FieldWalk& walk : walks.walks) {
        table.row({std::to_string(walk.rank), walk.name, walk.sample, std::to_string(walk.walk.stops.size()),
                   way_in_words(walk.walk.length_m), fmt::format("{:.0f} m", walk.walk.farthest_m)});
    }
    print("");
    print("Walks, one sample a field:");
    print(table.text());
    for (const std::string& note : walks.notes) print(wrapped_text("Note: " + note + "."));
    print(fmt::format("{} written in {}: a .gpx a field, {}, {} ({}pages and labels).",
                      models::counted(static_cast<long long>(files.size()), "file"), folder, files[files.size() - 2],
                      files.back(), walks.walks.size() > 1 ? "the order with its reasons, " : ""));
}

}  // namespace app::commands
