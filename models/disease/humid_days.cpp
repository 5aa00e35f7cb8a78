#include "models/disease/humid_days.h"

#include "models/disease/field_refit.h"
#include "models/spoken.h"
#include "models/weather/day_counts.h"

namespace models {

namespace {

constexpr FieldRefit humid_days_and_warmth_before_fit = {.intercept = -6.962254,
                                                         .very_susceptible = 0.7039607,
                                                         .moderately_susceptible = -0.7515652,
                                                         .moderately_resistant = -1.254775,
                                                         .winter_with_maize_residue = 0.8125566,
                                                         .spring = -0.7105585,
                                                         .per_unit = 0.1472132};
constexpr double warmth_before_per_degc = 0.2430918;

}  // namespace

DiseaseModel humid_days_and_warmth_before() {
    DiseaseModel model = card_of_refit(
        {.name = "humid-days",
         .title = word("Humid days around flowering and warmth before it").original,
         .about =
             "Days with a mean humidity over 70 % from fifteen days before flowering to ten days after it, and the "
             "mean temperature from twenty to ten days before it.",
         .auc = 0.770,
         .brier = 0.1628,
         .weather = {{.name = "humid_days",
                      .title = word("days with a mean humidity over 70 %").original,
                      .unit = word("days").original,
                      .from_day = -15,
                      .to_day = 10,
                      .data_low = 4.0,
                      .data_high = 22.0,
                      .measure = humid_days},
                     {.name = "temperature_degc",
                      .title = word("mean temperature").original,
                      .unit = "degC",
                      .from_day = -20,
                      .to_day = -10,
                      .data_low = 12.0,
                      .data_high = 21.0,
                      .measure = mean_temperature_degc}},
         .caution = "These figures flatter it: its two weather terms were picked from hundreds on the same fields."});
    model.logit = [](std::span<const double> weather, const Agronomy& agronomy) {
        return humid_days_and_warmth_before_fit.logit(weather[0], agronomy) + warmth_before_per_degc * weather[1];
    };
    model.coefficients = humid_days_and_warmth_before_fit.named(model.weather[0].name);
    model.coefficients.push_back({model.weather[1].name, warmth_before_per_degc});
    return model;
}

}  // namespace models
