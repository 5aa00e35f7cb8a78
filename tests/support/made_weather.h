#pragma once

#include <functional>

#include "models/weather/window.h"
#include "tests/support/table.h"

namespace tests {

/// Whole local days of hours from a rule, on a clock that does not change.
/// @param rule  the weather of an hour, given the day from 0 and the hour of the clock
models::HourlySeries made_hours(models::LocalDay first, int days,
                                const std::function<models::HourlyWeather(int day, int hour)>& rule,
                                std::chrono::minutes offset = std::chrono::hours(2));

/// The hours of one logger of the six North Carolina sites (snb_nc_2022_hourly.csv), on its own clock.
models::HourlySeries logger_hours(const Table& hourly, const std::string& site);

/// Makes every quantity of that hour missing.
void forget_hour(models::HourlySeries& series, std::size_t hour);

}  // namespace tests
