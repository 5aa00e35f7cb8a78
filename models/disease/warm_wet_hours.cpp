#include "models/disease/warm_wet_hours.h"

#include "models/disease/field_refit.h"

namespace models {

namespace {

constexpr FieldRefit warm_wet_hours_after_flowering_fit = {.intercept = -1.651340,
                                                           .very_susceptible = 0.7414358,
                                                           .moderately_susceptible = -0.5658126,
                                                           .moderately_resistant = -1.186852,
                                                           .winter_with_maize_residue = 0.8656005,
                                                           .spring = 0.1010478,
                                                           .per_unit = 0.01775268};

}  // namespace

DiseaseModel warm_wet_hours_after_flowering() {
    DiseaseModel model = card_of_refit();
    model.name = "warm-wet-hours";
    model.title = "Warm and wet hours after flowering";
    model.about = "Hours of 15 to 30 degC with a humidity of at least 90 % from flowering to ten days after it.";
    model.skill.auc = 0.686;
    model.skill.brier = 0.1808;
    model.weather = {{.name = "warm_wet_hours",
                      .title = "hours of 15 to 30 degC and at least 90 %",
                      .unit = "h",
                      .from_day = 0,
                      .to_day = 10,
                      .data_low = 0.0,
                      .data_high = 75.0,
                      .measure = warm_wet_hours}};
    model.logit = [](std::span<const double> weather, const Agronomy& agronomy) {
        return warm_wet_hours_after_flowering_fit.logit(weather[0], agronomy);
    };
    return model;
}

}  // namespace models
