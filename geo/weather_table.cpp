#include "geo/weather_table.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <functional>
#include <map>
#include <unordered_map>
#include <utility>

#include <fmt/format.h>

#include "geo/tables/kind.h"
#include "geo/weather_cells.h"
#include "geo/weather_readings.h"
#include "geo/weather_rows.h"
#include "geo/weather_tally.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/weather/humidity.h"

namespace geo {

namespace weather_rows {

using models::HourlySeries;
using models::Stamp;
constexpr double missing = HourlySeries::missing;

struct RefusedCell {
    int column = WeatherColumns::absent;
    CellComplaint complaint;
};

struct Hour {
    double temperature_degc = missing, relative_humidity_pct = missing, dew_point_degc = missing, rain_mm = missing;
    bool says_nothing() const {
        return std::isnan(temperature_degc) && std::isnan(relative_humidity_pct) && std::isnan(dew_point_degc) &&
               std::isnan(rain_mm);
    }
};

constexpr double coldest_degc = -60.0, warmest_degc = 55.0;
constexpr double most_rain_mm = 400.0, most_rain_counted_mm = 20000.0;

class TableReader {
 public:
    TableReader(std::string_view text, const std::string& file, const WeatherForms& forms)
        : rows_(text, forms.delimiter), size_(text.size()), file_(file), forms_(forms), when_(forms), numbers_(forms) {
        const WeatherColumns& c = forms.columns;
        const auto need = [&](bool there, const char* what, const char* name) {
            if (there) return;
            throw models::Error(fmt::format("the weather table has no column for {}", what), file,
                                fmt::format("name it \"{}\", or say which it is in a column map", name));
        };
        need(c.station != WeatherColumns::absent || !forms.station.empty(), "the station", "station");
        need(c.time != WeatherColumns::absent, "the time", "time");
        need(c.temperature != WeatherColumns::absent, "the temperature", "temperature_degc");
        need(c.relative_humidity != WeatherColumns::absent || c.dew_point != WeatherColumns::absent,
             "the humidity or the dew point", "relative_humidity_pct");
    }

    WeatherTable read(const models::Progress& progress) {
        step_ = find_step();
        if (step_) when_.at_any_minute();
        for (long i = 0; i < forms_.header_rows; ++i) rows_.next();
        while (rows_.next()) {
            if (rows_.blank()) continue;
            if (table_.rows++ % 65536 == 0) {
                progress.step(file_ + ": " + std::to_string(table_.rows - 1) + " rows",
                              static_cast<double>(rows_.position()) / static_cast<double>(size_));
            }
            RefusedCell refused;
            if (!take_row(refused)) refuse(refused.column, std::move(refused.complaint), rows_.row());
        }
        for (auto& [name, station] : stations_) decide(station, name);
        if (step_) put_readings();
        std::stable_sort(table_.refused.begin(), table_.refused.end(),
                         [](const Refusal& a, const Refusal& b) { return a.row < b.row; });
        finish();
        return std::move(table_);
    }

 private:
    struct Place {
        double longitude_deg = 0.0, latitude_deg = 0.0;
        std::string longitude_text, latitude_text;
        bool known = false;
        std::optional<double> elevation_m = {};
        std::string elevation_text = {};
    };
    struct Undecided {
        TwiceShown twice;
        std::string written;
        long row = 0;
        std::optional<Hour> hour;  // none: the row is refused, or says nothing
    };
    struct StationRows {
        Place place;
        std::map<std::chrono::sys_days, StationMonth> months;  // by the first day
        StationMonth* latest = nullptr;
        std::chrono::sys_seconds latest_first{}, latest_end{};
        std::optional<std::chrono::seconds> phase;  // of its hours, past the full hour of UTC
        std::vector<Reading> readings;              // of a logger that writes every few minutes
        RowsBefore before;
        std::vector<Undecided> undecided;  // rows of the hour that the zone's clocks showed twice
    };
    struct Hash : std::hash<std::string_view> {
        using is_transparent = void;
    };

