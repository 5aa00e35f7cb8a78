#include "app/commands/map_command.h"

#include <algorithm>
#include <cctype>
#include <filesystem>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/season_options.h"
#include "app/commands/split_option.h"
#include "app/commands/split_output.h"
#include "app/commands/truck_option.h"
#include "app/commands/zone_output.h"
#include "app/drawing/numbers.h"
#include "app/extrapolation.h"
#include "app/figures_of_season.h"
#include "app/map_files.h"
#include "app/stages/forecast_stage.h"
#include "app/stages/truck_stage.h"
#include "app/table_text.h"
#include "geo/store/chain.h"
#include "geo/store/store.h"
#include "models/counted.h"
#include "models/decision/limit_rule.h"
#include "models/nearest_names.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

struct MapCommand {
    SeasonOptions season;
    std::string limit, out;
    std::optional<std::string> explain, as_of;
    std::optional<double> cell_m;
    TruckOption truck;
    std::string zones;
    SplitOption split;
    bool hindsight = false, keep = false, assumptions = false;
};

/// The verdict with what it rests on; numbers are null where no field has results enough to tell.
Json structure_json(const SeasonView& view) {
    Json out = {{"supported", view.structure.supported}, {"reason", view.structure.reason}};
    const models::WithinFieldStructure told = view.evidence.value_or(models::WithinFieldStructure{});
    const bool known = !told.by_field.empty();
    const auto number = [&](double value) { return known ? Json(value) : Json(nullptr); };
    const auto range = [&](const models::LikelyRange& value) {
        return Json{{"median", number(value.median)}, {"low90", number(value.low90)}, {"high90", number(value.high90)}};
    };
    out["results"] = told.results;
    out["results_outside_range"] = told.bounds;
    out["evidence_ratio"] = number(told.evidence_ratio);
    out["leave_one_out_skill"] = number(told.leave_one_out_skill);
    out["chance_structured"] = number(told.chance_structured);
    out["log_sd"] = range(told.sd);
    out["structured_share"] = range(told.structured_share);
    out["range_m"] = range(told.range_m);
    out["power"] = number(told.power);
    out["power_for_range_m"] = number(told.sought.range_m);
    out["fields"] = Json::array();
    for (const WithinField& field : view.within)
        out["fields"].push_back({{"field", field.field},
                                 {"results", field.points},
                                 {"surface", field.supported},
                                 {"reason", field.reason}});
    return out;
}

/// Whether near fields are alike; null without positions or results.
Json region_json(const SeasonView& view) {
    if (!view.contamination.model || !view.contamination.model->learnt().region) return nullptr;
    const models::Learnt::Region& told = *view.contamination.model->learnt().region;
    return {
        {"supported", told.supported},
        {"reason", told.sentence},
        {"evidence_ratio", told.evidence_ratio},
        {"leave_one_out_skill", told.leave_one_out_skill ? Json(*told.leave_one_out_skill) : Json(nullptr)},
        {"leave_one_out_fields", told.leave_one_out_fields},
        {"range_m", {{"median", told.range_median_m}, {"low90", told.range_low90_m}, {"high90", told.range_high90_m}}},
        {"range_told", told.range_told}};
}

/// What cutting the fields of a season into groups costs; null where each is joined as a whole.
Json groups_json(const models::Learnt& learnt) {
    if (!learnt.groups) return nullptr;
    const models::Learnt::Groups& told = *learnt.groups;
    return {{"groups", told.groups},
            {"largest", told.largest},
            {"groups_checked", told.groups_checked},
            {"fields_checked", told.fields_checked},
            {"median_differs", {{"most", told.median_most}, {"middle", told.median_middle}}},
            {"width90_differs", {{"most", told.width_most}, {"middle", told.width_middle}}}};
}

std::vector<models::Doubt> doubts_of(const SeasonView& view) {
    return view.contamination.model ? view.contamination.model->learnt().doubts : std::vector<models::Doubt>{};
}

Json assumptions_json(const std::vector<models::Doubt>& doubts) {
    Json list = Json::array();
    for (const models::Doubt& doubt : doubts)
        list.push_back({{"name", models::name_of(doubt.what)},
                        {"assumption", doubt.assumption},
                        {"state", models::in_words(doubt.state)},
                        {"chance", doubt.chance ? Json(*doubt.chance) : Json(nullptr)},
                        {"sentence", doubt.sentence}});
    return list;
}

