#pragma once

#include <functional>
#include <optional>
#include <string>

#include "geo/weather_table.h"

/// Whether a weather table can be what it is read as; looked at once it is read, before any of it goes in.
namespace geo {

/// A column that holds another unit than it is read in is refused as a whole: some of its rows would pass for weather.
/// Temperatures: more than 1 % outside -60 to 55 degC, or half of them above 45 degC; and what cool degF look like as
/// degC: humidity and dew point that agree only if the temperature is in degF, half of ten days' dew points above
/// 30 degC, or a month of the cold half-year (October to April, in the south April to October) that is too warm for the
/// latitude: above 27, 32 or 37 degC at 25 degrees (December to February; November and March; October and April),
/// 0.6 degC less each degree towards the pole, and never less than 12, 14 or 18 degC. Humidities: none above 1 %.
/// Single spikes of a sensor stay a matter of their rows. The bounds are the project's own (common practice, no
/// source).
/// @param latitude_of  of a station that the table does not place; nothing where nobody knows
/// @throws models::Error
using LatitudeOf = std::function<std::optional<double>(const std::string& station)>;
void require_units(
    const WeatherTable& table, const WeatherForms& forms, const std::string& file,
    const LatitudeOf& latitude_of = [](const std::string&) { return std::optional<double>(); });

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