    std::string_view cell(int column) const {
        const auto& fields = rows_.fields();
        return column >= 0 && static_cast<std::size_t>(column) < fields.size()
                   ? fields[static_cast<std::size_t>(column)]
                   : std::string_view();
    }

    void refuse(int column, CellComplaint complaint, long row) {
        table_.refused.push_back(
            {file_, row, name_of_column(forms_, column), std::move(complaint.what), std::move(complaint.mend)});
    }

    /// The minutes between the rows of a logger that writes more often than every hour, by the first of them.
    std::optional<std::chrono::minutes> find_step() const {
        constexpr long looked_at = 5000;
        const WeatherColumns& c = forms_.columns;
        Rows rows = rows_;
        HourCells when(forms_);
        when.at_any_minute();
        std::map<std::string, std::vector<std::chrono::sys_seconds>, std::less<>> times;
        const auto cell_of = [&](int column) {
            const auto& fields = rows.fields();
            const bool there = column >= 0 && static_cast<std::size_t>(column) < fields.size();
            return there ? fields[static_cast<std::size_t>(column)] : std::string_view();
        };
        for (long i = 0; i < forms_.header_rows; ++i) rows.next();
        for (long i = 0; i < looked_at && rows.next(); ++i) {
            CellComplaint complaint;
            std::optional<TwiceShown> twice;
            const auto stamp = when.read(cell_of(c.date), cell_of(c.time), cell_of(c.utc_offset_h), twice, complaint);
            if (stamp) times[std::string(cell_of(c.station))].push_back(stamp->utc);
        }
        std::vector<std::vector<std::chrono::sys_seconds>> stations;
        for (auto& [name, list] : times) stations.push_back(std::move(list));
        return step_of_readings(stations);
    }

    /// Reads of minutes become hours, station by station.
    void put_readings() {
        table_.readings_an_hour = std::chrono::minutes(60) / *step_;
        for (auto& [name, station] : stations_) {
            const HoursOfReadings hours =
                hours_of_readings(std::move(station.readings), *step_, forms_.rain_accumulates);
            table_.repeated += hours.repeated;
            tally_.too_few_readings += hours.too_few;
            tally_.rain_incomplete += hours.rain_incomplete;
            for (const Reading& reading : hours.contradicting) {
                refuse(forms_.columns.time,
                       {fmt::format("station {} has the time {} twice, with other values", name,
                                    models::to_text(Stamp{reading.begin, reading.offset})),
                        "keep the right one of the two rows; where a clock was set back, write the offset"},
                       reading.row);
            }
            for (const Reading& one : hours.hours) {
                const Hour hour{one.values[0], one.values[1], one.values[2], one.values[3]};
                if (hour.says_nothing()) continue;
                RefusedCell refused;
                const Stamp begin{one.begin, one.offset};
                if (!keep(station, name, begin, models::to_text(begin), hour, one.row, refused)) {
                    refuse(refused.column, std::move(refused.complaint), one.row);
                }
            }
        }
    }

    /// What loggers write for "not measured", where it could not be a value; noted.
    bool is_code(int column, double written) {
        constexpr std::array codes = {-99.0,   -99.9, -999.0, -999.9, -9999.0, -9999.9, -6999.0,
                                      -7999.0, 999.0, 999.9,  9999.0, 9999.9,  99999.0};
        if (std::find(codes.begin(), codes.end(), written) == codes.end()) return false;
        ++tally_.codes[{column, written}];
        return true;
    }

    static bool complain(RefusedCell& refused, int column, std::string what, std::string mend) {
        refused = {column, {std::move(what), std::move(mend)}};
        return false;
    }

