#include "models/disease/rain_before_heading.h"

#include <algorithm>
#include <cmath>

#include "models/disease/days_of_heading.h"
#include "models/spoken.h"

namespace models {

DiseaseModel rain_before_heading() {
    DiseaseModel model = card_of_days_of_heading();
    model.name = "rain-before-heading";
    model.title = word("Rain and cold nights before heading").original;
    model.about =
        "DON in mg/kg from the days with more than 5 mm of rain and the nights under 10 degC, 7 to 4 days before half "
        "the heads are out. Cultivar and residue do not enter.";
    model.weather = {heavy_rain_before_heading(), cold_nights_before_heading()};
    model.content_mg_per_kg = [](std::span<const double> days) {
        const double rain = days[0], cold = days[1];
        return std::max(0.0, std::exp(-0.30 + 1.84 * rain - 0.43 * rain * rain - 0.56 * cold) - 0.1);
    };
    return model;
}

}  // namespace models