Json json_of(const SeasonView& view, const MapFilesWritten& written, const std::optional<TrucksFromFields>& trucks,
             const std::optional<ZonesOfSeason>& zones, const std::optional<SplitsOfSeason>& splits) {
    Json out;
    out["season"] = view.season;
    out["as_of"] = view.how.as_of ? Json(models::to_text(*view.how.as_of)) : Json(nullptr);
    out["limit_mg_per_kg"] = view.limit->limit_mg_per_kg;
    out["limit"] = models::in_words(*view.limit);
    out["ranking_only"] = view.contamination.ranking_only();
    out["estimate_of"] = models::spoken(estimate_of);
    const SeasonCount count = count_of(view);
    out["counted"] = {{"fields", count.fields},
                      {"fields_without", count.fields_without},
                      {"field_results", count.field_results},
                      {"load_results", count.load_results},
                      {"bin_probes", count.bin_probes},
                      {"results_left_out", count.results_left_out}};
    out["structure_within_fields"] = structure_json(view);
    out["structure_between_fields"] = region_json(view);
    out["truck"] = trucks ? truck_json(*trucks) : Json(nullptr);
    out["fields"] = Json::array();
    for (std::size_t i = 0; i < view.fields.size(); ++i) {
        const FieldView& field = view.fields[i];
        Json row;
        row["field"] = field.name;
        row["tests"] = field.tests;
        row["load_tests"] = field.load_tests;
        row["bin_probes"] = field.bin_probes;
        const auto number = [&](double models::Content::*member) {
            return field.content ? Json((*field.content).*member) : Json(nullptr);
        };
        row["median_mg_per_kg"] = number(&models::Content::median);
        row["mean_mg_per_kg"] = number(&models::Content::mean);
        row["low90_mg_per_kg"] = number(&models::Content::low90);
        row["high90_mg_per_kg"] = number(&models::Content::high90);
        row["low50_mg_per_kg"] = number(&models::Content::low50);
        row["high50_mg_per_kg"] = number(&models::Content::high50);
        row["exceedance"] = field.exceedance ? Json(*field.exceedance) : Json(nullptr);
        row["disease_risk"] = field.risk ? Json(*field.risk) : Json(nullptr);
        const FieldRisk* risk = risk_of(view, field.crop);
        row["disease_risk_extrapolated"] = risk != nullptr && risk->risk.value && risk->risk.extrapolated;
        row["note"] = field.note;
        row["truck"] = trucks ? truck_json(trucks->fields[i]) : Json(nullptr);
        out["fields"].push_back(std::move(row));
    }
    out["zones"] = zones ? zones_json(*zones) : Json(nullptr);
    out["split"] = splits ? split_json(*splits) : Json(nullptr);
    Json notes = view.contamination.notes;
    if (view.contamination.model) {
        for (const std::string& note : view.contamination.model->learnt().notes) notes.push_back(note);
        Json learnt = Json::array();
        out["assumptions"] = assumptions_json(doubts_of(view));
        for (const auto& parameter : view.contamination.model->learnt().parameters) {
            learnt.push_back({{"name", parameter.name}, {"mean", parameter.mean}, {"sd", parameter.sd}});
        }
        out["learnt"] = std::move(learnt);
        out["parameters_by"] = view.contamination.model->learnt().parameters_by;
        out["groups_of_near_fields"] = groups_json(view.contamination.model->learnt());
        out["published_ratios"] = Json::array();
        for (const auto& ratio : view.contamination.model->learnt().ratios) {
            out["published_ratios"].push_back({{"what", ratio.what},
                                               {"factor", ratio.factor},
                                               {"low90", ratio.low90},
                                               {"high90", ratio.high90},
                                               {"fields", ratio.fields}});
        }
    }
    for (const std::string& line : view.data.joined.summary) notes.push_back(line);
    for (const std::string& note : control_notes(view)) notes.push_back(note);
    for (const std::string& line : extrapolations_of(view).sentences) notes.push_back(line);
    for (const std::string& note : written.notes) notes.push_back(note);
    out["notes"] = std::move(notes);
    out["caution"] = spoken(caution::screening);
    out["files"] = written.files;
    return out;
}

