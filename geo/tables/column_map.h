#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geo/tables/kind.h"
#include "geo/tables/time_zone.h"

namespace geo::tables {

enum class DayOrder { year_month_day, day_month_year, month_day_year };

/// How tables from one source are read: which of their columns is which of ours, their units, dates, decimals, words.
/// Written once as TOML, kept in the store under a name.
///
///     separator = ";"                  # , ; or "tab"
///     encoding = "windows-1252"        # the letters of a table that is not UTF-8
///     decimal = ","                    # 1,25 is read as 1.25
///     dates = "day/month/year"         # or month/day/year, year/month/day; any of . / - between
///     offset = "+02:00"                # of times that carry none
///     time_zone = "Europe/Budapest"    # the same by name, where the clock is set forward in spring
///     missing = ["n.d.", "NA"]         # cells that say nothing
///     layer = "parcels"                # of outlines: which layer of the file
///     reference_system = "EPSG:25832"  # of outlines in a file that names none
///     stamp_ends_hour = true           # of weather whose stamp is the end of its hour
///     rain_accumulates = true          # of weather whose rain counts on until it is set back
///     source = "grid"                  # of weather cut out of a grid, no station's own
///     [columns]                        # ours = theirs, or with a unit; of outlines also several: "Farm+Number"
///     sample = "Probe"
///     don = { from = "DON", unit = "ug/kg" }
///     temperature_degc = { from = "temp", unit = "degF" }
///     [fixed]                          # columns that their table does not have
///     stage = "truck"
///     [words.crop]                     # their word = ours
///     Winterweizen = "wheat"
class ColumnMap {
 public:
    /// @throws models::Error  no TOML, an unknown key (with the nearest known one), a value that a key does not take,
    /// an
    ///                        unknown unit: with the key, the file and line, and a line that is right
    static ColumnMap read(std::string_view toml, const std::string& file);

    std::string name;     ///< under which it is kept: the file's name without its ending
    std::string content;  ///< the TOML itself
    std::optional<char> separator;
    std::string encoding;  ///< one of encodings() in geo/tables/csv.h; empty: UTF-8
    char decimal = '.';
    DayOrder days = DayOrder::year_month_day;
    bool other_days = false;  ///< `dates` was given
    std::optional<std::chrono::minutes> offset;
    std::optional<TimeZone> zone;          ///< `time_zone`; never beside an offset
    bool stamp_ends_hour = false;          ///< weather: the stamp is the end of its hour
    std::optional<bool> rain_accumulates;  ///< weather: rain counts on until it is set back
    bool from_grid = false;                ///< weather: `source = "grid"`
    std::vector<std::string> missing;
    std::map<std::string, std::string> theirs;  ///< our column -> their column
    std::map<std::string, std::string> units;   ///< our column -> the unit it comes in
    std::map<std::string, std::string> fixed;   ///< our column -> the same text in every row
    std::map<std::string, std::map<std::string, std::string, std::less<>>> words;  ///< our column -> their word -> ours
    std::string layer, reference_system;        ///< of outlines: `layer`, `reference_system`
    std::map<std::string, std::string> places;  ///< our column -> where the map speaks of it: "reader.toml, line 7"

    bool is_missing(std::string_view cell) const;
};

/// Turns a number in a foreign unit into the unit that the column's name ends in: value * factor + shift.
struct UnitChange {
    double factor = 1.0;
    double divisor = 1.0;  ///< kept apart so that 420 ug/kg is 0.42 mg/kg to the last digit
    double shift_before = 0.0;
    double operator()(double value) const { return (value + shift_before) * factor / divisor; }
};
/// @throws models::Error  the unit does not fit the column; the ones that do are named
UnitChange unit_change(const std::string& column, const std::string& unit);

/// mg/kg and ppm: 1; ug/kg and ppb: 1/1000. nullopt for anything else. Capitals and the Greek letter are understood.
std::optional<double> don_divisor(std::string_view unit);

}  // namespace geo::tables
