#include "app/commands/risk_models.h"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/risk_output.h"
#include "app/commands/row_notes.h"
#include "app/commands/season_options.h"
#include "app/table_text.h"
#include "models/disease/catalogue.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

std::string decimals(const std::optional<double>& value, int digits) {
    return value ? fmt::format("{:.{}f}", *value, digits) : std::string("–");
}

/// What stands beside a number of a model whose number alone would mislead.
std::string marks_of(const models::DiseaseModel& model) {
    std::string marks = model.kind == models::RiskKind::probability ? "" : models::in_words(model.kind);
    if (model.unconfirmed) marks += marks.empty() ? "unconfirmed" : ", unconfirmed";
    return marks;
}

/// "1-7, 9"
std::string ranges_of(const std::vector<std::size_t>& ascending) {
    std::string text;
    for (std::size_t i = 0; i < ascending.size();) {
        std::size_t last = i;
        while (last + 1 < ascending.size() && ascending[last + 1] == ascending[last] + 1) ++last;
        text += (text.empty() ? "" : ", ") + std::to_string(ascending[i]);
        if (last > i) text += (last > i + 1 ? "-" : ", ") + std::to_string(ascending[last]);
        i = last + 1;
    }
    return text;
}

std::string reason_without_value(const models::DiseaseRisk& risk) {
    std::string reason;
    for (const std::string& sentence : risk.missing) join_sentence(reason, sentence);
    if (!reason.empty()) return "missing: " + reason;
    return risk.notes.empty() ? reason : risk.notes.front();
}

/// A model without weather looked at no date: the first that did says when the field flowered.
const FloweringDay& flowering_of(const RisksByModels& risks, std::size_t field) {
    const auto looked = std::find_if(risks.by.begin(), risks.by.end(),
                                     [](const models::DiseaseModel* model) { return !model->weather.empty(); });
    const auto which = looked == risks.by.end() ? 0 : static_cast<std::size_t>(looked - risks.by.begin());
    return risks.risks[which][field].flowering;
}

/// The first risk of a field that rests on weather; null where none does.
const FieldRisk* with_weather(const RisksByModels& all, std::size_t field) {
    for (const std::vector<FieldRisk>& of_model : all.risks) {
        if (!of_model[field].station.empty()) return &of_model[field];
    }
    return nullptr;
}

/// The share of hours seen in the window of all models that lacks most.
std::string least_coverage(const RisksByModels& all, std::size_t field) {
    std::optional<double> least;
    if (!models::has_disease_model(all.data.crops[all.risks.front()[field].crop].crop)) return "–";
    for (const std::vector<FieldRisk>& of_model : all.risks) {
        if (of_model[field].station.empty()) continue;
        least = std::min(least.value_or(1.0), of_model[field].risk.coverage);
    }
    return least ? fmt::format("{:.0f} %", *least * 100.0) : std::string("–");
}

/// One field: a number or a dash a model, and in the notes why there are dashes.
std::vector<std::string> row_side_by_side(const RisksByModels& all, std::size_t field, bool mark_extrapolated,
                                          RowNotes& under) {
    const models::CropRecord& crop = all.data.crops[all.risks.front()[field].crop];
    std::vector<std::string> cells = {ground_name(crop.field, crop.part),
                                      flowering_in_short(flowering_of(all, field), crop.season)};
    std::vector<std::pair<std::string, std::vector<std::size_t>>> without;  // why, and which models
    for (std::size_t m = 0; m < all.by.size(); ++m) {
        const models::DiseaseRisk& risk = all.risks[m][field].risk;
        const bool mark = mark_extrapolated && risk.value && risk.extrapolated;
        cells.push_back(risk_text(risk.kind, risk.value) + (mark ? " *" : ""));
        if (risk.value) continue;
        const std::string reason = reason_without_value(risk);
        auto known = std::find_if(without.begin(), without.end(), [&](const auto& of) { return of.first == reason; });
        if (known == without.end()) known = without.insert(known, {reason, {}});
        known->second.push_back(m + 1);
    }
    cells.push_back(least_coverage(all, field));
    std::vector<RowNote> notes;
    for (const auto& [reason, numbers] : without)
        notes.push_back({numbers.size() == all.by.size() ? reason : ranges_of(numbers) + ": " + reason, ""});
    if (const FieldRisk* of_weather = with_weather(all, field)) {
        if (!of_weather->passed_over.empty()) notes.push_back(note_of_passed_over(of_weather->passed_over));
        for (const std::string& note : of_weather->weather_notes) notes.push_back({note, ""});
    }
    cells.push_back(under.marks(cells.front(), notes));
    return cells;
}

void print_side_by_side_json(const RisksByModels& risks) {
    Json out;
    out["season"] = risks.season;
    out.update(json_of(risks.how));
    out["models"] = Json::array();
    for (const models::DiseaseModel* model : risks.by) out["models"].push_back(json_of(*model));
    out["fields"] = Json::array();
    for (std::size_t f = 0; f < risks.risks.front().size(); ++f) {
        Json row = json_of_ground(risks.data.crops[risks.risks.front()[f].crop], risks.how.as_of);
        row["risks"] = Json::array();
        for (std::size_t m = 0; m < risks.by.size(); ++m) {
            Json risk;
            risk["model"] = risks.by[m]->name;
            risk.update(json_of(risks.risks[m][f]));
            row["risks"].push_back(std::move(risk));
        }
        out["fields"].push_back(std::move(row));
    }
    print(out.dump(2));
}

}  // namespace

