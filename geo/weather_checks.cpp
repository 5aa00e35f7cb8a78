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
    const std::string say_unit =
        fmt::format("say its unit in a column map: temperature_degc = {{ from = \"{}\", unit = \"{}\" }}", name, unit);
    const std::string& one = table.only_text_outside;
    if (outside > most_share_outside && !one.empty() && table.temperatures_outside < table.temperatures &&
        table.temperatures_outside > 1) {
        throw models::Error(
            fmt::format("{} of {} are {}, which lies outside -60 to 55 degC, and no row went in",
                        table.temperatures_outside, models::counted(table.temperatures, "temperature"), one),
            file + ", column " + name,
            fmt::format(
                "if {} says \"not measured\", name it in a column map: missing = [\"{}\"]; if the column is not "
                "in degC, {}",
                one, one, say_unit));
    }
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
            : say_unit + "; a number for \"not measured\" is named there, too: missing = [\"999\"]");
}

[[noreturn]] void refuse_as_degf(const WeatherForms& forms, const std::string& file, const std::string& what,
                                 bool dew_point_too = false) {
    const std::string name = column_called(forms, forms.columns.temperature);
    throw models::Error(
        what + ", so the column is hardly in degC, and no row went in", file + ", column " + name,
        fmt::format(
            "if it is in degF, say so in a column map: temperature_degc = {{ from = \"{}\", unit = \"degF\" }}{}; "
            "otherwise correct what does not fit, or take it as it stands (--as-written)",
            name,
            dew_point_too ? fmt::format(", dew_point_degc = {{ from = \"{}\", unit = \"degF\" }}",
                                        column_called(forms, forms.columns.dew_point))
                          : std::string()));
}

/// Humidity and dew point tell the temperature between them, so that they know the unit of the column.
void require_degc_by_humidity(const WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    constexpr long fewest_hours = 24;
    constexpr double most_share_disagreeing = 0.5, least_share_agreeing = 0.9;  // common practice, no source
    if (table.both_humidities < fewest_hours) return;
    const auto both = static_cast<double>(table.both_humidities);
    if (static_cast<double>(table.humidities_disagreeing) <= most_share_disagreeing * both) return;
    const auto disagreeing = static_cast<double>(table.humidities_disagreeing);
    const bool all_degf = static_cast<double>(table.agree_if_both_degf) >= least_share_agreeing * disagreeing;
    const bool one_degf = static_cast<double>(table.agree_if_degf) >= least_share_agreeing * disagreeing;
    if (!all_degf && !one_degf) return;
    refuse_as_degf(forms, file,
                   fmt::format("in {} of {} the dew point is that of the humidity only if the temperature is in degF",
                               table.humidities_disagreeing, models::counted(table.both_humidities, "hour")),
                   all_degf && forms.dew_point == TemperatureUnit::degc);
}

/// The dew points of a table of ten days or more; no coast of the earth has a month whose middle is so moist: degF.
void require_dew_points_of_the_earth(const WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    constexpr std::size_t fewest_hours = 240;
    constexpr double moistest_median_degc = 30.0;  // common practice, no source
    for (const StationHours& station : table.stations) {
        std::vector<double> dew_points;
        for (const StationMonth& month : station.months) {
            for (const double value : month.hours.dew_point_degc) {
                if (!std::isnan(value)) dew_points.push_back(value);
            }
        }
        if (dew_points.size() < fewest_hours) continue;
        const auto middle = dew_points.begin() + static_cast<std::ptrdiff_t>(dew_points.size() / 2);
        std::nth_element(dew_points.begin(), middle, dew_points.end());
        if (!(*middle > moistest_median_degc)) continue;
        refuse_as_degf(
            forms, file,
            fmt::format("half of the dew points of station {} lie above {:.1f} degC, moister than any place on "
                        "earth",
                        station.station.station, *middle));
    }
}

/// Above what mean no place outside the tropics has its cold half-year, with some 5 degC to spare; falls towards the
/// pole by 0.6 degC a degree, and not under what warm currents bring. NaN: from May to September, or in the tropics.
double warmest_mean_degc(double latitude_deg, unsigned month) {
    constexpr double tropics_deg = 25.0, fall_degc = 0.6;
    const double from_equator = std::abs(latitude_deg);
    const unsigned northern = latitude_deg < 0.0 ? (month + 5) % 12 + 1 : month;
    const auto bound = [&](double at_the_tropics, double least) {
        return std::max(at_the_tropics - fall_degc * (from_equator - tropics_deg), least);
    };
    if (!(from_equator >= tropics_deg)) return std::numeric_limits<double>::quiet_NaN();
    switch (northern) {  // common practice, no source
        case 12:
        case 1:
        case 2:
            return bound(27.0, 12.0);
        case 3:
        case 11:
            return bound(32.0, 14.0);
        case 4:
        case 10:
            return bound(37.0, 18.0);
        default:
            return std::numeric_limits<double>::quiet_NaN();
    }
}

void require_seasons_of_the_latitude(const WeatherTable& table, const WeatherForms& forms, const std::string& file,
                                     const LatitudeOf& latitude_of) {
    constexpr std::size_t fewest_hours = 240;  // of a month: a warm week is weather
    for (const StationHours& station : table.stations) {
        const auto latitude = station.placed ? station.station.latitude_deg : latitude_of(station.station.station);
        if (!latitude) continue;
        for (const StationMonth& month : station.months) {
            double sum = 0.0;
            std::size_t hours = 0;
            for (const double value : month.hours.temperature_degc) {
                if (std::isnan(value)) continue;
                sum += value;
                ++hours;
            }
            const double mean = sum / static_cast<double>(hours);
            const double warmest = warmest_mean_degc(*latitude, static_cast<unsigned>(month.month.month()));
            if (hours < fewest_hours || !(mean > warmest)) continue;
            refuse_as_degf(
                forms, file,
                fmt::format("the mean of station {} in {}-{:02} is {:.1f} degC, and no place at latitude {:.1f} "
                            "has more than {:.1f} degC then",
                            station.station.station, static_cast<int>(month.month.year()),
                            static_cast<unsigned>(month.month.month()), mean, *latitude, warmest));
        }
    }
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

void require_units(const WeatherTable& table, const WeatherForms& forms, const std::string& file,
                   const LatitudeOf& latitude_of) {
    require_degc(table, forms, file);
    if (forms.temperature == TemperatureUnit::degc) {
        require_degc_by_humidity(table, forms, file);
        require_seasons_of_the_latitude(table, forms, file, latitude_of);
        require_dew_points_of_the_earth(table, forms, file);
    }
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