void print_table(const SeasonView& view, const MapFilesWritten& written, const std::string& folder,
                 const std::optional<TrucksFromFields>& trucks, const std::optional<ZonesOfSeason>& zones,
                 const std::optional<SplitsOfSeason>& splits) {
    print(fmt::format("Contamination, season {}{}, {}", view.season,
                      view.how.as_of ? ", as of " + models::to_text(*view.how.as_of) : "",
                      models::in_words(*view.limit)));
    if (view.contamination.ranking_only()) {
        print("No DON result in the store: the fields are ranked by disease risk, and no content is known.");
    }
    std::vector<const FieldView*> order;
    for (const FieldView& field : view.fields) order.push_back(&field);
    std::stable_sort(order.begin(), order.end(), [](const FieldView* a, const FieldView* b) {
        const auto key = [](const FieldView* f) {
            return f->content ? f->content->median + 10.0 : f->risk.value_or(-1.0);
        };
        return key(a) > key(b);
    });
    std::vector<std::string> columns{"field", ">tests", ">loads", ">median", ">from", ">to", ">chance over"};
    if (trucks) columns.push_back(">one truck");
    columns.insert(columns.end(), {">risk", "note"});
    TextTable table(columns);
    for (const FieldView* field : order) {
        const auto number = [&](double models::Content::*member) {
            return field->content ? drawing::number_text((*field->content).*member) : std::string("–");
        };
        const auto chance = [](const std::optional<double>& value) {
            return value ? drawing::percent_text(*value) : std::string("–");
        };
        std::vector<std::string> row{field->name,
                                     std::to_string(field->tests),
                                     std::to_string(field->load_tests),
                                     number(&models::Content::median),
                                     number(&models::Content::low90),
                                     number(&models::Content::high90),
                                     chance(field->exceedance)};
        std::string note = field->note;
        if (trucks) {
            const TruckFromField& truck = trucks->fields[static_cast<std::size_t>(field - view.fields.data())];
            row.push_back(chance(truck.exceedance));
            if (truck.note != note) note += (note.empty() || truck.note.empty() ? "" : "; ") + truck.note;
        }
        row.insert(row.end(), {chance(field->risk), note});
        table.row(std::move(row));
    }
    print(table.text());
    if (!view.contamination.ranking_only()) print(wrapped_text(in_words(count_of(view)) + "."));
    print(wrapped_text(fmt::format(
        "median, from, to: DON of the field's mean, {}, mg/kg; it lies between from and to with a chance of 90 %, a "
        "single load may lie outside. tests: of samples from the field, carried over from the standing crop where "
        "taken "
        "there; loads: of its loads, which the number rests on too (one of several fields counts for each). risk: of "
        "disease, not of DON.",
        models::spoken(estimate_of))));
    if (trucks) {
        print(wrapped_text(
            fmt::format("one truck: chance over of one truck of {} t from the field, cut along it anywhere; {}.",
                        drawing::set_number_text(trucks->tonnes), trucks->rests_on)));
        for (const std::string& note : trucks->notes) print(wrapped_text("Note: " + note + "."));
    }
    if (view.probed.any() && (trucks || zones || splits))
        print("Note: trucks and pieces of a field are told without the probes of bins.");
    if (zones) print(zones_text(*zones));
    if (splits) print(split_text(*splits));
    if (!view.structure.reason.empty()) {
        print(wrapped_text("Structure within fields: " + view.structure.reason + "."));
    }
    for (const std::string& line : extrapolations_of(view).sentences) print(wrapped_text("Note: " + line + "."));
    for (const std::string& note : view.contamination.notes) print(wrapped_text("Note: " + note + "."));
    if (view.contamination.model) {
        for (const std::string& note : view.contamination.model->learnt().notes) print(wrapped_text("Note: " + note));
    }
    for (const std::string& note : control_notes_in_short(view)) print(wrapped_text("Note: " + note + "."));
    for (const std::string& note : written.notes) print(wrapped_text("Note: " + note));
    if (!written.files.empty()) {
        std::string list;
        for (const std::string& file : written.files) list += (list.empty() ? "" : ", ") + file;
        print(fmt::format("Written to {}: {}", folder, list));
    }
    print(wrapped_text(std::string(spoken(caution::screening)) + " " + spoken(caution::only_don)));
}

