#pragma once

#include "models/disease/disease_model.h"

namespace models {

/// What the equations of Hooker, Schaafsma & Tamburic-Ilincic (2002) have in common: source, region, what is known of
/// them, and that their day 0 is the day when half the heads are out, not flowering.
DiseaseModel card_of_days_of_heading();
WeatherTerm heavy_rain_before_heading();   ///< days with more than 5 mm, 7 to 4 days before
WeatherTerm cold_nights_before_heading();  ///< days with a minimum under 10 degC, 7 to 4 days before

}  // namespace models
