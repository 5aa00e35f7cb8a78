#include "app/commands/risk_command.h"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/risk_models.h"
#include "app/commands/risk_output.h"
#include "app/commands/risk_seasons.h"
#include "app/commands/season_options.h"
#include "app/extrapolation.h"
#include "app/figures_of_season.h"
#include "app/table_text.h"
#include "models/disease/catalogue.h"
#include "models/error.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

struct RiskCommand {
    SeasonOptions season;
    std::string model, seasons;
    std::optional<std::string> as_of;
    bool list_models = false, all_models = false, include_unconfirmed = false;
};

Json json_of_season(const SeasonView& view, const models::DiseaseModel& model) {
    Json out;
    out["season"] = view.season;
    out.update(json_of(view.how));
    out.update(json_of(model));
    out["fields"] = Json::array();
    for (const FieldRisk& entry : view.risks) {
        Json row = json_of_ground(view.data.crops[entry.crop], view.how.as_of);
        row.update(json_of(entry));
        out["fields"].push_back(std::move(row));
    }
    return out;
}

/// What is missing for the risk of a field, and what to know about it.
std::vector<RowNote> what_to_know(const FieldRisk& entry, const Extrapolations& extrapolations) {
    std::vector<RowNote> notes;
    // Some hours in a hundred are no news where there is a value all the same.
    const bool hours_are_news = !entry.risk.value || entry.risk.coverage < 0.98;
    std::string all_missing;
    for (const std::string& sentence : entry.risk.missing) {
        if (!hours_are_news && models::speaks_of_hours(entry.risk, sentence)) continue;
        if (entry.risk.value) notes.push_back({"missing: " + sentence, ""});
        join_sentence(all_missing, sentence);  // without a value they say together what it would take
    }
    if (!entry.risk.value && !all_missing.empty()) notes.push_back({"missing: " + all_missing, ""});
    if (!entry.passed_over.empty()) notes.push_back(note_of_passed_over(entry.passed_over));
    for (const std::string& note : entry.weather_notes) notes.push_back({note, ""});
    if (entry.risk.value) {
        for (const std::string& own : extrapolations.each_beside(entry.risk))
            notes.push_back({"extrapolated: " + own, ""});
    }
    if (!entry.risk.value && notes.empty() && !entry.risk.notes.empty())
        notes.push_back({entry.risk.notes.front(), ""});
    return notes;
}

std::string station_of_row(const FieldRisk& entry) {
    if (entry.station.empty()) return "none";
    return fmt::format("{} {:.1f} km", entry.station, entry.station_distance_m / 1000.0);
}

void print_table(const SeasonView& view, const models::DiseaseModel& model) {
    const bool content = model.kind == models::RiskKind::content;
    print(fmt::format("{}, season {}{}: {}{}", content ? "DON by an equation" : "Disease risk", view.season,
                      how_in_words(view.how), model.title, model.unconfirmed ? " (unconfirmed)" : ""));
    print(wrapped_text(
        fmt::format("{} Coefficients: {}. {}", meaning_of(model.kind), model.label, models::in_words(model.skill))));
    const Extrapolations extrapolations = extrapolations_of(view);
    std::vector<const FieldRisk*> order;
    for (const FieldRisk& risk : view.risks) order.push_back(&risk);
    std::stable_sort(order.begin(), order.end(), [](const FieldRisk* a, const FieldRisk* b) {
        return a->risk.value.value_or(-1.0) > b->risk.value.value_or(-1.0);
    });
    const bool from_heading = model.day_zero == models::DayZero::heading;
    std::string number = model.kind == models::RiskKind::probability ? "risk" : models::in_words(model.kind);
    if (model.unconfirmed) number = "unconfirmed " + number;
    TextTable table(
        {"field", from_heading ? "heading" : "flowering", ">" + number, ">from", ">to", ">weather", "station", "note"});
    RowNotes notes;
    for (const FieldRisk* entry : order) {
        const models::CropRecord& crop = view.data.crops[entry->crop];
        const bool no_weather = model.weather.empty() || !models::has_disease_model(crop.crop);
        const std::string name = ground_name(crop.field, crop.part);
        table.row({name,
                   from_heading ? day_zero_in_season(entry->risk.date, crop.season)
                                : flowering_in_season(entry->flowering, crop.season),
                   risk_text(model.kind, entry->risk.value), risk_text(model.kind, entry->risk.low),
                   risk_text(model.kind, entry->risk.high),
                   no_weather ? "–" : fmt::format("{:.0f} %", entry->risk.coverage * 100.0),
                   no_weather ? "–" : station_of_row(*entry), notes.marks(name, what_to_know(*entry, extrapolations))});
    }
    print(table.text_within());
    if (const std::string under = notes.text(); !under.empty()) print(under);
    // What holds for some of them is among the notes.
    for (const std::string& reason : extrapolations.of_all)
        print(wrapped_text(fmt::format("Note: every number here is extrapolated: {}.", reason)));
    const bool averaged =
        std::any_of(order.begin(), order.end(), [](const FieldRisk* entry) { return entry->risk.date.averaged(); });
    const char* day_zero = from_heading ? "heading" : "flowering";
    print(wrapped_text(fmt::format(
        "from, to: over an observed {} date up to 3 days off{}, missing hours and what the crop record leaves open; "
        "the error of the model's coefficients is not in it and comes in addition. extrapolated: weather, crop or "
        "region that the model's data do not hold.",
        day_zero, averaged ? ", or nine in ten of the days that another date may be" : "")));
    if (averaged) {
        print(
            wrapped_text(fmt::format("±: standard deviation of a {} date that was not observed; the risk is the mean "
                                     "over the days that it may be, and --json names them with how they were found.",
                                     day_zero)));
    }
}