/// Every assumption, those that are doubted first.
void print_assumptions(const SeasonView& view) {
    print(fmt::format("What the numbers of {} take for granted, and what the results say of it", view.season));
    if (view.contamination.ranking_only()) print("No DON result in the store: nothing can be said of any of it.");
    using State = models::DoubtState;
    for (const State state : {State::doubted, State::cannot_be_told, State::nothing_against}) {
        std::string text;
        for (const models::Doubt& doubt : doubts_of(view)) {
            if (doubt.state != state) continue;
            const std::string chance =
                doubt.chance ? fmt::format(" [chance {}]", drawing::percent_text(*doubt.chance)) : std::string();
            text += wrapped_text(fmt::format("- That {}{}: {}", doubt.assumption, chance, doubt.sentence), 100, "  ");
        }
        if (text.empty()) continue;
        text.pop_back();
        std::string heading = models::in_words(state);
        heading[0] = static_cast<char>(std::toupper(static_cast<unsigned char>(heading[0])));
        print("\n" + heading + ":");
        print(text);
    }
    print("");
    print(wrapped_text(
        "Chance: of results as odd as these or odder where the assumption holds, over all checks of residuals "
        "together; of the first effect of the risk, that DON does not rise with it at all."));
}

void print_explanation(const SeasonView& view, const std::string& name, const std::optional<TrucksFromFields>& trucks) {
    std::vector<std::string> known;
    for (const FieldView& field : view.fields) {
        known.push_back(field.name);
        if (field.name != name) continue;
        const auto index = view.contamination.field_season_of[field.crop];
        if (!index || view.contamination.ranking_only()) throw models::Error(name + ": " + field.note);
        print(fmt::format("What the number of {} rests on, season {}", name, view.season));
        TextTable table({"step", ">median mg/kg", ">from", ">to", ">moved it by"});
        for (const models::Explanation::Step& step : view.probed.explain(*view.contamination.model, *index).steps) {
            table.row({step.what, drawing::number_text(step.median), drawing::number_text(step.low90),
                       drawing::number_text(step.high90), fmt::format("x {:.2f}", step.factor)});
        }
        print(table.text());
        if (trucks) {
            const TruckFromField& truck = trucks->fields[static_cast<std::size_t>(&field - view.fields.data())];
            if (field.exceedance)
                print(wrapped_text(fmt::format("Limit {} mg/kg: the field's mean has a chance of {} of being over; {}.",
                                               models::number_in_words(*view.limit),
                                               drawing::percent_text(*field.exceedance),
                                               in_words(truck, trucks->tonnes))));
            print(wrapped_text("How a truck differs from its field: " + trucks->rests_on + "."));
        }
        return;
    }
    std::string parts;
    for (const std::string& ground : known) {
        if (ground.starts_with(name + ", ")) parts += (parts.empty() ? "" : "; ") + ground;
    }
    if (!parts.empty())
        throw models::Error("field " + name + " has parts with records of their own", "--explain",
                            "name one of them, in quotes: " + parts);
    throw models::Error("season " + std::to_string(view.season) + " has no field \"" + name + "\"", "--explain",
                        models::mend_of_unknown_name(name, known, "lodicule map STORE --limit L"));
}

