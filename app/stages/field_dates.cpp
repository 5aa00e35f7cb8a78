#include "app/stages/field_dates.h"

#include <algorithm>

#include <fmt/format.h>

#include "models/disease/disease_risk.h"
#include "models/error.h"
#include "models/phenology/flowering_record.h"
#include "models/spoken.h"

namespace app {

namespace {

constexpr int days_before_sowing = 30;

/// A model without weather asks for no date, and another crop has no model: theirs is shown as it was written.
FieldDate as_written(const models::DiseaseModel& model, const models::CropRecord& crop) {
    FieldDate date;
    date.day_zero = models::written_day_zero(model, crop);
    date.flowering.day = models::flowering_day(crop);
    if (date.flowering.day) {
        date.flowering.basis = crop.flowering_source == models::FloweringSource::observed
                                   ? models::DateBasis::observed
                                   : models::DateBasis::estimated_by_hand;
    }
    return date;
}

}  // namespace

models::FloweringOptions FieldDates::options_for(const models::CropRecord& crop) const {
    models::FloweringOptions options;
    if (const models::Field* outline = outline_of(data_, crop.field, crop.part)) {
        options.latitude_deg = outline->latitude_deg;
        options.longitude_deg = outline->longitude_deg;
    }
    options.as_of = settings_.as_of;
    options.temperatures_as_known = true;  // field_weather gives no others
    options.include_unconfirmed = settings_.include_unconfirmed;
    return options;
}

FieldDate FieldDates::of(const models::CropRecord& crop, const models::TemperatureDays* temperatures) const {
    if (model_.weather.empty() || !models::has_disease_model(crop.crop))
        return as_written(model_, models::as_known(crop, settings_.as_of));
    FieldDate date;
    try {
        const models::FloweringOptions options = options_for(crop);
        const models::FloweringEstimate estimate = models::estimate_flowering(crop, temperatures, options);
        date.day_zero = models::estimated_day_zero(model_, crop, estimate, options);
        date.flowering = {models::basis_of(estimate.basis), estimate.most_likely, estimate.sd_days,
                          estimate.unconfirmed};
        const bool sown = crop.sowing_date && (!settings_.as_of || *crop.sowing_date <= *settings_.as_of);
        date.wants_temperatures = !date.day_zero.most_likely && sown;
    } catch (const models::Error& error) {
        // One field's impossible record is that field's trouble.
        date = {};
        date.day_zero.missing.push_back(
            models::phrase("the dates contradict each other: {}; {}", error.what_happened(), error.how_to_mend()));
    }
    return date;
}

std::optional<models::DayWindow> FieldDates::weather_for(const models::DiseaseModel& model,
                                                         const models::CropRecord& crop, const FieldDate& date) const {
    if (!date.wants_temperatures) return models::weather_needed(model, date.day_zero);
    // Until the crop cannot flower any more, and the days that the model asks for after that.
    models::LocalDay last = *crop.sowing_date + std::chrono::days(models::most_days_followed + model.last_day());
    constexpr std::chrono::days longest_forecast{
        16};  // no hourly forecast reaches farther (common practice, no source)
    if (settings_.as_of) last = std::min(last, std::max(*crop.sowing_date, *settings_.as_of + longest_forecast));
    last = std::min(last, models::day_of(crop.season, 12, 31));
    // Days before it tell what a gap at sowing may have been like.
    return models::DayWindow{*crop.sowing_date - std::chrono::days(days_before_sowing), last};
}

}  // namespace app
