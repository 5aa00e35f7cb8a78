#include "app/commands/risk_command.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/season_options.h"
#include "app/drawing/numbers.h"
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
    std::string model;
    std::optional<std::string> as_of;
    bool list_models = false;
};

template <typename T>
Json number_or_null(const std::optional<T>& value) {
    return value ? Json(*value) : Json(nullptr);
}

Json json_of(const SeasonView& view, const models::DiseaseModel& model) {
    Json out;
    out["season"] = view.season;
    out["model"] = model.name;
    out["model_title"] = model.title;
    out["model_label"] = model.label;
    out["source"] = model.source;
    out["skill"] = {{"auc", model.skill.auc},
                    {"brier", model.skill.brier},
                    {"brier_without_model", model.skill.brier_without_model},
                    {"fields", model.skill.fields},
                    {"how", model.skill.how}};
    out["meaning"] = caution::risk_is_not_don;
    out["fields"] = Json::array();
    for (const FieldRisk& entry : view.risks) {
        const models::CropRecord& crop = view.data.crops[entry.crop];
        const models::DiseaseRisk& risk = entry.risk;
        Json row;
        row["field"] = ground_name(crop.field, crop.part);
        row["kind"] = risk.kind == models::RiskKind::index ? "index" : "probability";
        row["value"] = number_or_null(risk.value);
        row["low"] = number_or_null(risk.low);
        row["high"] = number_or_null(risk.high);
        row["missing_hours_low"] = number_or_null(risk.missing_hours.low);
        row["missing_hours_high"] = number_or_null(risk.missing_hours.high);
        row["flowering_date_low"] = number_or_null(risk.flowering_date.low);
        row["flowering_date_high"] = number_or_null(risk.flowering_date.high);
        const auto flowering = models::flowering_day(crop);
        row["flowering_date"] = flowering ? Json(models::to_text(*flowering)) : Json(nullptr);
        row["low_to_high_leaves_out"] = "error of the model's coefficients";
        row["coverage"] = risk.coverage;
        row["weather_source"] = entry.station.empty() ? Json(nullptr) : Json(entry.station);
        row["weather_distance_m"] = entry.station.empty() ? Json(nullptr) : Json(std::round(entry.station_distance_m));
        row["weather_passed_over"] = entry.passed_over;
        row["extrapolated"] = risk.extrapolated;
        row["outside"] = risk.outside;
        row["missing"] = risk.missing;
        row["notes"] = risk.notes;
        out["fields"].push_back(std::move(row));
    }
    return out;
}

std::string percent_or_dash(const std::optional<double>& value) {
    return value ? drawing::percent_text(*value) : std::string("–");
}

/// The year is said where it is not the season's.
std::string day_in_season(const std::optional<models::LocalDay>& day, int season) {
    if (!day) return "–";
    return models::year_of(*day) == season ? models::to_short_text(*day) : models::to_text(*day);
}

/// A long sentence that many rows share is said once, under the table, and stands in its rows as (a), (b) ...
class SharedSentences {
 public:
    void count(const std::string& text) { ++rows_[text]; }
    std::string in_table(const std::string& text) {
        constexpr std::size_t long_text = 40;
        constexpr int many = 3;
        if (text.size() <= long_text || rows_[text] < many) return text;
        auto said = std::find(said_.begin(), said_.end(), text);
        if (said == said_.end()) said = said_.insert(said_.end(), text);
        return mark(static_cast<std::size_t>(said - said_.begin()));
    }
    void print_under() const {
        for (std::size_t i = 0; i < said_.size(); ++i) print(wrapped_text(mark(i) + " " + said_[i] + "."));
    }

 private:
    static std::string mark(std::size_t i) {
        constexpr std::size_t letters = 26;
        return i < letters ? fmt::format("({})", static_cast<char>('a' + i)) : fmt::format("({})", i + 1);
    }
    std::map<std::string, int> rows_;
    std::vector<std::string> said_;
};

/// What is missing for the risk of a field, and what to know about it.
std::string what_to_know(const FieldRisk& entry, const Extrapolations& extrapolations) {
    std::string missing;
    // Some hours in a thousand are no news where there is a value all the same.
    if (!entry.risk.value || entry.risk.coverage < 0.98) {
        for (const std::string& sentence : entry.risk.missing) missing += (missing.empty() ? "" : "; ") + sentence;
    }
    if (!entry.passed_over.empty()) missing += (missing.empty() ? "" : "; ") + entry.passed_over;
    for (const std::string& note : entry.risk.notes) {
        if (note.starts_with("weather from ")) missing += (missing.empty() ? "" : "; ") + note;
    }
    if (const std::string own = extrapolations.beside(entry.risk); entry.risk.value && !own.empty())
        missing += (missing.empty() ? "" : "; ") + fmt::format("extrapolated: {}", own);
    if (!entry.risk.value && missing.empty() && !entry.risk.notes.empty()) missing = entry.risk.notes.front();
    return missing;
}

