#pragma once

#include "models/weather/window.h"

namespace models {

/// Whole days that meet a condition. A day is decided where its hours leave no doubt: rain once fallen is fallen
/// however many hours are missing, dry is a day only when every hour was seen. With Y days that meet it and U undecided
/// ones of N: lower = Y, upper = Y + U, value = Y N / (N - U) where the decided days cover enough; a window of few days
/// needs all of them.
using DayCondition = Truth (*)(const DailySummary&);
WindowValue count_days(const KnownWeather& weather, const DayWindow& window, DayCondition condition);

/// Days whose mean relative humidity is over 70 %. A day of fewer than 18 hours is undecided, and so is one whose
/// missing hours, taken at its lowest and at its highest hour, would put the mean on either side.
WindowValue humid_days(const KnownWeather& weather, const DayWindow& window);

WindowValue days_of_rain_over_3_mm(const KnownWeather& weather, const DayWindow& window);
WindowValue days_of_rain_over_5_mm(const KnownWeather& weather, const DayWindow& window);
/// Days with a minimum under 10 degC; that there was none is known only with the hours from 02 to 08 o'clock.
WindowValue cold_nights(const KnownWeather& weather, const DayWindow& window);
/// Days with a maximum over 32 degC; that there was none is known only with the hours from 12 to 18 o'clock.
WindowValue hot_days(const KnownWeather& weather, const DayWindow& window);

}  // namespace models
