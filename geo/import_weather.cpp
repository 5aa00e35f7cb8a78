#include <algorithm>
#include <cmath>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/import_rows.h"
#include "geo/tables/cells.h"
#include "geo/weather_table.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/weather/quality.h"

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
    forms.stamp_ends_hour = map.stamp_ends_hour;
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

/// Where the station stands: as the table says, else as the column map says, else as the store knows already.
void put_station(Target& target, const StationHours& hours, const ColumnMap& map) {
    const std::string& name = hours.station.station;
    require_short("station", name);
    double longitude = hours.station.longitude_deg, latitude = hours.station.latitude_deg;
    if (!hours.placed) {
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
        if (!east || !north) {
            if (target.known.names("stations").count(name) != 0) return;
            throw RowRefusal{"longitude_deg", "nothing says where station " + name + " stands",
                             "add longitude_deg and latitude_deg, fix them in a column map, or import stations first"};
        }
        longitude = *east;
        latitude = *north;
    }
    check_station_place(name, longitude, latitude, target.known);
    const tables::Kind& stations = tables::kind_named("stations");
    static const Spoken of_the_place{{true, true, true}, {}};
    Record record{{name, longitude, latitude}, "{}", {}, &of_the_place};
    if (!target.options.correct_because.empty()) {
        if (const auto standing = standing_record(target.database, stations, record)) record.notes = standing->notes;
    }
    target.put(stations, record);
    target.known.add(stations, record);
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
    target.put(stations, record);
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

void put_month(Target& target, const StationHours& station, const StationMonth& arrived) {
    const std::string month = text_of(arrived.month);
    const bool correct = !target.options.correct_because.empty();
    const auto kept = kept_month(target.database, station.station.station, month);
    models::HourlySeries hours = arrived.hours;
    long added = hours_known(arrived.hours), corrected = 0;
    if (kept) {
        hours = *kept;
        const HourMerge merge = merge_hours(hours, arrived.hours, correct);
        added = merge.added;
        corrected = merge.corrected;
        for (const std::size_t hour : merge.differing) {
            target.refuse(hour < arrived.row.size() ? arrived.row[hour] : 0,
                          {"time",
                           "station " + station.station.station + " has other values for " +
                               models::to_text(arrived.hours.stamp(hour)) + " already",
                           "if this is a correction, give its reason (--correct REASON)"});
        }
        if (added + corrected == 0) return;
    }
    const auto bytes = pack_block(hours);
    Record record;
    record.blob.bytes.assign(reinterpret_cast<const char*>(bytes.data()), bytes.size());
    record.cells = {station.station.station, month, static_cast<std::int64_t>(hours_known(hours)),
                    sha256_of(record.blob.bytes)};
    target.writer.put(tables::kind_named("weather-blocks"), record,
                      correct ? target.options.correct_because : "more hours arrived");
    target.report.added += added;
    target.report.corrected += corrected;
}

/// Rows of the table that speak of the station.
long rows_of(const StationHours& station) {
    long rows = 0;
    for (const StationMonth& month : station.months) {
        rows += std::count_if(month.row.begin(), month.row.end(), [](std::int32_t row) { return row != 0; });
    }
    return rows;
}

/// A column that holds another unit than it is read in is refused as a whole: some of its rows would pass for weather.
/// Single spikes of a sensor stay a matter of their rows.
void require_temperatures(const WeatherTable& table, const WeatherForms& forms, const std::string& file) {
    constexpr double most_share_outside = 0.01, warmest_median_degc = 45.0;  // common practice, no source
    if (table.temperatures == 0 || forms.temperature != TemperatureUnit::degc) return;
    const double outside = static_cast<double>(table.temperatures_outside) / static_cast<double>(table.temperatures);
    if (outside <= most_share_outside && !(table.median_temperature_degc > warmest_median_degc)) return;
    const std::string name = forms.names.at(static_cast<std::size_t>(forms.columns.temperature));
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

/// Hours that a working sensor would hardly have written are taken as they are and named: the reader decides.
void note_faults(const StationHours& station, std::vector<std::string>& notes) {
    constexpr std::size_t named = 5;
    std::size_t faults = 0;
    for (const StationMonth& month : station.months) {
        for (const models::WeatherFlag& flag : models::check_quality(month.hours)) {
            if (++faults <= named) notes.push_back("station " + station.station.station + ": " + flag.reason);
        }
    }
    if (faults > named) {
        notes.push_back("station " + station.station.station + ": " + std::to_string(faults - named) +
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
    if (map.offset && forms.columns.utc_offset_h != WeatherColumns::absent) {
        report.notes.push_back("column \"" + forms.names[static_cast<std::size_t>(forms.columns.utc_offset_h)] +
                               "\" says the clock of each row; the offset of the column map is not used");
    }
    const WeatherTable table = read_weather_table(text, report.file, forms, target.progress);
    if (!target.options.as_written && !target.typed_by_hand) require_temperatures(table, forms, report.file);
    report.rows = table.rows;
    report.refused = table.refused;
    report.notes.insert(report.notes.end(), table.notes.begin(), table.notes.end());
    for (const StationHours& hours : table.stations) note_faults(hours, report.notes);
    std::size_t done = 0;
    bool any_stored = false;
    for (const StationHours& hours : table.stations) {
        target.progress.step(fmt::format("{}: station {}", report.file, hours.station.station),
                             static_cast<double>(done++) / static_cast<double>(table.stations.size()));
        try {
            put_station(target, hours, map);
            put_elevation(target, hours.station);
        } catch (const RowRefusal& refusal) {
            target.refuse(0, refusal);
            report.refused.back().rows = rows_of(hours);
            continue;
        }
        any_stored = true;
        for (const StationMonth& month : hours.months) put_month(target, hours, month);
    }
    report.unchanged =
        any_stored ? std::max(0L, report.rows - report.added - report.corrected - rows_refused(report.refused)) : 0;
}

}  // namespace geo::importing