void print_table(const SeasonView& view, const models::DiseaseModel& model) {
    print(fmt::format("Disease risk, season {}: {}", view.season, model.title));
    print(wrapped_text(
        fmt::format("{} {} On fields it had not seen ({}): AUC {:.2f}, Brier {:.3f} against {:.3f} without "
                    "the model.",
                    caution::risk_is_not_don, model.label.empty() ? "" : "Coefficients: " + model.label + ".",
                    model.skill.how, model.skill.auc, model.skill.brier, model.skill.brier_without_model)));
    const Extrapolations extrapolations = extrapolations_of(view);
    std::vector<const FieldRisk*> order;
    for (const FieldRisk& risk : view.risks) order.push_back(&risk);
    std::stable_sort(order.begin(), order.end(), [](const FieldRisk* a, const FieldRisk* b) {
        return a->risk.value.value_or(-1.0) > b->risk.value.value_or(-1.0);
    });
    TextTable table(
        {"field", "flowering", ">risk", ">from", ">to", ">weather", "station", "what is missing, what to know"});
    SharedSentences shared;
    for (const FieldRisk* entry : order) shared.count(what_to_know(*entry, extrapolations));
    for (const FieldRisk* entry : order) {
        const models::CropRecord& crop = view.data.crops[entry->crop];
        const auto flowering = models::flowering_day(crop);
        table.row({ground_name(crop.field, crop.part), day_in_season(flowering, crop.season),
                   percent_or_dash(entry->risk.value), percent_or_dash(entry->risk.low),
                   percent_or_dash(entry->risk.high), fmt::format("{:.0f} %", entry->risk.coverage * 100.0),
                   entry->station.empty()
                       ? "none"
                       : fmt::format("{} {:.1f} km", entry->station, entry->station_distance_m / 1000.0),
                   shared.in_table(what_to_know(*entry, extrapolations))});
    }
    print(table.text());
    shared.print_under();
    for (const std::string& sentence : extrapolations.sentences) print(wrapped_text("Note: " + sentence + "."));
    print(wrapped_text(
        "from, to: over a flowering date up to 3 days off, missing hours, and what the crop record leaves open; the "
        "error of the model's coefficients is not in it and comes in addition. extrapolated: weather, crop or region "
        "that the model's data do not "
        "hold."));
}

int run(const RiskCommand& command) {
    if (command.list_models) {
        TextTable table({"model", "what it looks at", ">AUC", ">Brier", "from"});
        for (const models::DiseaseModel& model : models::disease_models()) {
            table.row({model.name, model.title, fmt::format("{:.2f}", model.skill.auc),
                       fmt::format("{:.3f}", model.skill.brier), model.region.words});
        }
        print(table.text());
        return 0;
    }
    if (command.season.store.empty()) {
        throw models::Error("no store is named", "", "lodicule risk STORE --season Y; with --models none is needed");
    }
    Question question;
    question.upto = Upto::risk;
    question.risk_model = command.model;
    question.as_of = day_option(command.as_of, "--as-of");
    const SeasonView view = look(command.season, question);
    const models::DiseaseModel& model =
        command.model.empty() ? models::default_model() : models::find_model(command.model);
    if (command.season.json) {
        print(json_of(view, model).dump(2));
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
            options.option(command->model, "--model", "NAME", "which disease model; --models lists them");
            options.option(command->as_of, "--as-of", "DATE", "only weather up to the end of this day, as 2026-06-05");
            options.flag(command->list_models, "--models",
                         "lists the models with their honest skill (STORE is not read)");
            options.footer(
                "Example: lodicule risk season.lodicule --season 2026\n"
                "Disease risk is the chance that head blight reaches a severity of 10 % in a field. It orders fields;\n"
                "it is never the chance of exceeding a DON limit, and it says nothing about what to spray.\n"
                "Where the nearest station has a gap the next one within 15 km answers; one more than 100 km away "
                "answers\n"
                "for no field (distances of our own).");
            return [command] { return run(*command); };
        }};
}

}  // namespace app::commands