    bool take_row(RefusedCell& refused) {
        const WeatherColumns& c = forms_.columns;
        const std::string_view name =
            c.station == WeatherColumns::absent ? std::string_view(forms_.station) : cell(c.station);
        if (name.empty()) {
            return complain(refused, c.station, "the row names no station", "write the station's name");
        }
        StationRows& station = rows_of(name);
        std::optional<TwiceShown> twice;
        const auto stamp = when_.read(cell(c.date), cell(c.time), cell(c.utc_offset_h), twice, refused.complaint);
        if (!stamp) {
            refused.column = c.time;
            return false;
        }
        Undecided* const undecided = twice ? &one_more_undecided(station, name, *twice) : nullptr;
        if (!twice) {
            decide(station, name);
            station.before.add(stamp->utc);
        }
        const bool utc_only =
            cell(c.time).ends_with('Z') && !forms_.clock && !forms_.zone && cell(c.utc_offset_h).empty();
        tally_.without_clock += utc_only ? 1 : 0;
        Hour hour;
        if (!read_hour(hour, refused)) return false;
        if (!check_place(station.place, refused) || !check_elevation(station.place, refused)) return false;
        if (hour.says_nothing()) {
            ++tally_.saying_nothing;
            ++table_.repeated;
            return true;
        }
        if (undecided) {
            undecided->hour = hour;
            return true;
        }
        return take(station, name, *stamp, cell(c.time), hour, rows_.row(), refused);
    }

    bool take(StationRows& station, std::string_view name, const Stamp& stamp, std::string_view written,
              const Hour& hour, long row, RefusedCell& refused) {
        if (!step_) return keep(station, name, stamp, written, hour, row, refused);
        Reading reading{stamp.utc, stamp.offset, {}, row};
        if (forms_.stamp_ends_hour) reading.begin += std::chrono::hours(1) - *step_;
        reading.values = {hour.temperature_degc, hour.relative_humidity_pct, hour.dew_point_degc, hour.rain_mm};
        station.readings.push_back(reading);
        return true;
    }

    Undecided& one_more_undecided(StationRows& station, std::string_view name, const TwiceShown& twice) {
        constexpr std::chrono::hours one_night{12};
        if (!station.undecided.empty() &&
            std::chrono::abs(station.undecided.back().twice.wall - twice.wall) > one_night) {
            decide(station, name);
        }
        station.undecided.push_back({twice, std::string(cell(forms_.columns.time)), rows_.row(), std::nullopt});
        return station.undecided.back();
    }

    /// The rows of the hour that the clocks showed twice, once they are all there.
    void decide(StationRows& station, std::string_view name) {
        if (station.undecided.empty()) return;
        const std::vector<Undecided> rows = std::move(station.undecided);
        station.undecided.clear();
        std::vector<TwiceShown> times;
        for (const Undecided& row : rows) times.push_back(row.twice);
        const auto told = which_of_two(times, station.before, !step_);
        for (std::size_t i = 0; i < rows.size(); ++i) {
            const auto& [twice, written, row, hour] = rows[i];
            if (told) station.before.add(twice.begins[told->which[i]].utc);
            if (!hour) continue;
            RefusedCell refused;
            if (!told) {
                complain(
                    refused, forms_.columns.time,
                    fmt::format("\"{}\" may be either of two moments, and the rows around it do not tell which: {}",
                                written, forms_.zone->repeated_in_words(twice.wall)),
                    "write the times of that hour with their offsets");
            } else if (take(station, name, twice.begins[told->which[i]], written, *hour, row, refused)) {
                continue;
            }
            refuse(refused.column, std::move(refused.complaint), row);
        }
        if (!told) return;
        if (!told->guessed) {
            tally_.repeated_hour += static_cast<long>(rows.size());
            return;
        }
        tally_.taken_for_earlier.emplace(rows.front().row,
                                         taken_for_earlier(name, {rows.front().row, rows.back().row},
                                                           {times.front().wall, times.back().wall}, *forms_.zone));
    }

