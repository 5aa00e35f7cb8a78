#include "app/commands/first_command.h"

#include <charconv>
#include <cmath>
#include <map>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
#include "app/figures_of_season.h"
#include "app/stages/round_stage.h"
#include "app/stages/walk_stage.h"
#include "app/stages/zone_stage.h"
#include "app/table_text.h"
#include "app/walk_files.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/error.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

struct FirstCommand {
    SeasonOptions season;
    std::string limit;
    int tests = 10;
    bool repeat = false;
    std::optional<std::string> today;
    int days_to_result = 0;
    double hours_per_test = 0.0;
    int seed = 1;
    std::string walk_folder, walk_shape = "spread", keep_out;
    WalkSettings walk;
    std::string from, route_file;
    RoundSettings round;
    bool one_way = false;
};

/// "9.52,56.48" as longitude and latitude.
RoundSettings round_settings(const FirstCommand& command) {
    RoundSettings settings = command.round;
    settings.back_to_start = !command.one_way;
    const auto number_in = [&](std::size_t begin, std::size_t end) {
        double value = 0.0;
        const char* last = command.from.data() + end;
        const auto read = std::from_chars(command.from.data() + begin, last, value);
        if (read.ec != std::errc{} || read.ptr != last)
            throw models::Error("\"" + command.from + "\" is no place", "--from",
                                "write longitude,latitude in degrees: --from 9.52,56.48");
        return value;
    };
    const std::size_t comma = std::min(command.from.find(','), command.from.size());
    settings.from_longitude_deg = number_in(0, comma);
    settings.from_latitude_deg = number_in(std::min(comma + 1, command.from.size()), command.from.size());
    if (!(settings.minutes > 0.0))
        throw models::Error("a round needs the time that there is for it", "--minutes", "such as --minutes 240");
    return settings;
}

std::string clock_in_words(double minutes) {
    const auto whole = static_cast<int>(std::lround(minutes));
    return fmt::format("{}:{:02}", whole / 60, whole % 60);
}

