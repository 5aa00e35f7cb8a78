#include "models/disease/humidity_before_flowering.h"

#include "models/disease/field_refit.h"

namespace models {

namespace {

constexpr FieldRefit humidity_before_flowering_fit = {.intercept = -5.843212,
                                                      .very_susceptible = 0.6337341,
                                                      .moderately_susceptible = -0.5491025,
                                                      .moderately_resistant = -1.168775,
                                                      .winter_with_maize_residue = 0.7188365,
                                                      .spring = 0.0325025,
                                                      .per_unit = 0.06830215};

}  // namespace

DiseaseModel humidity_before_flowering() {
    DiseaseModel model = card_of_refit();
    model.name = "humidity-before-flowering";
    model.title = "Humidity in the week before flowering";
    model.about =
        "The mean relative humidity of the week before flowering, the day of flowering included: all of it is known on "
        "the day the field flowers.";
    model.skill.auc = 0.706;
    model.skill.brier = 0.1783;
    model.weather = {{.name = "relative_humidity_pct",
                      .title = "mean relative humidity",
                      .unit = "%",
                      .from_day = -7,
                      .to_day = 0,
                      .data_low = 57.0,
                      .data_high = 84.0,
                      .measure = mean_relative_humidity_pct}};
    model.logit = [](std::span<const double> weather, const Agronomy& agronomy) {
        return humidity_before_flowering_fit.logit(weather[0], agronomy);
    };
    return model;
}

}  // namespace models
