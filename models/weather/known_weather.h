#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "models/records.h"
#include "models/weather/hourly_series.h"
#include "models/weather/window.h"

namespace models {

/// The hours of one forecast for a place, and when it was made.
struct ForecastHours {
    std::chrono::sys_seconds made_utc{};
    HourlySeries hours;
    std::string place;  ///< where it is not the station's own: "grid 10.25 E 56.50 N, 4.2 km away"
};

/// The hours of a place as somebody could have known them on some day, and where each of them is from.
struct KnownHours {
    static constexpr std::int16_t observed = -1;
    HourlySeries hours;
    std::vector<std::int16_t> origin;  ///< one an hour: `observed` (or missing), else which of `forecasts` it is from
    struct Forecast {
        std::chrono::sys_seconds made_utc{};
        std::string place;
    };
    std::vector<Forecast> forecasts;  ///< those that gave hours, the latest made first
};

/// What was known of the weather at the end of a day: the hours observed up to then, and from the last observed hour on
/// what the forecasts made by then said; of several the latest that speaks of the hour. A gap between observed hours
/// stays a gap: a forecast is no measurement that came late. Without a day all that is there is known. A forecast whose
/// hours begin at another minute counts from the nearest minute of the observed hours, and
/// its days are those of the observed clock.
/// @param observed   of one station; may be empty
/// @param forecasts  of the same place, in any order
/// @param as_of      a local day, by the clock of the hours
/// @returns one series without a gap in its row of hours; hours nobody spoke of are NaN
KnownHours known_at(const HourlySeries& observed, const std::vector<ForecastHours>& forecasts,
                    const std::optional<LocalDay>& as_of);

/// The forecasts that speak of a station: those of its own name; where there are none those of the nearest place not
/// farther than `within_m`. A field's weather comes from its station until the day it is asked, and from then on from
/// the forecast of the cell beside it: both are named.
std::vector<Station> forecasts_for(const Station& station, const std::vector<Station>& forecasts,
                                   double within_m = 25000.0);
/// What a note calls a forecast's place: nothing where it is the station's own, else "grid 10.25 E 56.50 N, 4.2 km
/// away".
std::string forecast_place(const Station& station, const Station& forecast);

/// How much of a window is forecast, in one sentence without its full stop: "31 of 192 hours are forecast, made
/// 2026-06-01 00:00 UTC". Hours count that say anything. Empty where none is forecast.
std::string note_of_forecast_hours(const KnownHours& known, const DayWindow& window);

}  // namespace models
