#pragma once

#include <chrono>
#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geo/import.h"
#include "geo/tables/time_zone.h"
#include "geo/weather_block.h"
#include "models/progress.h"
#include "models/records.h"
#include "models/weather/hourly_series.h"

/// What the rows of a weather table mean: one row an hour, for any number of stations in any order. Which column is
/// which is settled before (by name or by a column map).
namespace geo {

enum class TemperatureUnit { degc, degf, kelvin };
enum class HumidityUnit { percent, fraction };
enum class RainUnit { mm, inch };
enum class DateOrder { year_month_day, day_month_year, month_day_year };

/// Where each quantity stands: the number of the column from 0, or `absent`. Either the humidity or the dew point is
/// needed; the other is computed (models/weather/humidity.h). Both are kept as they are where both are given.
struct WeatherColumns {
    static constexpr int absent = -1;
    int station = absent;
    int longitude_deg = absent;
    int latitude_deg = absent;
    int elevation_m = absent;  ///< of the station, above the sea
    int time = absent;
    int date = absent;          ///< where the day stands apart from the time of day
    int utc_offset_h = absent;  ///< where the offset of a wall clock stands apart from the time
    int temperature = absent;
    int relative_humidity = absent;
    int dew_point = absent;
    int rain = absent;
};

/// How the table writes what it says. The defaults are those of the table `weather` itself.
struct WeatherForms {
    WeatherColumns columns;
    /// A table of one station may leave out who and where: then these hold for every row.
    std::string station;
    std::optional<double> longitude_deg, latitude_deg;
    /// The names of the columns as the file has them, in the file's order: refusals name them.
    std::vector<std::string> names;
    TemperatureUnit temperature = TemperatureUnit::degc;
    TemperatureUnit dew_point = TemperatureUnit::degc;
    HumidityUnit relative_humidity = HumidityUnit::percent;
    RainUnit rain = RainUnit::mm;
    char delimiter = ',';
    char decimal = '.';
    DateOrder date_order = DateOrder::year_month_day;  ///< the separator may be - / or .
    /// The station's wall clock, minutes ahead of UTC. A time without an offset is read on this clock, and a time in
    /// UTC (ending in Z) is counted into the local days of this clock. A time with an offset of its own keeps that.
    std::optional<std::chrono::minutes> clock;
    /// Instead of `clock`: the rules that set it. In the hour that autumn repeats the rows of a station decide by their
    /// order which is which (geo/repeated_hour.h), and where they do not tell they are refused; a time in the hour that
    /// spring skips is refused, and so is one beyond the last change that is known.
    std::optional<tables::TimeZone> zone;
    bool stamp_ends_hour = false;   ///< the stamp is the end of the hour it speaks of; 24:00 is then allowed
    bool rain_accumulates = false;  ///< rain counts on until it is set back: more than 400 mm may stand in a cell
    /// Texts that mean "not measured".
    std::vector<std::string> missing = {"",     "NA",   "N/A", "n/a", "na", "NaN", "nan", "NAN", "null",
                                        "NULL", "None", "M",   "m",   "-",  "--",  "---", "*",   "**"};
    long header_rows = 1;  ///< rows before the first hour
};

/// The hours of one station in one calendar month of UTC, all of them: hours that no row speaks of are NaN, and their
/// offset is that of the last hour before that has one (or the first after).
struct StationMonth {
    std::chrono::year_month month{};
    models::HourlySeries hours;     ///< first_utc is the first hour of the month; 672 to 744 hours
    std::vector<std::int32_t> row;  ///< the file's row that each hour came from, header row 1; 0: none
};

struct StationHours {
    models::Station station;           ///< name, degrees and elevation; place_m is left to the store
    bool placed = false;               ///< false: the table has no coordinates
    std::vector<StationMonth> months;  ///< ascending
};

struct WeatherTable {
    std::vector<StationHours> stations;  ///< by name
    long rows = 0;                       ///< of data
    long taken = 0;                      ///< rows that became an hour
    long repeated = 0;                   ///< rows that say again what an earlier row said, or say nothing at all
    std::vector<Refusal> refused;        ///< by row
    std::vector<std::string> notes;
    // Of the temperatures as they were read, refused ones included: what shows a column in another unit.
    long temperatures = 0, temperatures_outside = 0;  ///< of all; outside -60 to 55 degC
    double median_temperature_degc = 0.0;
    std::string only_text_outside;  ///< the cell of those outside, where all of them are one
    /// Hours with humidity and dew point, those where the two disagree, and those of them that would agree if the
    /// temperature, or it and the dew point, were degF.
    long both_humidities = 0, humidities_disagreeing = 0, agree_if_degf = 0, agree_if_both_degf = 0;
    long humidities = 0;  ///< that were read
    double highest_humidity_pct = 0.0;
    long readings_an_hour = 1;  ///< of a logger that writes every few minutes
};

/// Reads a whole table. Rows every few minutes become hours (geo/weather_readings.h). A number that loggers write for
/// "not measured" (-99, -999, 9999 and the like) is taken so where it could not be a value in the column's unit, and
/// the notes say how often. Refused are, row by row: no number where one should be; humidity above 100.5 % or not above
/// 0; a dew point above the temperature by more than 0.2 degC; a temperature outside -60 to 55 degC (it may be degF or
/// K; the highest air temperature ever measured is 56.7 degC, WMO Weather and Climate Extremes Archive, in a desert);
/// rain below 0 or above 400 mm in the hour; a time that is none, or not on the hour; coordinates that lie nowhere or
/// differ from the station's first; an hour that came before with other values.
/// @param text  the file, UTF-8, header rows included
/// @param file  its name, for the refusals
/// @throws models::Error  no station (column or name), no time or temperature column, or neither humidity nor dew point
/// @throws models::Cancelled
WeatherTable read_weather_table(std::string_view text, const std::string& file, const WeatherForms& forms,
                                const models::Progress& progress = {});

}  // namespace geo
