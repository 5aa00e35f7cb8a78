#include "models/disease/days_of_heading.h"

#include "models/spoken.h"
#include "models/weather/day_counts.h"

namespace models {

DiseaseModel card_of_days_of_heading() {
    DiseaseModel model;
    model.label = "unconfirmed: from memory, not checked against the paper";
    model.unconfirmed = true;
    model.source =
        "after Hooker, Schaafsma & Tamburic-Ilincic (2002), Using weather variables pre- and post-heading to predict "
        "deoxynivalenol content in winter wheat, Plant Disease 86:611-619; days and variables as in its abstract, "
        "coefficients from memory";
    // A rectangle of our own around the land of the 399 fields.
    model.region = {word("southern Ontario, 1996-2000").original, -83.2, -74.3, 41.9, 45.6};
    model.kind = RiskKind::content;
    model.skill.fields = 399;
    model.skill.how = "on the fields it was made from, by its authors";
    model.skill.other = "By its authors, with all three periods and on the 399 fields it was made from: R2 0.73.";
    model.day_zero = DayZero::heading;
    model.wheat_type = WheatType::winter;
    return model;
}

WeatherTerm heavy_rain_before_heading() {
    return {.name = "heavy_rain_days",
            .title = word("days with more than 5 mm of rain").original,
            .unit = word("days").original,
            .from_day = -7,
            .to_day = -4,
            .data_low = 0.0,
            .data_high = 4.0,
            .measure = days_of_rain_over_5_mm,
            .every_whole_number = true};
}

WeatherTerm cold_nights_before_heading() {
    return {.name = "cold_nights",
            .title = word("days with a minimum under 10 degC").original,
            .unit = word("days").original,
            .from_day = -7,
            .to_day = -4,
            .data_low = 0.0,
            .data_high = 4.0,
            .measure = cold_nights,
            .every_whole_number = true};
}

}  // namespace models
