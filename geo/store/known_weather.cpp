#include "geo/store/known_weather.h"

#include "geo/store/store.h"

namespace geo {

models::KnownHours known_weather(const Store& store, const models::Station& station,
                                 const std::vector<models::Station>& forecasts, models::LocalDay from,
                                 models::LocalDay to, const std::optional<models::LocalDay>& as_of) {
    std::vector<models::ForecastHours> issued;
    for (const models::Station& forecast : models::forecasts_for(station, forecasts)) {
        // One whose time of issue nobody wrote down cannot be said to have been known.
        if (!forecast.made_utc) continue;
        constexpr std::chrono::days farthest_clock{1};
        if (as_of &&
            std::chrono::local_days{std::chrono::floor<std::chrono::days>(*forecast.made_utc).time_since_epoch()} >
                *as_of + farthest_clock) {
            continue;
        }
        issued.push_back(
            {*forecast.made_utc, store.weather(forecast.station, from, to), models::forecast_place(station, forecast)});
    }
    return models::known_at(store.weather(station.station, from, to), issued, as_of);
}

}  // namespace geo