Json json_of_round(const SeasonView& view, const RoundOfTests& round) {
    Json out = {{"minutes", round.route.minutes}, {"driven_km", round.route.driven_km}, {"gain", round.route.gain},
                {"exact", round.route.exact},     {"left_out", round.left_out},         {"notes", round.notes}};
    out["visits"] = Json::array();
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

WalkSettings walk_settings(const FirstCommand& command, const SeasonView& view) {
    WalkSettings settings = command.walk;
    settings.fields = command.tests;
    if (command.walk_shape != "spread" && command.walk_shape != "w")
        throw models::Error("no walk is called \"" + command.walk_shape + "\"", "--walk-shape", "give spread or w");
    settings.shape = command.walk_shape == "w" ? models::WalkShape::w : models::WalkShape::spread;
    if (command.keep_out.empty()) return settings;
    for (DrawnZone& drawn : read_zones(view, command.keep_out)) settings.keep_out.push_back(std::move(drawn.outline));
    return settings;
}

Json json_of_walks(const SeasonView& view, const FieldWalks& walks, const std::vector<std::string>& files) {
    Json out;
    out["files"] = files;
    out["notes"] = walks.notes;
    out["walks"] = Json::array();
    for (const FieldWalk& walk : walks.walks) {
        Json stops = Json::array();
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
    print(fmt::format("{} written in {}: a .gpx a field, walks.geojson, walks.pdf (pages and labels).",
                      models::counted(static_cast<long long>(files.size()), "file"), folder));
}

/// Where the contamination model is in doubt: sentences with their full stop.
std::vector<std::string> warnings_of_model(const SeasonView& view) {
    if (!view.contamination.model) return {};
    return models::warnings_of(view.contamination.model->learnt().doubts);
}

Json json_of_order(const SeasonView& view) {
    const models::TestOrder& order = *view.order;
    Json out;
    out["season"] = view.season;
    out["limit_mg_per_kg"] = view.limit->limit_mg_per_kg;
    out["ranking_only"] = order.ranking_only;
    out["expected_gain_unit"] = order.unit == models::GainUnit::money    ? "money"
                                : order.unit == models::GainUnit::tonnes ? "tonnes"
                                                                         : "none";
    out["expected_loss_now"] = order.expected_loss_now;
    out["expected_loss_after"] = order.expected_loss_after;
    out["says"] = order.says;
    std::vector<std::string> notes = control_notes(view);
    for (std::string& warning : warnings_of_model(view)) notes.push_back(std::move(warning));
    out["notes"] = std::move(notes);
    out["fields"] = Json::array();
    for (const models::RankedField& field : order.fields) {
        out["fields"].push_back({{"rank", field.rank},
                                 {"field", field.field},
                                 {"exceedance", order.ranking_only ? Json(nullptr) : Json(field.exceedance)},
                                 {"expected_gain", order.ranking_only ? Json(nullptr) : Json(field.expected_gain)},
                                 {"tonnes", field.tonnes},
                                 {"tests_so_far", field.tests_so_far},
                                 {"risk", field.risk ? Json(*field.risk) : Json(nullptr)},
                                 {"test_its_loads", field.test_its_loads},
                                 {"why", field.why}});
    }
    return out;
}

void print_table(const SeasonView& view, int tests) {
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
    for (const std::string& note : control_notes_in_short(view)) print(wrapped_text("Note: " + note + "."));
    for (const std::string& warning : warnings_of_model(view)) print(wrapped_text("Note: " + warning));
    print(wrapped_text(order.ranking_only ? caution::risk_is_not_don : caution::screening));
}

int run(const FirstCommand& command) {
    if (command.tests < 1) {
        throw models::Error(fmt::format("{} tests cannot be placed", command.tests), "--tests", "give 1 or more");
    }
    Question question;
    question.upto = Upto::first;
    question.limit = command.limit;
    question.order.tests = command.tests;
    question.order.repeat = command.repeat;
    question.order.today = day_option(command.today, "--today");
    question.order.days_to_result = command.days_to_result;
    question.order.hours_per_test = command.hours_per_test;
    question.order.seed = static_cast<std::uint64_t>(command.seed);
    const SeasonView view = look(command.season, question);
    if (command.walk_folder.empty() && !command.keep_out.empty())
        throw models::Error("there is no walk to keep this ground out of", "--keep-out", "give --walk DIR, too");
    FieldWalks walks;
    std::vector<std::string> files;
    if (!command.walk_folder.empty()) {
        const WalkSettings settings = walk_settings(command, view);
        walks = walks_of_order(view, settings);
        files = write_walk_files(view, walks, settings, command.walk_folder);
    }
    std::optional<RoundOfTests> round;
    RoundSettings round_asked;
    if (command.from.empty() && (command.round.minutes > 0.0 || !command.route_file.empty()))
        throw models::Error("nobody says where the round sets out", "--from", "such as --from 9.52,56.48");
    if (!command.from.empty()) {
        round_asked = round_settings(command);
        round = round_of_order(view, round_asked);
        if (!command.route_file.empty() && !round->visits.empty()) write_round_file(view, *round, command.route_file);
    }
    if (command.season.json) {
        Json out = json_of_order(view);
        if (round) out["round"] = json_of_round(view, *round);
        if (!files.empty()) out["walk"] = json_of_walks(view, walks, files);
        print(out.dump(2));
    } else {
        print_table(view, command.tests);
        if (round) print_round(view, *round, round_asked);
        if (!command.route_file.empty() && round && !round->visits.empty()) print("Written: " + command.route_file);
        if (!files.empty()) print_walks(walks, files, command.walk_folder);
    }
    return 0;
}

}  // namespace

Command make_first_command() {
    return {
        "first", "Which fields to test first, and why.", [](Options& options) {
            auto command = std::make_shared<FirstCommand>();
            command->season.declare(options);
            command->season.declare_contamination(options);
            options.option(command->limit, "--limit", "L", "a limit_id of the store, or a number in mg/kg", true);
            options.option(command->tests, "--tests", "N", "how many tests are going to be placed");
            options.flag(command->repeat, "--repeat", "fields that have a test already may come again");
            options.option(command->today, "--today", "DATE", "a result after a field's cut is worth nothing");
            options.option(command->days_to_result, "--days-to-result", "D", "days from taking a sample to its result");
            options.option(command->hours_per_test, "--hours-per-test", "H",
                           "hours of work that a test takes, way and waiting included; the cost `hour` is for them");
            options.option(command->seed, "--seed", "S", "of the draws; the same seed gives the same order");
            options.option(command->from, "--from", "LON,LAT", "where a round of tests sets out, in degrees");
            options.option(command->round.minutes, "--minutes", "M",
                           "that there are for the round, driving and testing together");
            options.option(command->round.minutes_a_test, "--minutes-a-test", "M", "to walk a field, cut and pack");
            options.option(command->round.speed_km_per_h, "--speed", "KMH", "on the road between fields");
            options.flag(command->one_way, "--one-way", "the round need not end where it began");
            options.option(command->route_file, "--route", "FILE", "the round for a map: .gpx, .gpkg");
            options.option(command->walk_folder, "--walk", "DIR",
                           "where to walk in these fields: GPX, GeoJSON, and pages with labels to print");
            options.option(command->walk_shape, "--walk-shape", "SHAPE",
                           "spread (stops that cover the field evenly, the default) or w (along a W)");
            options.option(command->walk.stops, "--stops", "N", "how many places of a field a walk goes to");
            options.option(command->walk.headland_m, "--headland", "M", "metres along the edge that are kept off");
            options.option(command->walk.heads_a_stop, "--heads", "N", "heads to cut at a stop");
            options.option(command->keep_out, "--keep-out", "FILE", "areas of a map file that are not to be walked");
            options.footer(
                "Example: lodicule first season.lodicule --season 2026 --tests 10 --limit 1.25\n"
                "The gain of a test is the fall of the expected loss over all fields: tonnes times the chance of a\n"
                "wrong accept-or-keep-apart decision. With the costs wrong_acceptance_per_t and wrong_rejection_per_t\n"
                "both in the store it is money, less what the test costs: the costs test and sample, and hour times\n"
                "--hours-per-test. As in: lodicule add season.lodicule costs name=test value=12");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::commands
