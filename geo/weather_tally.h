#pragma once

#include <chrono>
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

#include "geo/weather_table.h"

/// What is counted while a weather table is read, and the notes that come of it.
namespace geo::weather_rows {

constexpr double agreeing_degc = 0.5;  // a given dew point and the one computed from the given humidity

/// Things worth a note about a table as a whole.
struct Tally {
    long saying_nothing = 0, above_saturation = 0, humidity_seen = 0, disagreeing = 0, without_clock = 0;
    double highest_humidity_pct = 0.0;
    std::map<std::pair<int, double>, long> codes;  // taken for "not measured": column, number
    long too_few_readings = 0, rain_incomplete = 0;
    long repeated_hour = 0;  // rows in an hour that the clocks showed twice, told apart by their order
    std::map<long, std::string> taken_for_earlier;           // rows there that nothing tells, in words; by the row
    std::map<std::string, long, std::less<>> texts_outside;  // of temperatures, the first few
    std::optional<std::pair<std::chrono::minutes, long>> readings;  // the step of a logger of minutes, how many an hour
};

/// As the file names it; its number where it has no name, nothing where there is no such column.
std::string name_of_column(const WeatherForms& forms, int column);

/// "station S, row 4: 02:00 of 2026-10-25 stands once, ...": rows in an hour that the clocks showed twice.
/// @param rows, walls  the first and the last of them, and their times
std::string taken_for_earlier(std::string_view station, std::pair<long, long> rows,
                              std::pair<std::chrono::local_seconds, std::chrono::local_seconds> walls,
                              const tables::TimeZone& zone);

void put_notes(const Tally& tally, const WeatherForms& forms, std::vector<std::string>& notes);

}  // namespace geo::weather_rows