    bool read_number(int column, double& value, RefusedCell& refused) const {
        value = missing;
        if (column == WeatherColumns::absent || numbers_.read(cell(column), value)) return true;
        const std::string_view text = cell(column);
        const bool comma = forms_.decimal == '.' && text.find(',') != std::string_view::npos;
        return complain(refused, column, fmt::format("\"{}\" is no number", text),
                        comma ? "write 12.5 and not 12,5, or name the decimal comma in a column map"
                              : "write a number such as 12.5, or leave the cell empty if it was not measured");
    }

    bool read_temperature(int column, TemperatureUnit unit, double& value, RefusedCell& refused) {
        if (!read_number(column, value, refused)) return false;
        const double written = value;
        value = in_degc(value, unit);
        const bool outside = value < coldest_degc || value > warmest_degc;
        if (outside && is_code(column, written)) {
            value = missing;
            return true;
        }
        if (column == forms_.columns.temperature && !std::isnan(value)) temperatures_.push_back(value);
        if (!outside) return true;
        if (column == forms_.columns.temperature) {
            ++table_.temperatures_outside;
            const auto known = tally_.texts_outside.find(cell(column));
            constexpr std::size_t looked_at = 2;  // one text or several is all that is asked
            if (known != tally_.texts_outside.end())
                ++known->second;
            else if (tally_.texts_outside.size() < looked_at)
                tally_.texts_outside.emplace(std::string(cell(column)), 1);
        }
        std::string mend = "correct it, or leave the cell empty if it was not measured";
        if (unit == TemperatureUnit::degc && written > 200.0 && written < 334.0) {
            mend = "if these are kelvin, say so in a column map";
        } else if (unit == TemperatureUnit::degc && written > warmest_degc && written < 140.0) {
            mend = "if these are degF, say so in a column map";
        }
        return complain(refused, column, fmt::format("a temperature of {} degC lies outside -60 to 55 degC", value),
                        std::move(mend));
    }

    bool read_hour(Hour& hour, RefusedCell& refused) {
        const WeatherColumns& c = forms_.columns;
        double humidity = missing, rain = missing;
        if (!read_temperature(c.temperature, forms_.temperature, hour.temperature_degc, refused)) return false;
        if (!read_number(c.relative_humidity, humidity, refused)) return false;
        if (!read_temperature(c.dew_point, forms_.dew_point, hour.dew_point_degc, refused)) return false;
        if (!read_number(c.rain, rain, refused)) return false;

        hour.relative_humidity_pct = in_percent(humidity, forms_.relative_humidity);
        const bool no_humidity = hour.relative_humidity_pct > 100.5 || hour.relative_humidity_pct <= 0.0;
        if (no_humidity && is_code(c.relative_humidity, humidity)) {
            hour.relative_humidity_pct = missing;
        } else if (no_humidity) {
            return complain(refused, c.relative_humidity,
                            fmt::format("a relative humidity of {} % cannot be", hour.relative_humidity_pct),
                            "correct it, or leave the cell empty if it was not measured");
        }
        if (hour.dew_point_degc > hour.temperature_degc + 0.2) {
            return complain(refused, c.dew_point,
                            fmt::format("a dew point of {:.6g} degC lies above the temperature of {:.6g} degC",
                                        hour.dew_point_degc, hour.temperature_degc),
                            "correct whichever is wrong; the dew point is never the higher one");
        }
        hour.rain_mm = in_mm(rain, forms_.rain);
        const bool no_rain =
            hour.rain_mm < 0.0 || hour.rain_mm > (forms_.rain_accumulates ? most_rain_counted_mm : most_rain_mm);
        if ((no_rain || (forms_.rain_accumulates && rain == 999.0)) && is_code(c.rain, rain)) {
            hour.rain_mm = missing;
        } else if (no_rain) {
            return complain(refused, c.rain, fmt::format("{:.6g} mm of rain in one hour cannot be", hour.rain_mm),
                            hour.rain_mm > 0.0 ? "correct it; rain that counts on until it is set back is read with "
                                                 "rain_accumulates = true in a column map"
                                               : "correct it, or leave the cell empty if it was not measured");
        }
        complete(hour);
        return true;
    }

