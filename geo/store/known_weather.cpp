#include "geo/store/known_weather.h"

#include <algorithm>
#include <chrono>
#include <utility>

#include "geo/store/store.h"

namespace geo {

models::KnownHours known_weather(const Store& store, const models::Station& station,
                                 const std::vector<models::Station>& forecasts, models::LocalDay from,
                                 models::LocalDay to, const std::optional<models::LocalDay>& as_of) {
    // Those that may speak: known by then, and of these days. An old issue of the station's own must not hide the one
    // of a cell beside it.
    std::vector<models::Station> speaking;
    for (const models::Station& forecast : forecasts) {
        // One whose time of issue nobody wrote down cannot be said to have been known.
        if (!forecast.made_utc) continue;
        const models::LocalDay made{std::chrono::floor<std::chrono::days>(*forecast.made_utc).time_since_epoch()};
        constexpr std::chrono::days farthest_clock{1}, longest_forecast{400};
        if (as_of && made > *as_of + farthest_clock) continue;
        if (made > to + farthest_clock || made + longest_forecast < from) continue;
        speaking.push_back(forecast);
    }
    std::vector<models::ForecastHours> issued;
    while (issued.empty() && !speaking.empty()) {
        const std::vector<models::Station> nearest = models::forecasts_for(station, speaking);
        if (nearest.empty()) break;
        for (const models::Station& forecast : nearest) {
            models::HourlySeries hours = store.weather(forecast.station, from, to);
            if (hours.speaks())
                issued.push_back({*forecast.made_utc, std::move(hours), models::forecast_place(station, forecast)});
            std::erase_if(speaking, [&](const models::Station& one) { return one.station == forecast.station; });
        }
    }
    return models::known_at(store.weather(station.station, from, to), issued, as_of);
}

}  // namespace geo
