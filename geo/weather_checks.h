#pragma once

#include <string>

#include "geo/weather_table.h"

/// Whether a weather table can be what it is read as; looked at once it is read, before any of it goes in.
namespace geo {

/// A column that holds another unit than it is read in is refused as a whole: some of its rows would pass for weather.
/// Temperatures: more than 1 % outside -60 to 55 degC, or half of them above 45 degC. Humidities: none above 1 %.
/// Single spikes of a sensor stay a matter of their rows.
/// @throws models::Error
void require_units(const WeatherTable& table, const WeatherForms& forms, const std::string& file);

/// Rain that counts on until it is set back is refused where it is read as the rain of each hour; where few wet hours
/// leave that open, the notes ask.
/// @throws models::Error
void require_rain_of_each_hour(WeatherTable& table, const WeatherForms& forms, const std::string& file);
/// Takes rain that counts on apart into the rain of each hour (models/weather/accumulated_rain.h).
void take_rain_apart(WeatherTable& table);

/// A year put together from months of many years is no season that ever was: each month of the calendar at most once,
/// of three years or more.
/// @throws models::Error
void require_real_seasons(const WeatherTable& table, const std::string& file);

/// Notes on stations that lack a quantity altogether.
void note_what_is_missing(const WeatherTable& table, std::vector<std::string>& notes);

}  // namespace geo
