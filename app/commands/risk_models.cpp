#include "app/commands/risk_models.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/risk_output.h"
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

std::string reason_without_value(const models::DiseaseRisk& risk) {
    std::string reason;
    for (const std::string& sentence : risk.missing) join_sentence(reason, sentence);
    if (reason.empty() && !risk.notes.empty()) reason = risk.notes.front();
    return reason;
}

void print_side_by_side_json(const std::vector<std::pair<const models::DiseaseModel*, SeasonView>>& views) {
    const SeasonView& first = views.front().second;
    Json out;
    out["season"] = first.season;
    out["models"] = Json::array();
    for (const auto& [model, view] : views) out["models"].push_back(json_of(*model));
    out["fields"] = Json::array();
    for (std::size_t f = 0; f < first.risks.size(); ++f) {
        Json row = json_of_ground(first.data.crops[first.risks[f].crop]);
        row["risks"] = Json::array();
        for (const auto& [model, view] : views) {
            Json risk;
            risk["model"] = model->name;
            risk.update(json_of(view.risks[f]));
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
    TextTable table({"model", "what it looks at", "needs", ">AUC", ">Brier", ">without it", ""});
    for (const models::DiseaseModel& model : all) {
        table.row({model.name, model.title, models::weather_in_words(model), decimals(model.skill.auc, 2),
                   decimals(model.skill.brier, 3), decimals(model.skill.brier_without_model, 3), marks_of(model)});
    }
    print(table.text());
    for (const models::DiseaseModel& model : all) {
        print(model.name);
        print(wrapped_text(fmt::format("{} {} Coefficients: {}. Region: {}. Source: {}.", model.about,
                                       models::in_words(model.skill), model.label, model.region.words, model.source),
                           100, "    "));
    }
}

void print_side_by_side(const std::vector<std::pair<const models::DiseaseModel*, SeasonView>>& views, bool json) {
    if (json) return print_side_by_side_json(views);
    const SeasonView& first = views.front().second;
    print(fmt::format("Disease risk, season {}, by {} models", first.season, views.size()));
    std::vector<std::string> columns = {"field", "flowering"};
    for (std::size_t m = 0; m < views.size(); ++m) {
        const models::DiseaseModel& model = *views[m].first;
        columns.push_back(fmt::format(">{}{}", m + 1, model.unconfirmed ? " unconfirmed" : ""));
        const std::string marks = marks_of(model);
        print(wrapped_text(fmt::format("{}. {}{}. {}", m + 1, model.title, marks.empty() ? "" : " (" + marks + ")",
                                       models::in_words(model.skill))));
    }
    columns.emplace_back("what is missing");

    std::vector<std::size_t> order(first.risks.size());
    for (std::size_t f = 0; f < order.size(); ++f) order[f] = f;
    std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
        return first.risks[a].risk.value.value_or(-1.0) > first.risks[b].risk.value.value_or(-1.0);
    });
    TextTable table(columns);
    bool extrapolated = false;
    for (const std::size_t f : order) {
        const models::CropRecord& crop = first.data.crops[first.risks[f].crop];
        std::vector<std::string> cells = {ground_name(crop.field, crop.part),
                                          day_in_season(models::flowering_day(crop), crop.season)};
        std::map<std::string, std::string> models_without;  // by why
        std::vector<std::string> reasons;
        for (std::size_t m = 0; m < views.size(); ++m) {
            const models::DiseaseRisk& risk = views[m].second.risks[f].risk;
            const bool beyond = risk.value && risk.extrapolated;
            extrapolated = extrapolated || beyond;
            cells.push_back(risk_text(risk.kind, risk.value) + (beyond ? " *" : ""));
            if (risk.value) continue;
            const std::string reason = reason_without_value(risk);
            std::string& numbers = models_without[reason];
            if (numbers.empty()) reasons.push_back(reason);
            numbers += (numbers.empty() ? "" : ", ") + std::to_string(m + 1);
        }
        std::string missing;
        for (const std::string& reason : reasons) {
            const bool all = reasons.size() == 1 && models_without[reason].size() > 0 && cells.size() > 2 &&
                             std::all_of(cells.begin() + 2, cells.end(), [](const auto& cell) { return cell == "–"; });
            join_sentence(missing, all ? reason : models_without[reason] + ": " + reason);
        }
        cells.push_back(missing);
        table.row(std::move(cells));
    }
    print(table.text());
    std::string kinds;
    for (const models::RiskKind kind :
         {models::RiskKind::probability, models::RiskKind::index, models::RiskKind::content}) {
        if (std::any_of(views.begin(), views.end(), [&](const auto& of) { return of.first->kind == kind; })) {
            kinds += (kinds.empty() ? "" : " ") + std::string(meaning_of(kind));
        }
    }
    if (extrapolated) kinds += " *: extrapolated, weather, crop or region that the model's data do not hold.";
    print(wrapped_text(kinds + " Models that agree are no proof: most of them were made from the same fields."));
}

}  // namespace app::commands
