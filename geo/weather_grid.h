#pragma once

#include <chrono>
#include <filesystem>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "geo/weather_table.h"
#include "models/progress.h"
#include "models/records.h"

/// Gridded weather: reanalyses and forecasts as NetCDF (CF names) or GRIB, of both editions.
namespace geo {

/// What is said of a grid beside the file; nothing of it is needed where the file follows CF or is GRIB.
struct GridForms {
    std::map<std::string, std::string> variables;  ///< our column -> the file's name: "temperature_degc" -> "t2m"
    std::map<std::string, std::string> units;      ///< our column -> its unit, where the file says none or a wrong one
    std::string name = "grid";                     ///< what its cells are called after
    /// The farm's clock, minutes ahead of UTC. Without it days are counted by the sun: longitude / 15, in whole hours.
    std::optional<std::chrono::minutes> clock;
    std::optional<tables::TimeZone> zone;  ///< instead of `clock`: the rules that set it
    std::optional<bool> rain_accumulates;  ///< rain counts on until it is set back; without it the values tell
};

struct WeatherGrid {
    WeatherTable table;  ///< a station for each cell that a field lies in, called "grid 9.50 E 56.00 N"
    std::optional<std::chrono::sys_seconds> made_utc;  ///< of a file with one reference time
    std::chrono::hours reach{0};                       ///< from there to its last hour
};

/// By its first bytes: NetCDF of any kind, or GRIB.
bool is_weather_grid(const std::filesystem::path& file);

/// Reads the cells that the fields lie in, and no others, by blocks of time. Values at a moment are those of the hour
/// that begins then; sums and means belong to the hour that they cover. Rain that counts on from the start of a
/// forecast or of a day becomes the rain of each hour (models/weather/accumulated_rain.h). Where a cell has no values,
/// as over the sea, the nearest one within three rows and columns that has some takes its place, and the notes say so.
/// A humidity that cannot be (above 100.5 %, or a dew point more than 0.2 degC above the temperature) is missing.
/// @throws models::Error  no field, or none in the grid; times farther apart than an hour; a unit, a time or a place
///                        that is not understood; a temperature outside -60 to 55 degC; rain that may be either
WeatherGrid read_weather_grid(const std::filesystem::path& file, const std::vector<models::Field>& fields,
                              const GridForms& forms = {}, const models::Progress& progress = {});

}  // namespace geo
