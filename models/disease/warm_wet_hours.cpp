#include "models/disease/warm_wet_hours.h"

#include "models/disease/field_refit.h"
#include "models/disease/warm_hours_terms.h"
#include "models/spoken.h"

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
    return model_of_refit<warm_wet_hours_after_flowering_fit>(
        {.name = "warm-wet-hours",
         .title = word("Warm and wet hours after flowering").original,
         .about = "Hours of 15 to 30 degC with a humidity of at least 90 % from flowering to ten days after it.",
         .auc = 0.686,
         .brier = 0.1808,
         .weather = {warm_wet_hours_from_flowering(75.0)}});
}

}  // namespace models