    /// Humidity from the dew point or the other way round, by the program's one formula.
    void complete(Hour& hour) {
        const bool humidity_given = !std::isnan(hour.relative_humidity_pct);
        const bool dew_point_given = !std::isnan(hour.dew_point_degc);
        if (humidity_given) {
            ++tally_.humidity_seen;
            tally_.highest_humidity_pct = std::max(tally_.highest_humidity_pct, hour.relative_humidity_pct);
            if (hour.relative_humidity_pct > 100.0) ++tally_.above_saturation;
        }
        if (std::isnan(hour.temperature_degc)) return;
        if (humidity_given && !dew_point_given) {
            hour.dew_point_degc = models::dew_point_degc(hour.temperature_degc, hour.relative_humidity_pct);
        } else if (dew_point_given && !humidity_given) {
            hour.relative_humidity_pct =
                std::min(100.0, models::relative_humidity_pct(hour.temperature_degc, hour.dew_point_degc));
        } else if (humidity_given && dew_point_given) {
            const double computed = models::dew_point_degc(hour.temperature_degc, hour.relative_humidity_pct);
            ++table_.both_humidities;
            if (std::abs(computed - hour.dew_point_degc) <= agreeing_degc) return;
            ++tally_.disagreeing;
            const double if_degf = models::dew_point_degc(in_degc(hour.temperature_degc, TemperatureUnit::degf),
                                                          hour.relative_humidity_pct);
            const double dew_if_degf = in_degc(hour.dew_point_degc, TemperatureUnit::degf);
            table_.agree_if_degf += std::abs(if_degf - hour.dew_point_degc) <= agreeing_degc ? 1 : 0;
            table_.agree_if_both_degf += std::abs(if_degf - dew_if_degf) <= agreeing_degc ? 1 : 0;
        }
    }

    StationRows& rows_of(std::string_view name) {
        if (latest_ && name == latest_name_) return *latest_;
        auto found = stations_.find(name);
        if (found == stations_.end()) found = stations_.emplace(std::string(name), StationRows{}).first;
        latest_name_ = found->first;
        latest_ = &found->second;
        return *latest_;
    }

    bool check_elevation(Place& place, RefusedCell& refused) const {
        const int column = forms_.columns.elevation_m;
        if (column == WeatherColumns::absent || cell(column) == place.elevation_text) return true;
        double elevation = missing;
        if (!read_number(column, elevation, refused)) return false;
        if (std::isnan(elevation)) return true;
        const tables::Column& about = *tables::kind_named("stations").find("elevation_m");
        if (elevation < about.least || elevation > about.most) {
            return complain(refused, column,
                            fmt::format("an elevation of {} m lies under or over all farmed ground", elevation),
                            "write it in metres above the sea, or leave the cell empty");
        }
        constexpr double same_height_m = 10.0;
        if (place.elevation_m && std::abs(*place.elevation_m - elevation) > same_height_m) {
            return complain(refused, column,
                            fmt::format("the station stood at {} m above the sea in earlier rows", *place.elevation_m),
                            "give a station that was moved a name of its own");
        }
        if (!place.elevation_m) place.elevation_m = elevation;
        place.elevation_text = cell(column);
        return true;
    }

