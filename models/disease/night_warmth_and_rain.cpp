#include "models/disease/night_warmth_and_rain.h"

#include <limits>

#include "models/spoken.h"

namespace models {

namespace {

constexpr double night_warmth_intercept = -8.457, night_warmth_per_degc = 0.579, night_warmth_per_mm = 0.018;

}  // namespace

DiseaseModel night_warmth_and_rain() {
    DiseaseModel model;
    model.name = "night-warmth-and-rain";
    model.title = word("Night warmth and rain after flowering").original;
    model.about =
        "The mean of the daily minima of days 2 to 10 after flowering and the rain of days 6 to 10; made for spring "
        "wheat "
        "in southern Brazil. Cultivar and residue do not enter.";
    model.label = "published equation";
    model.source =
        "Carvalho & Del Ponte (2026), Weather-driven ensemble logistic models for predicting Fusarium head blight of "
        "wheat in Brazil, Plant Pathology 75:e70173, doi 10.1111/ppa.70173 (model LM3, tables 3 and 4)";
    // A rectangle of our own around the three states that the paper names.
    model.region = {word("southern Brazil: Parana, Santa Catarina, Rio Grande do Sul, 1998-2024").original, -58.0,
                    -48.0, -34.0, -22.5};
    model.kind = RiskKind::probability;
    model.skill = {.auc = 0.814,
                   .brier = 0.177,
                   .brier_without_model = 0.24,  // 50 of 125: 0.4 x 0.6
                   .fields = 125,
                   .diseased = 50,
                   .how = "bootstrap by the authors"};
    model.wheat_type = WheatType::spring;
    model.weather = {{.name = "minimum_temperature_degc",
                      .title = word("mean of the daily minimum temperatures").original,
                      .unit = "degC",
                      .from_day = 2,
                      .to_day = 10,
                      .data_low = 5.0,
                      .data_high = 20.0,
                      .measure = mean_daily_minimum_degc},
                     {.name = "rain_mm",
                      .title = word("rain in all").original,
                      .unit = "mm",
                      .from_day = 6,
                      .to_day = 10,
                      .data_low = 0.0,
                      .data_high = std::numeric_limits<double>::infinity(),  // the paper gives no range
                      .measure = rain_sum_mm}};
    model.logit = [](std::span<const double> weather, const Agronomy&) {
        return night_warmth_intercept + night_warmth_per_degc * weather[0] + night_warmth_per_mm * weather[1];
    };
    model.coefficients = {{"intercept", night_warmth_intercept},
                          {model.weather[0].name, night_warmth_per_degc},
                          {model.weather[1].name, night_warmth_per_mm}};
    return model;
}

}  // namespace models