/// @param without  the two options that cannot both be
void refuse_both(bool both, const char* without) {
    if (both) throw models::Error(std::string(without) + " cannot both be", "", "leave one of them away");
}

std::vector<const models::DiseaseModel*> all_models(const RiskCommand& command) {
    std::vector<const models::DiseaseModel*> all;
    for (const models::DiseaseModel& model : models::disease_models(command.include_unconfirmed)) all.push_back(&model);
    return all;
}

void compare(const RiskCommand& command, const Question& asked) {
    with_the_store(command.season, asked,
                   [&](const geo::Store& store, const Question& question, const models::Progress& progress) {
                       print_side_by_side(look_at_models(store, question, all_models(command), progress),
                                          command.season.json);
                   });
}

void over_seasons(const RiskCommand& command, const Question& asked, const models::DiseaseModel& model) {
    const SeasonRange seasons = season_range(command.seasons);
    const auto by = command.all_models ? all_models(command) : std::vector<const models::DiseaseModel*>{&model};
    with_the_store(command.season, asked,
                   [&](const geo::Store& store, const Question& question, const models::Progress& progress) {
                       const SeasonsSideBySide view =
                           look_over_seasons(store, question, seasons, by, command.season.json, progress);
                       if (command.season.json) {
                           print_seasons_json(view);
                       } else {
                           print_seasons(view);
                       }
                   });
}

int run(const RiskCommand& command) {
    if (command.list_models) {
        print_models(command.include_unconfirmed, command.season.json);
        return 0;
    }
    if (command.season.store.empty()) {
        throw models::Error("no store is named", "", "lodicule risk STORE --season Y; with --models none is needed");
    }
    Question question;
    question.upto = Upto::risk;
    question.risk_model = command.model;
    question.include_unconfirmed = command.include_unconfirmed;
    question.as_of = day_option(command.as_of, "--as-of");
    refuse_both(command.all_models && !command.model.empty(), "--all-models and --model");
    refuse_both(!command.seasons.empty() && command.season.season.has_value(), "--seasons and --season");
    const models::DiseaseModel& model = command.model.empty()
                                            ? models::default_model()
                                            : models::find_model(command.model, command.include_unconfirmed);
    if (!command.seasons.empty()) {
        over_seasons(command, question, model);
        return 0;
    }
    if (command.all_models) {
        compare(command, question);
        return 0;
    }
    const SeasonView view = look(command.season, question);
    if (command.season.json) {
        print(json_of_season(view, model).dump(2));
    } else {
        print_table(view, model);
    }
    return 0;
}

}  // namespace

Command make_risk_command() {
    return {
        "risk", "Disease risk of each field, from the weather around flowering.", [](Options& options) {
            auto command = std::make_shared<RiskCommand>();
            command->season.declare(options, false);
            command->season.declare_weather(options);
            options.option(command->model, "--model", "NAME", "which disease model; --models lists them");
            options.option(command->as_of, "--as-of", "DATE",
                           "only what was known at the end of this day: weather and dates; as 2026-06-05. With "
                           "--seasons a day of the last one, and the same day of the year in the others");
            options.option(command->seasons, "--seasons", "A-B",
                           "fields in rows, seasons in columns, as 2019-2026; with --all-models a table a model");
            options.flag(command->all_models, "--all-models", "all models side by side, each with its honest skill");
            options.flag(
                command->list_models, "--models",
                "lists the models with their honest skill, with --json their coefficients too (STORE is not read)");
            options.flag(
                command->include_unconfirmed, "--include-unconfirmed",
                "models too whose numbers nobody confirmed, and flowering of spring wheat by degree days nobody "
                "confirmed; the word stands beside what they say");
            options.footer(
                "Example: lodicule risk season.lodicule --season 2026\n"
                "Disease risk is the chance that head blight reaches a severity of 10 % in a field. It orders fields;\n"
                "it is never the chance of exceeding a DON limit, and it says nothing about what to spray.\n"
                "A flowering date that nobody wrote down is estimated from heading, or from sowing by temperature, as "
                "a\n"
                "chance for each day; the risk is then the mean over these days (--json: key flowering).\n"
                "Where the nearest station has a gap the next one within 15 km answers; one more than 100 km away "
                "answers\n"
                "for no field (distances of our own).");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::commands