void print_models(bool include_unconfirmed, bool json) {
    const std::vector<models::DiseaseModel>& all = models::disease_models(include_unconfirmed);
    if (json) {
        Json out;
        out["models"] = Json::array();
        for (const models::DiseaseModel& model : all) out["models"].push_back(json_of(model));
        print(out.dump(2));
        return;
    }
    TextTable table({"model", "needs", ">AUC", ">Brier", ""});
    for (const models::DiseaseModel& model : all) {
        table.row({model.name, models::weather_in_words(model), decimals(model.skill.auc, 2),
                   decimals(model.skill.brier, 3), marks_of(model)});
    }
    print(table.text_within());
    for (const models::DiseaseModel& model : all) {
        print(model.name + ": " + model.title);
        print(wrapped_text(fmt::format("{} {} Coefficients: {}. Region: {}. Source: {}.", model.about,
                                       models::in_words(model.skill), model.label, model.region.words, model.source),
                           100, "    "));
    }
}

void print_side_by_side(const RisksByModels& risks, bool json) {
    if (json) return print_side_by_side_json(risks);
    const std::vector<FieldRisk>& first = risks.risks.front();
    print(
        fmt::format("Disease risk, season {}{}, by {} models", risks.season, how_in_words(risks.how), risks.by.size()));
    TextTable legend({">", "model", ">AUC", ">Brier", ">without it"});
    std::vector<std::string> columns = {"field", "flowering"}, cautions;
    std::vector<std::pair<std::string, std::vector<std::size_t>>> tried;  // how, and which models
    for (std::size_t m = 0; m < risks.by.size(); ++m) {
        const models::DiseaseModel& model = *risks.by[m];
        const std::string number = std::to_string(m + 1);
        columns.push_back(">" + number + (model.unconfirmed ? " unconfirmed" : ""));
        const std::string marks = marks_of(model);
        legend.row({number, marks.empty() ? model.title : fmt::format("{} ({})", model.title, marks),
                    decimals(model.skill.auc, 2), decimals(model.skill.brier, 3),
                    decimals(model.skill.brier_without_model, 3)});
        const std::string how = model.skill.auc ? model.skill.how : "not known";
        auto known = std::find_if(tried.begin(), tried.end(), [&](const auto& of) { return of.first == how; });
        if (known == tried.end()) known = tried.insert(known, {how, {}});
        known->second.push_back(m + 1);
        for (const std::string* more : {&model.skill.other, &model.skill.caution}) {
            if (!more->empty()) cautions.push_back(number + ": " + *more);
        }
    }
    columns.emplace_back(">hours");
    columns.emplace_back("note");
    print(legend.text());
    std::string how;
    for (const auto& [words, numbers] : tried)
        how += fmt::format("{} {} {}", how.empty() ? "" : ";", ranges_of(numbers), words);
    print(wrapped_text("AUC and Brier on fields that the model had not seen:" + how + "."));
    for (const std::string& sentence : cautions) print(wrapped_text(sentence));

    std::vector<std::size_t> order(first.size());
    for (std::size_t f = 0; f < order.size(); ++f) order[f] = f;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return first[a].risk.value.value_or(-1.0) > first[b].risk.value.value_or(-1.0);
    });
    std::size_t with_value = 0, extrapolated = 0;
    for (const std::vector<FieldRisk>& of_model : risks.risks) {
        for (const FieldRisk& entry : of_model) {
            with_value += entry.risk.value ? 1 : 0;
            extrapolated += entry.risk.value && entry.risk.extrapolated ? 1 : 0;
        }
    }
    const bool all_extrapolated = extrapolated > 0 && extrapolated == with_value;
    TextTable table(columns);
    RowNotes notes;
    for (const std::size_t f : order) table.row(row_side_by_side(risks, f, !all_extrapolated, notes));
    print(table.text_within());
    if (const std::string under = notes.text(); !under.empty()) print(under);
    std::string said;
    for (const models::RiskKind kind :
         {models::RiskKind::probability, models::RiskKind::index, models::RiskKind::content}) {
        if (std::any_of(risks.by.begin(), risks.by.end(),
                        [&](const models::DiseaseModel* model) { return model->kind == kind; })) {
            said += (said.empty() ? "" : " ") + std::string(meaning_of(kind));
        }
    }
    if (all_extrapolated) {
        said += " Every number here is extrapolated: weather, crop or region that the model's data do not hold.";
    } else if (extrapolated > 0) {
        said += " *: extrapolated, weather, crop or region that the model's data do not hold.";
    }
    said +=
        " hours: the share of them seen in the window of these models that lacks most. ±: standard deviation of a "
        "flowering date that was not observed.";
    print(wrapped_text(said + " Models that agree are no proof: most of them were made from the same fields."));
}

}  // namespace app::commands
