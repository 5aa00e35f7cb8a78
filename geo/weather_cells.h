#pragma once

#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geo/repeated_hour.h"
#include "geo/weather_table.h"
#include "models/calendar.h"

/// The cells of a weather table: times, numbers and units as people and loggers write them.
namespace geo {

/// What is wrong with a cell, and how to mend it.
struct CellComplaint {
    std::string what, mend;
};

/// Which hour a row speaks of. ISO 8601 with an offset needs nothing said; other forms follow WeatherForms.
class HourCells {
 public:
    explicit HourCells(const WeatherForms& forms) : forms_(forms) {}
    /// Of a logger that writes every few minutes: any minute is read.
    void at_any_minute() { any_minute_ = true; }
    /// @param date, offset  empty where the table has no such column
    /// @param twice         filled in where the zone's clocks showed the time twice: the rows around it tell which it
    /// is
    /// @returns the beginning of the hour with its wall clock, of two the earlier; nullopt with the complaint filled in
    std::optional<models::Stamp> read(std::string_view date, std::string_view time, std::string_view offset,
                                      std::optional<TwiceShown>& twice, CellComplaint& complaint) const;

 private:
    std::optional<models::Stamp> hour_of(std::string_view date, std::string_view time, std::string_view offset,
                                         std::optional<TwiceShown>& twice, CellComplaint& complaint) const;
    std::optional<models::Stamp> read_freely(std::string_view date, std::string_view time, std::string_view offset,
                                             std::optional<TwiceShown>& twice, CellComplaint& complaint) const;
    std::optional<models::Stamp> in_zone(std::chrono::local_seconds wall, const std::string& written,
                                         std::optional<TwiceShown>& twice, CellComplaint& complaint) const;
    models::Stamp beginning(models::Stamp stamp) const;
    std::chrono::minutes clock_at(std::string_view offset, std::chrono::sys_seconds utc) const;
    std::optional<models::LocalDay> take_date(std::string_view& text) const;
    std::optional<std::chrono::minutes> clock_of_row(std::string_view offset) const;
    const WeatherForms& forms_;
    bool any_minute_ = false;
};

/// Numbers with the table's decimal sign, and its words for "not measured".
class NumberCells {
 public:
    explicit NumberCells(const WeatherForms& forms);
    /// @returns false where the text is neither a number nor a word for missing (then NaN)
    bool read(std::string_view text, double& value) const;

 private:
    const WeatherForms& forms_;
    bool has_number_codes_ = false;  ///< -999 and the like stand for missing
};

/// Converted values are rounded to a millionth of their unit, so that they read as decimal numbers again.
double in_degc(double value, TemperatureUnit unit);
double in_percent(double value, HumidityUnit unit);
double in_mm(double value, RainUnit unit);

}  // namespace geo
