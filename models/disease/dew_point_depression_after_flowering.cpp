#include "models/disease/dew_point_depression_after_flowering.h"

#include <limits>

#include "models/disease/field_refit.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr FieldRefit dew_point_depression_after_flowering_fit = {.intercept = 1.010430,
                                                                 .very_susceptible = 0.7391417,
                                                                 .moderately_susceptible = -0.5070586,
                                                                 .moderately_resistant = -1.103216,
                                                                 .winter_with_maize_residue = 0.9295611,
                                                                 .spring = 0.0809794,
                                                                 .per_unit = -0.3712351};

}  // namespace

DiseaseModel dew_point_depression_after_flowering() {
    return model_of_refit<dew_point_depression_after_flowering_fit>(
        {.name = "dew-point-depression-after-flowering",
         .title = word("Dew-point depression after flowering").original,
         .about = "How near the air stood to saturation, day and night, from flowering to ten days after it: the "
                  "nearer, the more disease.",
         .auc = 0.708,
         .brier = 0.1768,
         .weather = {{.name = "dew_point_depression_degc",
                      .title = word("mean of temperature less dew point").original,
                      .unit = "degC",
                      .from_day = 0,
                      .to_day = 10,
                      .data_low = 0.0,
                      .data_high = std::numeric_limits<double>::infinity(),  // no range of this window is on record
                      .measure = mean_dew_point_depression_degc}}});
}

}  // namespace models
