#include "models/disease/warm_wet_hours_index.h"

#include "models/disease/index_2003.h"
#include "models/disease/warm_hours_terms.h"
#include "models/spoken.h"

namespace models {

namespace {

constexpr double wet_index_intercept = -3.3756, wet_index_per_share = 6.8128;

}  // namespace

DiseaseModel warm_wet_hours_index() {
    DiseaseModel model = card_of_index_2003();
    model.name = "warm-wet-hours-index";
    model.title = word("Index of warm and wet hours after flowering").original;
    model.about =
        "Hours of 15 to 30 degC with a humidity of at least 90 % from flowering to ten days after it, put on a scale "
        "from 0 to 1 that orders fields.";
    model.label = "as quoted in public, scale of the hours inferred (113 h)";
    model.weather = {warm_wet_hours_from_flowering(113.0)};
    model.logit = [](std::span<const double> weather, const Agronomy&) {
        return wet_index_intercept + wet_index_per_share * share_of_scale_2003(weather[0], 113.0);
    };
    model.coefficients = {{"intercept", wet_index_intercept}, {"share_of_113_h", wet_index_per_share}};
    return model;
}

}  // namespace models