int run(const MapCommand& command) {
    if (command.cell_m) require_cell_size(*command.cell_m);
    if (command.out == "-") {
        throw models::Error("maps are several files and do not go to standard output", "--out", "name a folder");
    }
    if (command.as_of && (command.hindsight || !command.out.empty())) {
        throw models::Error(command.hindsight ? "what came later is known with hindsight, and unknown as of a day"
                                              : "maps do not say on their face that they are as of a day",
                            "--as-of", "leave one of the two away");
    }
    std::optional<TruckSettings> truck = command.truck.settings(!command.zones.empty() || command.split.split);
    if (truck) {
        truck->own_duplicates = command.season.own_duplicates;
        truck->threads = command.season.threads;
    }
    std::optional<SplitSettings> split = command.split.settings();
    const ZoneFormat zone_format = command.split.zone_format();
    if (split) {
        split->yield_t_per_ha = command.truck.yield_t_per_ha;
        split->own_duplicates = command.season.own_duplicates;
        split->threads = command.season.threads;
    }
    Question question;
    question.upto = Upto::map;
    question.limit = command.limit;
    question.hindsight = command.hindsight;
    question.as_of = day_option(command.as_of, "--as-of");
    if (question.as_of && *question.as_of > models::parse_stamp(geo::clock_utc())->local_day()) {
        throw models::Error("what is known at the end of " + models::to_text(*question.as_of) + " is not known yet",
                            "--as-of", "give a day that is past, or leave it out");
    }
    const SeasonView view = look(command.season, question);
    std::optional<TrucksFromFields> trucks;
    if (truck && !view.contamination.ranking_only()) trucks = truck_from_each_field(view, *truck);
    std::optional<ZonesOfSeason> zones;
    if (!command.zones.empty()) {
        ZoneSettings how;
        how.yield_t_per_ha = command.truck.yield_t_per_ha;
        how.own_duplicates = command.season.own_duplicates;
        how.threads = command.season.threads;
        zones = contents_of_zones(view, read_zones(view.data, command.zones), how);
    }
    std::optional<SplitsOfSeason> splits;
    if (split) splits = split_fields(view, *split);
    if (command.assumptions) {
        if (command.season.json)
            print(Json{{"season", view.season}, {"assumptions", assumptions_json(doubts_of(view))}}.dump(2));
        else
            print_assumptions(view);
        return 0;
    }
    if (command.explain) {
        print_explanation(view, *command.explain, trucks);
        return 0;
    }
    std::optional<int> kept;
    if (command.keep) {
        const auto forecasts = forecasts_of(view, command.hindsight);
        geo::Store store = geo::Store::open(command.season.store);
        kept = geo::keep_forecasts(store, forecasts);
    }
    MapFilesWritten written;
    if (!command.out.empty()) written = write_map_files(view, {command.out, command.cell_m});
    if (splits && !command.out.empty())
        for (std::string& file : write_zone_files(view, *splits, zone_format, command.out))
            written.files.push_back(std::move(file));
    if (command.season.json) {
        for (std::string& file : written.files) file = (std::filesystem::path(command.out) / file).string();
        Json out = json_of(view, written, trucks, zones, splits);
        out["forecasts_kept"] = kept ? Json(*kept) : Json(nullptr);
        print(out.dump(2));
    } else {
        print_table(view, written, command.out, trucks, zones, splits);
        if (kept) {
            print(wrapped_text(*kept == 0 ? "Nothing new is foretold: the store keeps the same already"
                               : view.how.as_of
                                   ? models::counted(*kept, "forecast") + " kept in the store, marked as made "
                                                                          "afterwards: 'lodicule review' tells them "
                                                                          "apart from those made at their time"
                                   : models::counted(*kept, "forecast") + " kept in the store, to be held against "
                                                                          "what is found later (lodicule review)"));
        }
    }
    return 0;
}

}  // namespace

Command make_map_command() {
    return {
        "map", "Contamination of every field, tested or not, with how sure that is.", [](Options& options) {
            auto command = std::make_shared<MapCommand>();
            command->season.declare(options);
            command->season.declare_contamination(options);
            options.option(command->limit, "--limit", "L", "a limit_id of the store, or a number in mg/kg", true);
            options.option(command->out, "--out", "DIR", "leaves raster, map files and a picture in this folder");
            options.option(command->cell_m, "--cell", "M", "size of the raster's cells, metres");
            options.option(command->explain, "--explain", "FIELD", "what the number of one field rests on");
            options.flag(command->assumptions, "--assumptions",
                         "what the numbers take for granted, and what the results say of it");
            command->truck.declare(options);
            options.option(command->zones, "--zones", "FILE",
                           "the content of each area drawn in this map file: zones, parts, blocks");
            command->split.declare(options);
            options.flag(command->hindsight, "--hindsight", "results of later seasons are known too");
            options.flag(command->keep, "--keep",
                         "keep what it says in the store, to be held against what is found later");
            options.option(command->as_of, "--as-of", "DATE",
                           "as it would have been: weather, dates and results known at the end of that day");
            options.footer(
                "Example: lodicule map season.lodicule --season 2026 --limit 1.25 --out maps\n"
                "A field's number is the mean of the whole field: what a well mixed delivery of it would hold.\n"
                "--truck 25 adds the chance that one truck of 25 t from it is over, which is another thing.\n"
                "--split all says which fields are worth cutting in zones, and where: only where results of single\n"
                "places show which side is better. Its zones.gpkg in --out can be read back by --zones.\n"
                "As of a past day it is what today's program would have said then, with corrections that came\n"
                "later; kept, it bears the mark of having been made afterwards.\n"
                "With --json, `files` are paths as --out gave the folder: DIR/contamination.tif.");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::commands
