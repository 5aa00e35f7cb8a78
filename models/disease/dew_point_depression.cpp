#include "models/disease/dew_point_depression.h"

#include "models/disease/field_refit.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr FieldRefit dew_point_depression_fit = {.intercept = 1.903244,
                                                 .very_susceptible = 0.6944069,
                                                 .moderately_susceptible = -0.5089622,
                                                 .moderately_resistant = -1.086868,
                                                 .winter_with_maize_residue = 0.7662684,
                                                 .spring = 0.0610538,
                                                 .per_unit = -0.5009485};

}  // namespace

DiseaseModel dew_point_depression() {
    return model_of_refit<dew_point_depression_fit>(
        {.name = "dew-point-depression",
         .title = word("Dew-point depression around flowering").original,
         .about = "How near the air stood to saturation, day and night, "
                  "from ten days before flowering to ten days after: the "
                  "nearer, the more disease.",
         .auc = 0.730,
         .brier = 0.1733,
         .weather = {{.name = "dew_point_depression_degc",
                      .title = word("mean of temperature less dew point").original,
                      .unit = "degC",
                      .from_day = -10,
                      .to_day = 10,
                      .data_low = 4.0,
                      .data_high = 8.8,
                      .measure = mean_dew_point_depression_degc}}});
}

}  // namespace models
