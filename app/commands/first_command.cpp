#include "app/commands/first_command.h"

#include <algorithm>
#include <charconv>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/first_output.h"
#include "app/commands/season_options.h"
#include "app/stages/round_stage.h"
#include "app/stages/walk_stage.h"
#include "app/stages/zone_stage.h"
#include "app/walk_files.h"
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

WalkSettings walk_settings(const FirstCommand& command, const SeasonView& view) {
    WalkSettings settings = command.walk;
    settings.fields = command.tests;
    if (command.walk_shape != "spread" && command.walk_shape != "w")
        throw models::Error("no walk is called \"" + command.walk_shape + "\"", "--walk-shape", "give spread or w");
    settings.shape = command.walk_shape == "w" ? models::WalkShape::w : models::WalkShape::spread;
    if (command.keep_out.empty()) return settings;
    for (DrawnZone& drawn : read_zones(view.data, command.keep_out))
        settings.keep_out.push_back(std::move(drawn.outline));
    return settings;
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
        try {
            walks = walks_of_order(view, settings);
        } catch (const models::Error& error) {
            throw models::Error(error.what_happened(), error.where().empty() ? "--walk" : "--walk, " + error.where(),
                                error.how_to_mend());
        }
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
        print_order(view, command.tests);
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
