#include "models/disease/rain_around_heading.h"

#include <algorithm>
#include <cmath>

#include "models/disease/days_of_heading.h"
#include "models/spoken.h"
#include "models/weather/day_counts.h"

namespace models {

namespace {

WeatherTerm rain_after_heading(const char* name, int from_day, int to_day) {
    return {.name = name,
            .title = word("days with more than 3 mm of rain").original,
            .unit = word("days").original,
            .from_day = from_day,
            .to_day = to_day,
            .data_low = 0.0,
            .data_high = 4.0,
            .measure = days_of_rain_over_3_mm,
            .every_whole_number = true};
}

}  // namespace

DiseaseModel rain_around_heading() {
    DiseaseModel model = card_of_days_of_heading();
    model.name = "rain-around-heading";
    model.title = word("Rain, cold nights and heat around heading").original;
    model.about =
        "DON in mg/kg from days with rain and nights under 10 degC before half the heads are out, and days with rain "
        "or over 32 degC until ten days after. Cultivar and residue do not enter.";
    model.weather = {heavy_rain_before_heading(),
                     rain_after_heading("rain_days_3_to_6", 3, 6),
                     rain_after_heading("rain_days_7_to_10", 7, 10),
                     cold_nights_before_heading(),
                     {.name = "hot_days",
                      .title = word("days over 32 degC").original,
                      .unit = word("days").original,
                      .from_day = 3,
                      .to_day = 6,
                      .data_low = 0.0,
                      .data_high = 4.0,
                      .measure = hot_days,
                      .every_whole_number = true}};
    model.content_mg_per_kg = [](std::span<const double> days) {
        const double before = days[0], soon = days[1], later = days[2], cold = days[3], hot = days[4];
        const double log_content = soon > 0.0 ? -2.15 + 2.21 * before - 0.61 * before * before + 0.85 * soon +
                                                    0.52 * later - 0.30 * cold - 1.10 * hot
                                              : -0.84 + 0.78 * before + 0.40 * later - 0.42 * cold;
        return std::max(0.0, std::exp(log_content) - 0.1);
    };
    return model;
}

}  // namespace models
