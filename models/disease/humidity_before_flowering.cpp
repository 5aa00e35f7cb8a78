#include "models/disease/humidity_before_flowering.h"

#include "models/disease/field_refit.h"
#include "models/spoken.h"

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
    return model_of_refit<humidity_before_flowering_fit>(
        {.name = "humidity-before-flowering",
         .title = word("Humidity in the week before flowering").original,
         .about = "The mean relative humidity of the week before flowering, the day of flowering included: all of it "
                  "is known on "
                  "the day the field flowers.",
         .auc = 0.706,
         .brier = 0.1783,
         .weather = {{.name = "relative_humidity_pct",
                      .title = word("mean relative humidity").original,
                      .unit = "%",
                      .from_day = -7,
                      .to_day = 0,
                      .data_low = 57.0,
                      .data_high = 84.0,
                      .measure = mean_relative_humidity_pct}}});
}

}  // namespace models
