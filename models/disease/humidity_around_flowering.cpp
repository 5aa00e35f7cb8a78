#include "models/disease/humidity_around_flowering.h"

#include "models/disease/field_refit.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr FieldRefit humidity_around_flowering_fit = {.intercept = -9.446708,
                                                      .very_susceptible = 0.7014351,
                                                      .moderately_susceptible = -0.5200232,
                                                      .moderately_resistant = -1.095426,
                                                      .winter_with_maize_residue = 0.7658499,
                                                      .spring = 0.0554881,
                                                      .per_unit = 0.1175096};

}  // namespace

DiseaseModel humidity_around_flowering() {
    return model_of_refit<humidity_around_flowering_fit>(
        {.name = "humidity-around-flowering",
         .title = word("Humidity around flowering").original,
         .about = "The mean relative humidity from ten days before flowering to ten days after it. It leans on the "
                  "humidity sensor: one that reads 2 points too high moves the logit by 0.235.",
         .auc = 0.727,
         .brier = 0.1743,
         .weather = {{.name = "relative_humidity_pct",
                      .title = word("mean relative humidity").original,
                      .unit = "%",
                      .from_day = -10,
                      .to_day = 10,
                      .data_low = 60.0,
                      .data_high = 79.0,
                      .measure = mean_relative_humidity_pct}}});
}

}  // namespace models
