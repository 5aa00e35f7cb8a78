#include "models/disease/warm_then_wet_hours_index.h"

#include "models/disease/index_2003.h"
#include "models/disease/warm_hours_terms.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr double warm_wet_index_intercept = -3.7251, warm_wet_index_per_share = 10.5097;

}  // namespace

DiseaseModel warm_then_wet_hours_index() {
    DiseaseModel model = card_of_index_2003();
    model.name = "warm-then-wet-hours-index";
    model.title = word("Index of warm hours before flowering times warm and wet hours after").original;
    model.about =
        "Hours of 15 to 30 degC in the week before flowering, multiplied by the hours of 15 to 30 degC with a humidity "
        "of at least 90 % from flowering to ten days after it, put on a scale from 0 to 1 that orders fields.";
    model.label = "unconfirmed: as quoted in public, scale of the hours a guess (168 h x 113 h)";
    model.unconfirmed = true;
    model.weather = {warm_hours_before_flowering(), warm_wet_hours_from_flowering(113.0)};
    model.logit = [](std::span<const double> weather, const Agronomy&) {
        return warm_wet_index_intercept +
               warm_wet_index_per_share * share_of_scale_2003(weather[0] * weather[1], 168.0 * 113.0);
    };
    model.coefficients = {{"intercept", warm_wet_index_intercept},
                          {"share_of_168_h_times_113_h", warm_wet_index_per_share}};
    return model;
}

}  // namespace models