    bool check_place(Place& place, RefusedCell& refused) const {
        const WeatherColumns& c = forms_.columns;
        if (c.longitude_deg == WeatherColumns::absent || c.latitude_deg == WeatherColumns::absent) {
            if (!place.known && forms_.longitude_deg && forms_.latitude_deg) {
                place = {*forms_.longitude_deg, *forms_.latitude_deg, "", "", true};
            }
            return true;
        }
        const std::string_view longitude_text = cell(c.longitude_deg), latitude_text = cell(c.latitude_deg);
        if (place.known && longitude_text == place.longitude_text && latitude_text == place.latitude_text) return true;
        double longitude = missing, latitude = missing;
        if (!read_number(c.longitude_deg, longitude, refused)) return false;
        if (!read_number(c.latitude_deg, latitude, refused)) return false;
        const bool given = !std::isnan(longitude) && !std::isnan(latitude);
        if (!given && place.known) return true;
        if (!given) {
            return complain(refused, c.longitude_deg, "the row does not say where the station stands",
                            "write longitude and latitude in degrees");
        }
        if (std::abs(longitude) > 180.0 || std::abs(latitude) > 90.0) {
            const bool swapped = std::abs(latitude) <= 180.0 && std::abs(longitude) <= 90.0;
            return complain(refused, std::abs(latitude) > 90.0 ? c.latitude_deg : c.longitude_deg,
                            fmt::format("longitude {}, latitude {} is no place", longitude, latitude),
                            swapped ? "longitude and latitude look swapped" : "write both in degrees");
        }
        if (longitude == 0.0 && latitude == 0.0) {
            return complain(refused, c.longitude_deg, "longitude 0, latitude 0 lies in the sea",
                            "write where the station stands");
        }
        if (!place.known) {
            place = {longitude, latitude, std::string(longitude_text), std::string(latitude_text), true};
            return true;
        }
        constexpr double same_place_deg = 0.001;
        if (std::abs(longitude - place.longitude_deg) > same_place_deg ||
            std::abs(latitude - place.latitude_deg) > same_place_deg) {
            return complain(refused, c.longitude_deg,
                            fmt::format("the station stood at longitude {}, latitude {} in earlier rows",
                                        place.longitude_deg, place.latitude_deg),
                            "give a station that was moved a name of its own");
        }
        return true;
    }

    StationMonth& month_of(StationRows& station, std::string_view name, std::chrono::sys_seconds utc) const {
        using namespace std::chrono;
        if (station.latest && utc >= station.latest_first && utc < station.latest_end) return *station.latest;
        const sys_seconds full_hour = utc - *station.phase;
        const year_month_day day{floor<days>(full_hour)};
        const year_month month = day.year() / day.month();
        const sys_days first_day{month / std::chrono::day(1)}, end_day{(month + months(1)) / std::chrono::day(1)};
        StationMonth& found = station.months[first_day];
        if (found.hours.empty()) {
            const auto count = static_cast<std::size_t>((end_day - first_day) / hours(1));
            found.month = month;
            found.hours.station = name;
            found.hours.first_utc = first_day + *station.phase;
            for (auto* column : {&found.hours.temperature_degc, &found.hours.relative_humidity_pct,
                                 &found.hours.dew_point_degc, &found.hours.rain_mm}) {
                column->assign(count, missing);
            }
            found.hours.offset_min.assign(count, 0);
            found.row.assign(count, 0);
        }
        station.latest = &found;
        station.latest_first = found.hours.first_utc;
        station.latest_end = found.hours.utc(found.hours.size());
        return found;
    }

