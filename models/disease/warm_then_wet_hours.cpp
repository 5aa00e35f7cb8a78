#include "models/disease/warm_then_wet_hours.h"

#include "models/disease/field_refit.h"
#include "models/disease/warm_hours_terms.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr FieldRefit warm_then_wet_hours_fit = {.intercept = -1.565548,
                                                .very_susceptible = 0.7396000,
                                                .moderately_susceptible = -0.5815497,
                                                .moderately_resistant = -1.205587,
                                                .winter_with_maize_residue = 0.8741584,
                                                .spring = -0.0018819,
                                                .per_unit = 0.0001153066};

}  // namespace

DiseaseModel warm_then_wet_hours() {
    DiseaseModel model = card_of_refit(
        {.name = "warm-then-wet-hours",
         .title = word("Warm hours before flowering times warm and wet hours after").original,
         .about =
             "Hours of 15 to 30 degC in the week before flowering, multiplied by the hours of 15 to 30 degC with a "
             "humidity of at least 90 % from flowering to ten days after it.",
         .auc = 0.685,
         .brier = 0.1810,
         .weather = {warm_hours_before_flowering(), warm_wet_hours_from_flowering(75.0)}});
    model.logit = [](std::span<const double> weather, const Agronomy& agronomy) {
        return warm_then_wet_hours_fit.logit(weather[0] * weather[1], agronomy);
    };
    model.coefficients = warm_then_wet_hours_fit.named("warm_hours_times_warm_wet_hours");
    return model;
}

}  // namespace models
