#include "models/disease/cultivar_and_residue.h"

#include "models/disease/field_refit.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr FieldRefit cultivar_and_residue_fit = {.intercept = -1.067617,
                                                 .very_susceptible = 0.6908573,
                                                 .moderately_susceptible = -0.5430653,
                                                 .moderately_resistant = -1.222619,
                                                 .winter_with_maize_residue = 0.9045618,
                                                 .spring = 0.0822067};

}  // namespace

DiseaseModel cultivar_and_residue() {
    DiseaseModel model = card_of_refit(
        {.name = "cultivar-and-residue",
         .title = word("Cultivar and maize residue alone").original,
         .about =
             "The cultivar's resistance, the wheat type and maize residue, and no weather: what can be said before "
             "the season, and what a model with weather must beat.",
         .auc = 0.641,
         .brier = 0.1866,
         .weather = {}});
    model.logit = [](std::span<const double>, const Agronomy& agronomy) {
        return cultivar_and_residue_fit.logit(0.0, agronomy);
    };
    model.coefficients = cultivar_and_residue_fit.named("");
    return model;
}

}  // namespace models
