#include "geo/weather_checks.h"

#include <algorithm>
#include <cmath>
#include <limits>
#include <set>

#include <fmt/format.h>

#include "geo/tables/cells.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/weather/accumulated_rain.h"

namespace geo {

namespace {

std::string column_called(const WeatherForms& forms, int column) {
    return column >= 0 && static_cast<std::size_t>(column) < forms.names.size()
               ? forms.names[static_cast<std::size_t>(column)]
               : std::string();
}

void require_degc(const WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    constexpr double most_share_outside = 0.01, warmest_median_degc = 45.0;  // common practice, no source
    if (table.temperatures == 0 || forms.temperature != TemperatureUnit::degc) return;
    const double outside = static_cast<double>(table.temperatures_outside) / static_cast<double>(table.temperatures);
    if (outside <= most_share_outside && !(table.median_temperature_degc > warmest_median_degc)) return;
    const std::string name = column_called(forms, forms.columns.temperature);
    const double median = table.median_temperature_degc;
    const char* unit = median > 150.0 ? "K" : "degF";
    const std::string what =
        outside > most_share_outside
            ? fmt::format("{} of {} {} outside -60 to 55 degC", table.temperatures_outside,
                          models::counted(table.temperatures, "temperature"),
                          models::by_number(table.temperatures_outside, "lies", "lie"))
            : fmt::format("half of the temperatures lie above {} degC", tables::number_text(median));
    throw models::Error(
        what + ", so the column is hardly in degC, and no row went in", file + ", column " + name,
        median < -60.0
            ? fmt::format("if that number says \"not measured\", name it in a column map: missing = [\"{}\"]",
                          tables::number_text(median))
            : fmt::format("say its unit in a column map: temperature_degc = {{ from = \"{}\", unit = "
                          "\"{}\" }}; a number for \"not measured\" is named there, too: missing = "
                          "[\"999\"]",
                          name, unit));
}

void require_percent(const WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    if (forms.relative_humidity != HumidityUnit::percent || table.humidities == 0) return;
    if (table.highest_humidity_pct > 1.0) return;
    const std::string name = column_called(forms, forms.columns.relative_humidity);
    throw models::Error(
        fmt::format("none of {} lies above {} %, so the column is hardly in percent, and no row went in",
                    models::counted(table.humidities, "relative humidity", "relative humidities"),
                    tables::number_text(table.highest_humidity_pct)),
        file + ", column " + name,
        fmt::format("say its unit in a column map: relative_humidity_pct = {{ from = \"{}\", unit = \"fraction\" }}",
                    name));
}

/// A station's rain from its first month to its last; months that are not there are missing.
std::vector<double> rain_of_months(const StationHours& station) {
    std::vector<double> rain;
    for (const StationMonth& month : station.months) {
        const auto at = static_cast<std::size_t>((month.hours.first_utc - station.months.front().hours.first_utc) /
                                                 std::chrono::hours(1));
        rain.resize(at, std::numeric_limits<double>::quiet_NaN());
        rain.insert(rain.end(), month.hours.rain_mm.begin(), month.hours.rain_mm.end());
    }
    return rain;
}

std::int64_t first_hour_of(const StationHours& station) {
    return std::chrono::floor<std::chrono::hours>(station.months.front().hours.first_utc).time_since_epoch().count();
}

/// The clock of the station's first hour that has one.
std::chrono::minutes clock_of(const StationHours& station) {
    return std::chrono::minutes(station.months.front().hours.offset_min.front());
}

}  // namespace

void require_units(const WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    require_degc(table, forms, file);
    require_percent(table, forms, file);
}

void require_rain_of_each_hour(WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    for (const StationHours& station : table.stations) {
        if (station.months.empty()) continue;
        const models::RainCounter counter =
            models::find_rain_counter({rain_of_months(station)}, first_hour_of(station));
        constexpr long worth_asking = 2;
        if (counter.told == models::RainTold::unclear && counter.after_wet >= worth_asking) {
            table.notes.push_back(fmt::format(
                "station {}: {} after a wet one do not tell whether the rain counts on until it is set back; it is "
                "taken for the rain of each hour; if it counts on, say so in a column map: rain_accumulates = true "
                "(false: it does not)",
                station.station.station, models::counted(counter.after_wet, "hour")));
        }
        if (counter.told != models::RainTold::counting) continue;
        std::string where_set_back;
        if (counter.reset_hour) {
            const auto wall = (*counter.reset_hour * 60 + clock_of(station).count() + 24 * 60) % (24 * 60);
            where_set_back = fmt::format(" at {:02}:{:02} each day", wall / 60, wall % 60);
        }
        throw models::Error(
            fmt::format("the rain of station {} stays as it is or rises until it is set back{}, so it "
                        "counts on and is not the rain of each hour, and no row went in",
                        station.station.station, where_set_back),
            file + ", column " + column_called(forms, forms.columns.rain),
            "say it in a column map: rain_accumulates = true (or false, if it is the rain of each hour)");
    }
}

void take_rain_apart(WeatherTable& table) {
    for (StationHours& station : table.stations) {
        if (station.months.empty()) continue;
        const std::vector<double> totals = rain_of_months(station);
        const models::RainCounter counter = models::find_rain_counter({totals}, first_hour_of(station));
        const std::vector<double> rain = models::rain_of_each_hour(totals, first_hour_of(station), counter.reset_hour);
        for (StationMonth& month : station.months) {
            const auto at = (month.hours.first_utc - station.months.front().hours.first_utc) / std::chrono::hours(1);
            std::copy_n(rain.begin() + at, month.hours.size(), month.hours.rain_mm.begin());
            for (double& value : month.hours.rain_mm) value = std::round(value * 1e6) / 1e6;
        }
        long lost = 0, told = 0;
        for (std::size_t i = 0; i < totals.size(); ++i) {
            told += std::isnan(totals[i]) ? 0 : 1;
            lost += !std::isnan(totals[i]) && std::isnan(rain[i]) ? 1 : 0;
        }
        if (told == 0) continue;
        table.notes.push_back(fmt::format(
            "station {}: the rain counted on and was taken apart into hours{}", station.station.station,
            lost > 0
                ? fmt::format("; that of {} is not known, for want of the count before", models::counted(lost, "hour"))
                : std::string()));
    }
}

void require_real_seasons(const WeatherTable& table, const std::string& file) {
    for (const StationHours& station : table.stations) {
        constexpr std::size_t fewest_months = 6, fewest_years = 3;
        if (station.months.size() < fewest_months) continue;
        std::set<unsigned> calendar;
        std::set<int> years;
        std::size_t whole = 0;  // months of more than a day: midnight may fall into the next one
        for (const StationMonth& month : station.months) {
            const auto hours = std::count_if(month.hours.temperature_degc.begin(), month.hours.temperature_degc.end(),
                                             [](double value) { return !std::isnan(value); });
            if (hours <= 24) continue;
            ++whole;
            calendar.insert(static_cast<unsigned>(month.month.month()));
            years.insert(static_cast<int>(month.month.year()));
        }
        if (whole < fewest_months || calendar.size() != whole || years.size() < fewest_years) continue;
        std::string list;
        for (const int year : years) list += (list.empty() ? "" : ", ") + std::to_string(year);
        throw models::Error(fmt::format("the months of station {} are put together from {}, each month once: a typical "
                                        "year is no season that ever was, and no row went in",
                                        station.station.station, list),
                            file, "give the hours of the seasons themselves");
    }
}

void note_what_is_missing(const WeatherTable& table, std::vector<std::string>& notes) {
    std::vector<std::string> without_rain;
    for (const StationHours& station : table.stations) {
        const bool any = std::any_of(station.months.begin(), station.months.end(), [](const StationMonth& month) {
            return std::any_of(month.hours.rain_mm.begin(), month.hours.rain_mm.end(),
                               [](double value) { return !std::isnan(value); });
        });
        if (!any) without_rain.push_back(station.station.station);
    }
    if (without_rain.empty()) return;
    notes.push_back(fmt::format("{} no rain at all: models that ask for rain cannot be computed from {}",
                                without_rain.size() == 1 ? "station " + without_rain.front() + " has"
                                                         : fmt::format("{} stations have", without_rain.size()),
                                without_rain.size() == 1 ? "it" : "them"));
}

}  // namespace geo
