#pragma once

#include <map>
#include <optional>
#include <vector>

#include "models/disease/disease_model.h"

namespace models {

/// What a model's terms are at one day 0, before any crop record has a say.
struct WeatherOfDate {
    std::vector<WindowValue> terms;             ///< in the order of the model's
    std::optional<std::vector<double>> values;  ///< one a term; none where one of them has none
    /// Every combination of the terms' bounds over what is missing: the extremes of the model are among them. Empty
    /// where a term is not bounded or nothing at all was seen of it.
    std::vector<std::vector<double>> corners;
    double coverage = 1.0;  ///< 0 to 1: share of the hours seen, of the worst term
};

/// The weather that a model asks for of one station, by day 0: measured once a date, however many fields ask for it.
/// Threads: one at a time.
class WeatherByDate {
 public:
    /// @param model, weather.station  outlive it
    WeatherByDate(const DiseaseModel& model, const KnownWeather& weather) : model_(&model), weather_(weather) {}
    /// Stays where it is as long as this lives.
    const WeatherOfDate& at(LocalDay day_zero);

 private:
    const DiseaseModel* model_;
    KnownWeather weather_;
    std::map<LocalDay, WeatherOfDate> measured_;
};

}  // namespace models
