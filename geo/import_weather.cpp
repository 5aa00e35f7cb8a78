#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/import_rows.h"
#include "geo/tables/cells.h"
#include "geo/weather_checks.h"
#include "geo/weather_source_notes.h"
#include "geo/weather_table.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/weather/quality.h"
#include "models/weather/weather_source.h"

namespace geo::importing {

namespace {

using tables::ColumnMap;

std::string text_of(std::chrono::year_month month) {
    return models::to_text(std::chrono::local_days{month / std::chrono::day{1}}).substr(0, 7);
}

std::string unit_of(const ColumnMap& map, const char* column, const char* usual) {
    const auto found = map.units.find(column);
    return found == map.units.end() ? usual : found->second;
}

std::string lower(std::string text) {
    for (char& letter : text) {
        if (letter >= 'A' && letter <= 'Z') letter = static_cast<char>(letter - 'A' + 'a');
    }
    return text;
}

TemperatureUnit temperature_unit(const ColumnMap& map, const char* column) {
    const std::string unit = lower(unit_of(map, column, "degc"));
    if (unit == "degf") return TemperatureUnit::degf;
    if (unit == "k") return TemperatureUnit::kelvin;
    return TemperatureUnit::degc;
}

/// Which column is which, and how it is written, by the table's own names or a column map.
WeatherForms forms_of(const tables::Csv& header, const ColumnMap& map, const std::string& file) {
    WeatherForms forms;
    forms.names = header.header();
    forms.delimiter = header.separator();
    forms.decimal = map.decimal;
    const auto place = [&](const char* ours) {
        const auto renamed = map.theirs.find(ours);
        const std::string name = renamed == map.theirs.end() ? ours : renamed->second;
        const auto found = std::find(forms.names.begin(), forms.names.end(), name);
        if (found != forms.names.end()) return static_cast<int>(found - forms.names.begin());
        if (renamed != map.theirs.end()) {
            const std::string near = models::nearest_name(name, forms.names);
            throw models::Error("there is no column \"" + name + "\", which the column map names for " + ours +
                                    (near.empty() ? "" : "; there is \"" + near + "\""),
                                file, "name the column as the file's first row has it");
        }
        return WeatherColumns::absent;
    };
    forms.columns.station = place("station");
    forms.columns.longitude_deg = place("longitude_deg");
    forms.columns.latitude_deg = place("latitude_deg");
    forms.columns.elevation_m = place("elevation_m");
    forms.columns.time = place("time");
    forms.columns.date = place("date");
    forms.columns.utc_offset_h = place("utc_offset_h");
    forms.columns.temperature = place("temperature_degc");
    forms.columns.relative_humidity = place("relative_humidity_pct");
    forms.columns.dew_point = place("dew_point_degc");
    forms.columns.rain = place("rain_mm");
    forms.temperature = temperature_unit(map, "temperature_degc");
    forms.dew_point = temperature_unit(map, "dew_point_degc");
    if (lower(unit_of(map, "relative_humidity_pct", "%")) == "fraction")
        forms.relative_humidity = HumidityUnit::fraction;
    const std::string rain = lower(unit_of(map, "rain_mm", "mm"));
    if (rain == "inch")
        forms.rain = RainUnit::inch;
    else if (rain != "mm")
        throw models::Error("rain in \"" + rain + "\" is not read", file, "use mm or inch");
    switch (map.days) {
        case tables::DayOrder::year_month_day:
            forms.date_order = DateOrder::year_month_day;
            break;
        case tables::DayOrder::day_month_year:
            forms.date_order = DateOrder::day_month_year;
            break;
        case tables::DayOrder::month_day_year:
            forms.date_order = DateOrder::month_day_year;
            break;
    }
    forms.clock = map.offset;
    forms.zone = map.zone;
    forms.stamp_ends_hour = map.stamp_ends_hour;
    forms.rain_accumulates = map.rain_accumulates.value_or(false);
    forms.missing.insert(forms.missing.end(), map.missing.begin(), map.missing.end());
    return forms;
}

/// A table of one station that nowhere says which: the column map does, and each row is told so.
std::string with_station(const std::string& text, const std::string& station, char separator) {
    std::string told;
    const std::string cell = tables::csv_cell(station) + separator;
    told.reserve(text.size() + static_cast<std::size_t>(std::count(text.begin(), text.end(), '\n')) * cell.size());
    bool header = true;
    std::size_t at = 0;
    while (at < text.size()) {
        const std::size_t end = std::min(text.find('\n', at), text.size());
        const std::string_view line = std::string_view(text).substr(at, end - at);
        if (!line.empty() && line != "\r") told += header ? std::string("station") + separator : cell;
        header = false;
        told.append(line);
        told += '\n';
        at = end + 1;
    }
    return told;
}

void require_columns(const WeatherForms& forms, const std::string& file) {
    const auto need = [&](bool there, const char* column) {
        if (there) return;
        const std::string near = models::nearest_name(column, forms.names);
        throw models::Error(
            std::string("the required column ") + column + " is missing" +
                (near.empty() ? "" : "; \"" + near + "\" comes near"),
            file,
            near.empty() ? "add it, or name theirs in a column map (`--columns`)" : "call \"" + near + "\" " + column);
    };
    constexpr int absent = WeatherColumns::absent;
    need(forms.columns.station != absent, "station");
    need(forms.columns.time != absent, "time");
    need(forms.columns.temperature != absent, "temperature_degc");
    if (forms.columns.relative_humidity == absent && forms.columns.dew_point == absent) {
        throw models::Error("neither relative_humidity_pct nor dew_point_degc is there", file,
                            "add one of them, or name theirs in a column map (`--columns`)");
    }
}

/// Where a station stands that the table does not place: as the column map says, else as the store knows already.
std::optional<std::pair<double, double>> place_beside_the_table(Target& target, const std::string& name,
                                                                const ColumnMap& map) {
    const auto fixed = [&](const char* column) -> std::optional<double> {
        const auto found = map.fixed.find(column);
        if (found == map.fixed.end()) return std::nullopt;
        std::optional<tables::CellRefusal> refusal;
        const tables::Column& about = *tables::kind_named("stations").find(column);
        const Value value = tables::read_cell(about, found->second, {}, refusal);
        if (refusal) throw RowRefusal{column, refusal->what, refusal->mend};
        if (const auto* number = std::get_if<double>(&value)) return *number;
        return std::nullopt;
    };
    const auto east = fixed("longitude_deg"), north = fixed("latitude_deg");
    if (east && north) return std::pair{*east, *north};
    Statement row(target.database, "SELECT longitude_deg, latitude_deg FROM current_station WHERE station = ?");
    row.with(name);
    if (row.step()) return std::pair{row.number(0), row.number(1)};
    return std::nullopt;
}

/// What the notes of a station say of its source; see geo/weather_source_notes.h.
void check_source(const std::string& name, const std::string& standing_notes, const models::Station& arrived) {
    models::Station standing;
    put_source_of_notes(standing_notes, standing);
    // A plain table may hold the hours of a grid that were written out of a store: it says nothing of their source.
    if (arrived.source == models::WeatherSource::on_site || standing.source == arrived.source) return;
    throw RowRefusal{"station",
                     name + " has hours from " + models::in_words(standing.source) + ", and these are from " +
                         models::in_words(arrived.source) + ": hours of different sources do not go under one name",
                     "give these a name of their own: [fixed] station = \"reanalysis\" in a column map names a grid"};
}

/// Puts the station in, of a forecast the place that it speaks of at its time.
/// @returns  the name that its hours go under
std::string put_station(Target& target, const StationHours& hours, const ColumnMap& map) {
    models::Station station = hours.station;
    require_short("station", station.station);
    std::optional<std::pair<double, double>> place;
    if (hours.placed) place = {station.longitude_deg, station.latitude_deg};
    const bool plain =
        !target.options.forecast_made_utc && station.source == models::WeatherSource::on_site && !map.from_grid;
    if (!place) {
        const bool known = target.known.names("stations").count(station.station) != 0;
        place = place_beside_the_table(target, station.station, map);
        if (!place) {
            throw RowRefusal{"longitude_deg", "nothing says where station " + station.station + " stands",
                             "add longitude_deg and latitude_deg, fix them in a column map, or import stations first"};
        }
        const bool fixed = map.fixed.contains("longitude_deg") && map.fixed.contains("latitude_deg");
        if (plain && known && !fixed) return station.station;
    }
    if (target.options.forecast_made_utc && !hours.months.empty()) {
        const models::HourlySeries& latest = hours.months.back().hours;
        std::size_t last = latest.size();
        while (last > 0 && std::isnan(latest.temperature_degc[last - 1])) --last;
        if (last > 0 && latest.utc(last - 1) < *target.options.forecast_made_utc) {
            throw RowRefusal{"time",
                             "the last hour of " + station.station + " begins before the forecast was made (" +
                                 models::utc_in_words(*target.options.forecast_made_utc) + ")",
                             "give the time at which it was issued (--forecast-made), in UTC"};
        }
    }
    if (map.from_grid) station.source = models::WeatherSource::grid;
    if (target.options.forecast_made_utc) {
        station.source = models::WeatherSource::forecast;
        station.made_utc = target.options.forecast_made_utc;
        station.forecast_of = station.station;
        station.station += ", forecast " + models::utc_in_words(*station.made_utc);
    }
    check_station_place(station.station, place->first, place->second, target.known);
    const tables::Kind& stations = tables::kind_named("stations");
    const std::string notes = notes_of_source(station);
    Spoken of_the_place{{true, true, true}, {}};
    if (notes != "{}") of_the_place.notes = {"source", "made_utc", "forecast_of"};
    Record record{{station.station, place->first, place->second}, notes, {}, &of_the_place};
    if (const auto standing = standing_record(target.database, stations, record)) {
        check_source(station.station, standing->notes, station);
        if (!target.options.correct_because.empty()) record.notes = notes_together(standing->notes, record);
    }
    target.put(stations, record);
    target.known.add(stations, record);
    return station.station;
}

/// The elevation that a weather table tells, beside what is kept of the station.
void put_elevation(Target& target, const models::Station& told) {
    if (!told.elevation_m) return;
    const tables::Kind& stations = tables::kind_named("stations");
    Record named;
    named.cells = {told.station, {}, {}};
    const auto standing = standing_record(target.database, stations, named);
    if (!standing) return;
    static const Spoken of_its_height{{true, true, true}, {"elevation_m"}};
    Record record = *standing;
    record.notes = nlohmann::json{{"elevation_m", tables::number_text(*told.elevation_m)}}.dump();
    record.spoken = &of_its_height;
    if (!target.options.correct_because.empty()) record.notes = notes_together(standing->notes, record);
    if (target.put(stations, record) == Put::corrected) {
        target.report.notes.push_back(
            fmt::format("station {} now stands at {} m", told.station, tables::number_text(*told.elevation_m)));
    }
}

/// The block of one month, as the store has it.
std::optional<models::HourlySeries> kept_month(Database& database, const std::string& station,
                                               const std::string& month) {
    Statement row(database, "SELECT content FROM current_weather_block WHERE station = ? AND month = ?");
    row.with(station, month);
    if (!row.step()) return std::nullopt;
    const std::string bytes = row.bytes(0);
    return unpack_block({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
}

long hours_known(const models::HourlySeries& hours) {
    long known = 0;
    for (std::size_t i = 0; i < hours.size(); ++i) {
        if (!std::isnan(hours.temperature_degc[i]) || !std::isnan(hours.relative_humidity_pct[i]) ||
            !std::isnan(hours.dew_point_degc[i]) || !std::isnan(hours.rain_mm[i])) {
            ++known;
        }
    }
    return known;
}

/// @returns  the month as it stands now
models::HourlySeries put_month(Target& target, const std::string& station, const StationMonth& arrived) {
    const std::string month = text_of(arrived.month);
    const bool correct = !target.options.correct_because.empty();
    const auto kept = kept_month(target.database, station, month);
    models::HourlySeries hours = arrived.hours;
    hours.station = station;
    long added = hours_known(arrived.hours), corrected = 0;
    if (kept) {
        hours = *kept;
        const HourMerge merge = merge_hours(hours, arrived.hours, correct);
        added = merge.added;
        corrected = merge.corrected;
        for (const std::size_t hour : merge.differing) {
            target.refuse(hour < arrived.row.size() ? arrived.row[hour] : 0,
                          {"time",
                           "station " + station + " has other values for " +
                               models::to_text(arrived.hours.stamp(hour)) + " already",
                           "if this is a correction, give its reason (--correct REASON)"});
        }
        if (added + corrected == 0) return hours;
    }
    const auto bytes = pack_block(hours);
    Record record;
    record.blob.bytes.assign(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    record.cells = {station, month, static_cast<std::int64_t>(hours_known(hours)), sha256_of(record.blob.bytes)};
    target.writer.put(tables::kind_named("weather-blocks"), record,
                      correct ? target.options.correct_because : "more hours arrived");
    target.report.added += added;
    target.report.corrected += corrected;
    return hours;
}

/// Rows of the table that speak of the station.
long rows_of(const StationHours& station) {
    long rows = 0;
    for (const StationMonth& month : station.months) {
        rows += std::count_if(month.row.begin(), month.row.end(), [](std::int32_t row) { return row != 0; });
    }
    return rows;
}

/// From the first hour of a station that says something to the end of the last.
std::pair<std::chrono::sys_seconds, std::chrono::sys_seconds> hours_that_arrived(const StationHours& station) {
    std::chrono::sys_seconds first{}, end{};
    for (const StationMonth& month : station.months) {
        for (std::size_t i = 0; i < month.hours.size(); ++i) {
            if (!month.hours.speaks(i)) continue;
            if (end == std::chrono::sys_seconds{}) first = month.hours.utc(i);
            end = month.hours.utc(i) + std::chrono::hours(1);
        }
    }
    return {first, end};
}

/// The hours of a station about those that arrived, as they now stand: a run of hours ends where the sensor moves, not
/// where the month or the file does. Months that follow one another are one series.
class StandingHours {
 public:
    void add(std::chrono::year_month month, models::HourlySeries hours) {
        if (stretches_.empty() || last_ + std::chrono::months(1) != month) stretches_.emplace_back();
        stretches_.back().push_back(std::move(hours));
        last_ = month;
    }
    /// A month that stands in the store already and that the file did not speak of.
    void add_neighbour(Database& database, const std::string& station, std::chrono::year_month month) {
        if (!stretches_.empty() && last_ >= month) return;
        if (auto kept = kept_month(database, station, text_of(month))) add(month, std::move(*kept));
    }
    std::vector<models::HourlySeries> series() const {
        std::vector<models::HourlySeries> joined;
        for (const auto& months : stretches_)
            joined.push_back(hours_between(months, models::LocalDay::min(), models::LocalDay::max()));
        return joined;
    }

 private:
    std::vector<std::vector<models::HourlySeries>> stretches_;
    std::chrono::year_month last_{};
};

/// Hours that a working sensor would hardly have written are taken as they are and named: the reader decides.
/// @param first, end  of the hours that arrived; what lies wholly outside was named when it arrived
void note_faults(const StandingHours& standing, const std::string& station, std::chrono::sys_seconds first,
                 std::chrono::sys_seconds end, std::vector<std::string>& notes) {
    constexpr std::size_t named = 5;
    std::size_t faults = 0;
    for (const models::HourlySeries& hours : standing.series()) {
        for (const models::WeatherFlag& flag : models::check_quality(hours)) {
            if (hours.utc(flag.last_hour) < first || hours.utc(flag.first_hour) >= end) continue;
            if (++faults <= named) notes.push_back("station " + station + ": " + flag.reason);
        }
    }
    if (faults > named) {
        notes.push_back("station " + station + ": " + std::to_string(faults - named) +
                        " more hours or stretches that a working sensor would hardly have written");
    }
}

}  // namespace

void import_weather(Target& target, std::string text, const tables::ColumnMap& map) {
    ImportReport& report = target.report;
    if (text.empty()) throw models::Error("the file is empty (0 bytes)", report.file, "give a table with a header row");
    tables::require_utf8(text, report.file);
    const std::size_t end_of_header = std::min(text.find('\n'), text.size());
    tables::Csv header = tables::Csv::read(text.substr(0, end_of_header), report.file, map.separator);
    const auto station = map.fixed.find("station");
    if (station != map.fixed.end() &&
        std::find(header.header().begin(), header.header().end(), "station") == header.header().end()) {
        text = with_station(text, station->second, header.separator());
        header =
            tables::Csv::read(text.substr(0, std::min(text.find('\n'), text.size())), report.file, header.separator());
    }
    const WeatherForms forms = forms_of(header, map, report.file);
    require_columns(forms, report.file);
    if (text.find_first_not_of(" \t\r\n", end_of_header) == std::string::npos) {
        report.notes.push_back("there is a header and no row under it");
        return;
    }
    const auto used = [&](const std::string& name) {
        const WeatherColumns& c = forms.columns;
        for (const int place : {c.station, c.longitude_deg, c.latitude_deg, c.elevation_m, c.time, c.date,
                                c.utc_offset_h, c.temperature, c.relative_humidity, c.dew_point, c.rain}) {
            if (place >= 0 && forms.names[static_cast<std::size_t>(place)] == name) return true;
        }
        return false;
    };
    {
        FewNotes notes(report.notes, "columns are not kept");
        for (const std::string& name : forms.names) {
            if (!used(name) && !name.empty()) notes.add("column \"" + name + "\" is not kept");
        }
    }
    if ((map.offset || map.zone) && forms.columns.utc_offset_h != WeatherColumns::absent) {
        report.notes.push_back("column \"" + forms.names[static_cast<std::size_t>(forms.columns.utc_offset_h)] +
                               "\" says the clock of each row; that of the column map is used where it is empty");
    }
    WeatherTable table = read_weather_table(text, report.file, forms, target.progress);
    if (!target.typed_by_hand) {
        if (!target.options.as_written) {
            require_units(table, forms, report.file, [&](const std::string& name) -> std::optional<double> {
                try {
                    const auto place = place_beside_the_table(target, name, map);
                    return place ? std::optional(place->second) : std::nullopt;
                } catch (const RowRefusal&) {
                    return std::nullopt;  // refused with the station
                }
            });
            require_real_seasons(table, report.file);
            if (!map.rain_accumulates) require_rain_of_each_hour(table, forms, report.file);
        }
        note_what_is_missing(table, table.notes);
    }
    if (forms.rain_accumulates) take_rain_apart(table);
    const long refused = static_cast<long>(table.refused.size());
    report.rows = table.readings_an_hour > 1 ? table.taken + refused : table.rows;
    report.refused = table.refused;
    report.notes.insert(report.notes.end(), table.notes.begin(), table.notes.end());
    put_weather(target, table, map);
}

void put_weather(Target& target, const WeatherTable& table, const tables::ColumnMap& map) {
    ImportReport& report = target.report;
    std::size_t done = 0;
    bool any_stored = false;
    for (const StationHours& hours : table.stations) {
        target.progress.step(fmt::format("{}: station {}", report.file, hours.station.station),
                             static_cast<double>(done++) / static_cast<double>(table.stations.size()));
        std::string name;
        try {
            name = put_station(target, hours, map);
            models::Station told = hours.station;
            told.station = name;
            put_elevation(target, told);
        } catch (const RowRefusal& refusal) {
            target.refuse(0, refusal);
            report.refused.back().rows = rows_of(hours);
            continue;
        }
        any_stored = true;
        StandingHours standing;
        for (const StationMonth& month : hours.months) {
            standing.add_neighbour(target.database, name, month.month - std::chrono::months(1));
            standing.add(month.month, put_month(target, name, month));
            if (&month == &hours.months.back() || (&month + 1)->month != month.month + std::chrono::months(1))
                standing.add_neighbour(target.database, name, month.month + std::chrono::months(1));
        }
        if (hours.months.empty()) continue;
        const auto [first, end] = hours_that_arrived(hours);
        note_faults(standing, hours.station.station, first, end, report.notes);
    }
    report.unchanged =
        any_stored ? std::max(0L, report.rows - report.added - report.corrected - rows_refused(report.refused)) : 0;
}

}  // namespace geo::importing
