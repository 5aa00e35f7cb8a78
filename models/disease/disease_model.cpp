#include "models/disease/disease_model.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/spoken.h"

namespace models {

std::string in_words(RiskKind kind) {
    switch (kind) {
        case RiskKind::probability:
            return "probability";
        case RiskKind::index:
            return "index";
        case RiskKind::content:
            break;
    }
    return "content";
}

std::string in_words(const ModelSkill& skill) {
    std::string text;
    if (skill.auc && skill.brier && skill.brier_without_model) {
        text = fmt::format("On fields it had not seen ({}): AUC {:.2f}, Brier {:.3f} against {:.3f} without the model.",
                           skill.how, *skill.auc, *skill.brier, *skill.brier_without_model);
    } else {
        text = "AUC and Brier on fields it had not seen are not known.";
    }
    for (const std::string* more : {&skill.other, &skill.caution}) {
        if (!more->empty()) text += " " + *more;
    }
    return text;
}

double DiseaseModel::value(std::span<const double> values, const Agronomy& agronomy) const {
    if (kind == RiskKind::content) return content_mg_per_kg(values);
    return 1.0 / (1.0 + std::exp(-logit(values, agronomy)));
}

int DiseaseModel::first_day() const {
    if (weather.empty()) return 0;
    return std::min_element(weather.begin(), weather.end(),
                            [](const auto& a, const auto& b) { return a.from_day < b.from_day; })
        ->from_day;
}

int DiseaseModel::last_day() const {
    if (weather.empty()) return 0;
    return std::max_element(weather.begin(), weather.end(),
                            [](const auto& a, const auto& b) { return a.to_day < b.to_day; })
        ->to_day;
}

std::string spoken_title(const DiseaseModel& model) {
    return spoken(Word{model.title.c_str(), nullptr});
}

std::string weather_in_words(const DiseaseModel& model) {
    if (model.weather.empty()) return "no weather";
    return fmt::format("days {} to {} of {}", model.first_day(), model.last_day(),
                       model.day_zero == DayZero::heading ? "heading" : "flowering");
}

}  // namespace models