    bool keep(StationRows& station, std::string_view name, const Stamp& stamp, std::string_view written,
              const Hour& hour, long row, RefusedCell& refused) {
        const auto phase = stamp.utc - std::chrono::floor<std::chrono::hours>(stamp.utc);
        if (!station.phase) station.phase = phase;
        if (*station.phase != phase) {
            return complain(refused, forms_.columns.time,
                            fmt::format("\"{}\" is not on the hour that the station's earlier rows keep", written),
                            "give one row an hour, all at the same minute");
        }
        StationMonth& month = month_of(station, name, stamp.utc);
        const auto at = static_cast<std::size_t>((stamp.utc - month.hours.first_utc) / std::chrono::hours(1));
        const std::array<std::pair<double*, double>, 4> sides = {
            {{&month.hours.temperature_degc[at], hour.temperature_degc},
             {&month.hours.relative_humidity_pct[at], hour.relative_humidity_pct},
             {&month.hours.dew_point_degc[at], hour.dew_point_degc},
             {&month.hours.rain_mm[at], hour.rain_mm}}};
        bool adds = month.row[at] == 0;
        for (const auto& [kept, arrived] : sides) {
            if (std::isnan(arrived)) continue;
            if (std::isnan(*kept)) {
                adds = true;
            } else if (*kept != arrived) {
                return complain(refused, forms_.columns.time,
                                fmt::format("station {} has the hour {} twice, with other values in row {}", name,
                                            models::to_text(stamp), month.row[at]),
                                "keep the right one of the two rows; where a clock was set back, write the offset");
            }
        }
        if (!adds) {
            ++table_.repeated;
            return true;
        }
        for (const auto& [kept, arrived] : sides) {
            if (!std::isnan(arrived)) *kept = arrived;
        }
        if (month.row[at] == 0) {
            month.row[at] = static_cast<std::int32_t>(row);
            month.hours.offset_min[at] = static_cast<std::int16_t>(stamp.offset.count());
        }
        ++table_.taken;
        return true;
    }

    void finish() {
        table_.temperatures = static_cast<long>(temperatures_.size());
        if (!temperatures_.empty()) {
            const auto middle = temperatures_.begin() + static_cast<std::ptrdiff_t>(temperatures_.size() / 2);
            std::nth_element(temperatures_.begin(), middle, temperatures_.end());
            table_.median_temperature_degc = *middle;
        }
        for (auto& [name, rows] : stations_) {
            StationHours station;
            station.station.station = name;
            station.station.longitude_deg = rows.place.longitude_deg;
            station.station.latitude_deg = rows.place.latitude_deg;
            station.station.elevation_m = rows.place.elevation_m;
            station.placed = rows.place.known;
            for (auto& [first_day, month] : rows.months) {
                fill_offsets(month.hours);
                if (forms_.zone) put_clock_of_zone(month);
                station.months.push_back(std::move(month));
            }
            if (!station.months.empty()) table_.stations.push_back(std::move(station));
        }
        std::sort(table_.stations.begin(), table_.stations.end(),
                  [](const auto& a, const auto& b) { return a.station.station < b.station.station; });

        if (tally_.texts_outside.size() == 1) table_.only_text_outside = tally_.texts_outside.begin()->first;
        table_.humidities_disagreeing = tally_.disagreeing;
        table_.humidities = tally_.humidity_seen;
        table_.highest_humidity_pct = tally_.highest_humidity_pct;
        if (step_) tally_.readings = {*step_, table_.readings_an_hour};
        put_notes(tally_, forms_, table_.notes);
    }

    /// Hours that no row speaks of: of the zone's clock, too, so that days at a change have their 23 or 25 hours.
    void put_clock_of_zone(StationMonth& month) const {
        for (std::size_t i = 0; i < month.hours.size(); ++i) {
            if (month.row[i] != 0) continue;
            try {
                month.hours.offset_min[i] =
                    static_cast<std::int16_t>(forms_.zone->offset_at(month.hours.utc(i)).count());
            } catch (const models::Error&) {
                return;  // past the last rule known: as the last hour that has one
            }
        }
    }

    Rows rows_;
    std::optional<std::chrono::minutes> step_;
    std::size_t size_;
    const std::string& file_;
    const WeatherForms& forms_;
    HourCells when_;
    NumberCells numbers_;
    std::unordered_map<std::string, StationRows, Hash, std::equal_to<>> stations_;
    std::string_view latest_name_;
    StationRows* latest_ = nullptr;
    Tally tally_;
    WeatherTable table_;
    std::vector<double> temperatures_;
};

}  // namespace weather_rows

WeatherTable read_weather_table(std::string_view text, const std::string& file, const WeatherForms& forms,
                                const models::Progress& progress) {
    return weather_rows::TableReader(text, file, forms).read(progress);
}

}  // namespace geo
