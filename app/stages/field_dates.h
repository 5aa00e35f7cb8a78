#pragma once

#include <optional>

#include "app/stages/season_data.h"
#include "models/disease/day_zero.h"

namespace app {

/// When a field flowered, in short: as it is shown.
struct FloweringDay {
    models::DateBasis basis = models::DateBasis::none;
    std::optional<models::LocalDay> day;  ///< written down, else the most likely; none: nothing is known
    double sd_days = 0.0;                 ///< 0 of a date that was not looked at more closely
    bool unconfirmed = false;             ///< rests on figures from memory
};

/// The date that the disease risk of a crop record counts from.
struct FieldDate {
    models::DayZeroDate day_zero;
    FloweringDay flowering;
    bool wants_temperatures = false;  ///< nothing but its sowing date is known: temperatures may bring it to flowering
};

struct DateSettings {
    std::optional<models::LocalDay> as_of;  ///< dates written later were not known, nor was later weather
    bool include_unconfirmed = false;       ///< spring wheat by degree days that nobody confirmed
};

/// The dates of crop records by models/phenology: written down, from heading, or from sowing by temperature. They are
/// the same for every model that asks for weather and counts from the same day: those that they `serve`.
class FieldDates {
 public:
    FieldDates(const SeasonData& data, const models::DiseaseModel& model, const DateSettings& settings)
        : data_(data), model_(model), settings_(settings) {}

    /// A record whose dates contradict each other has none: `day_zero.missing` says which two.
    /// @param temperatures  of the source that the field's weather comes from; null: not read yet, or none
    FieldDate of(const models::CropRecord& crop, const models::TemperatureDays* temperatures) const;
    /// The days of weather that a model's risk of that date, or an estimate of it by temperature, asks for.
    std::optional<models::DayWindow> weather_for(const models::DiseaseModel& model, const models::CropRecord& crop,
                                                 const FieldDate& date) const;
    bool serve(const models::DiseaseModel& model) const {
        return model.weather.empty() == model_.weather.empty() && model.day_zero == model_.day_zero;
    }

 private:
    models::FloweringOptions options_for(const models::CropRecord& crop) const;

    const SeasonData& data_;
    const models::DiseaseModel& model_;
    DateSettings settings_;
};

}  // namespace app
