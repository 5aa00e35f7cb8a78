#include "geo/tables/cells.h"

#include <algorithm>
#include <charconv>
#include <cmath>

#include "models/calendar.h"
#include "models/error.h"
#include "models/spoken.h"

namespace geo::tables {

namespace {

using models::LocalDay;
using models::phrase;

std::string in_quotes(std::string_view text) {
    return "\"" + std::string(text) + "\"";
}

std::string listed(const std::vector<std::string>& names) {
    std::string list;
    for (const std::string& name : names) list += (list.empty() ? "" : ", ") + name;
    return list;
}

/// A number written with a point. nullopt with a refusal otherwise.
/// @param mend_no_number  what to write instead of what is none; empty: as in any table
std::optional<double> read_number(std::string_view cell, char decimal, std::optional<CellRefusal>& refusal,
                                  const std::string& mend_no_number = "") {
    std::string changed;
    std::string_view text = cell;
    if (decimal == ',' && text.find(',') != std::string_view::npos) {
        if (text.find('.') != std::string_view::npos) {
            refusal = CellRefusal{phrase("{} has a point and a comma", in_quotes(cell)),
                                  phrase("write it without marks between thousands")};
            return std::nullopt;
        }
        changed = std::string(text);
        std::replace(changed.begin(), changed.end(), ',', '.');
        text = changed;
    }
    if (!text.empty() && text.front() == '+') text.remove_prefix(1);
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error == std::errc{} && end == text.data() + text.size() && std::isfinite(value)) return value + 0.0;
    if (text.find(',') != std::string_view::npos && text.find_first_not_of("0123456789,.-") == std::string_view::npos) {
        std::string pointed(text);
        std::replace(pointed.begin(), pointed.end(), ',', '.');
        refusal = CellRefusal{phrase("{} has a decimal comma", in_quotes(cell)),
                              phrase("write {}, or give a column map with decimal = \",\"", pointed),
                              phrase("write {}", pointed)};
    } else if (error == std::errc::result_out_of_range) {
        refusal =
            CellRefusal{phrase("{} is too big or too small a number", in_quotes(cell)), phrase("check the number")};
    } else {
        refusal = CellRefusal{
            phrase("{} is no number", in_quotes(cell)),
            mend_no_number.empty()
                ? phrase(
                      "write a number with a point, or leave the cell empty; a word for missing values is named in a "
                      "column map: missing = [{}]",
                      in_quotes(cell))
                : mend_no_number,
            mend_no_number.empty() ? phrase("write a number with a point") : mend_no_number};
    }
    return std::nullopt;
}

std::string between(const Column& column) {
    const bool low = std::isfinite(column.least), high = std::isfinite(column.most);
    if (low && high) return phrase("it lies between {} and {}", number_text(column.least), number_text(column.most));
    if (low && column.least == 0.0) return phrase("it is never negative");
    return phrase("it is at least {}", number_text(column.least));
}

/// Takes up to `digits` digits from the front.
std::optional<int> take_digits(std::string_view& text, std::size_t least, std::size_t most) {
    int value = 0;
    std::size_t count = 0;
    while (count < most && count < text.size() && text[count] >= '0' && text[count] <= '9') {
        value = value * 10 + (text[count++] - '0');
    }
    if (count < least) return std::nullopt;
    text.remove_prefix(count);
    return value;
}

/// A day written in the map's order, with . / - between; takes it from the front.
std::optional<LocalDay> take_mapped_day(std::string_view& text, DayOrder order) {
    const auto first =
        take_digits(text, order == DayOrder::year_month_day ? 4 : 1, order == DayOrder::year_month_day ? 4 : 2);
    if (!first || text.empty()) return std::nullopt;
    const char mark = text.front();
    if (mark != '.' && mark != '/' && mark != '-') return std::nullopt;
    text.remove_prefix(1);
    const auto second = take_digits(text, 1, 2);
    if (!second || text.empty() || text.front() != mark) return std::nullopt;
    text.remove_prefix(1);
    const auto third =
        take_digits(text, order == DayOrder::year_month_day ? 1 : 4, order == DayOrder::year_month_day ? 2 : 4);
    if (!third) return std::nullopt;
    int y = *third, m = *second, d = *first;
    if (order == DayOrder::year_month_day) y = *first, d = *third;
    if (order == DayOrder::month_day_year) m = *first, d = *second;
    const std::chrono::year_month_day date{std::chrono::year{y}, std::chrono::month{static_cast<unsigned>(m)},
                                           std::chrono::day{static_cast<unsigned>(d)}};
    if (!date.ok()) return std::nullopt;
    return LocalDay{date};
}

std::string mended_day(const ColumnMap& map) {
    switch (map.days) {
        case DayOrder::day_month_year:
            return phrase("write it as day/month/year, as the column map says");
        case DayOrder::month_day_year:
            return phrase("write it as month/day/year, as the column map says");
        case DayOrder::year_month_day:
            break;
    }
    return phrase("write it as 2026-06-03, or give a column map with dates = \"day/month/year\"");
}

std::optional<LocalDay> read_day(std::string_view cell, const ColumnMap& map, std::optional<CellRefusal>& refusal) {
    if (const auto day = models::parse_day(cell)) return day;
    if (map.other_days) {
        std::string_view rest = cell;
        const auto day = take_mapped_day(rest, map.days);
        if (day && rest.empty()) return day;
    }
    refusal = CellRefusal{phrase("{} is no day of the calendar", in_quotes(cell)), mended_day(map),
                          map.other_days ? "" : phrase("write it as 2026-06-03")};
    return std::nullopt;
}

/// A time of the zone's clocks. Rows are no sequence here: a time that the clocks showed twice needs its offset.
std::optional<models::Stamp> stamp_of_zone(std::string_view cell, const TimeZone& zone, std::chrono::local_seconds wall,
                                           bool only_a_day, std::optional<CellRefusal>& refusal) {
    TimeZone::Moments moments = zone.moments_of(wall);
    const auto stamp = [&](std::chrono::sys_seconds utc) { return models::Stamp{utc, zone.offset_at(utc)}; };
    if (only_a_day) {  // where clocks are changed at midnight the day begins with what there is of it
        if (moments.count == 0) moments = zone.moments_of(wall + std::chrono::hours(1));
        if (moments.count > 0) return stamp(moments.at[0]);
        refusal = CellRefusal{phrase("{} never was: {}", in_quotes(cell), zone.skipped_in_words(wall)),
                              phrase("correct the day")};
        return std::nullopt;
    }
    if (moments.count == 1) return stamp(moments.at[0]);
    refusal =
        moments.count == 0
            ? CellRefusal{phrase("{} never was: {}", in_quotes(cell), zone.skipped_in_words(wall)),
                          phrase("correct the time; a clock that is not set forward in spring is named by its "
                                 "offset, in a column map with offset = \"+01:00\"")}
            : CellRefusal{phrase("{} may be either of two moments: {}", in_quotes(cell), zone.repeated_in_words(wall)),
                          phrase("write it with its offset, {} or {}", models::to_text(stamp(moments.at[0])),
                                 models::to_text(stamp(moments.at[1])))};
    return std::nullopt;
}

std::optional<models::Stamp> read_stamp(std::string_view cell, const ColumnMap& map,
                                        std::optional<CellRefusal>& refusal) {
    if (const auto stamp = models::parse_stamp(cell)) return stamp;
    std::string text(cell);
    if (map.other_days) {
        std::string_view rest = cell;
        if (const auto day = take_mapped_day(rest, map.days)) {
            text = models::to_text(*day) + (rest.empty() ? "T00:00" : "T" + std::string(rest.substr(1)));
            if (rest.size() >= 5 && rest[2] == ':') text.insert(11, "0");  // 9:05 is 09:05
        }
        if (const auto stamp = models::parse_stamp(text)) return stamp;
    }
    if (models::parse_stamp(text + "Z") || models::parse_stamp(text + "T00:00Z")) {
        const bool only_a_day = !models::parse_stamp(text + "Z");
        if (map.offset) {
            auto stamp = models::parse_stamp(text + (only_a_day ? "T00:00Z" : "Z"));
            stamp->utc -= *map.offset;
            stamp->offset = *map.offset;
            return stamp;
        }
        if (map.zone) {
            const auto written = models::parse_stamp(text + (only_a_day ? "T00:00Z" : "Z"));
            try {
                return stamp_of_zone(cell, *map.zone, std::chrono::local_seconds{written->utc.time_since_epoch()},
                                     only_a_day, refusal);
            } catch (const models::Error& beyond_its_rules) {
                refusal =
                    CellRefusal{phrase("{} is no known moment: {}", in_quotes(cell), beyond_its_rules.what_happened()),
                                beyond_its_rules.how_to_mend()};
                return std::nullopt;
            }
        }
        const std::string with_offset = text + (only_a_day ? "T12:00" : "") + "+02:00";
        refusal = CellRefusal{phrase("{} does not say which clock it was read on", in_quotes(cell)),
                              phrase("write it with its offset from UTC, {}, or give a column map with offset = "
                                     "\"+02:00\" or time_zone = \"Europe/Budapest\"",
                                     with_offset),
                              phrase("write it with its offset from UTC, {}", with_offset)};
        return std::nullopt;
    }
    refusal = CellRefusal{phrase("{} is no time", in_quotes(cell)), phrase("write it as 2026-06-03T14:05:00+02:00")};
    return std::nullopt;
}

}  // namespace

std::string number_text(double value) {
    char buffer[32];
    const auto end = std::to_chars(buffer, buffer + sizeof buffer, value).ptr;
    return {buffer, end};
}

Value read_cell(const Column& column, std::string_view cell, const ColumnMap& map,
                std::optional<CellRefusal>& refusal) {
    if (map.is_missing(cell)) return std::monostate{};
    std::string translated;
    if (const auto words = map.words.find(column.name); words != map.words.end()) {
        if (const auto found = words->second.find(cell); found != words->second.end()) {
            translated = found->second;
            cell = translated;
        }
    }
    switch (column.type) {
        case Type::text:
            return std::string(cell);
        case Type::number:
        case Type::whole: {
            auto value = read_number(cell, map.decimal, refusal);
            if (!value) return std::monostate{};
            if (const auto unit = map.units.find(column.name); unit != map.units.end()) {
                value = unit_change(column.name, unit->second)(*value);
            }
            if (*value < column.least || *value > column.most) {
                refusal = CellRefusal{phrase("{} is out of range", cell), between(column)};
                return std::monostate{};
            }
            if (column.type == Type::number) return *value;
            if (*value != std::floor(*value) || std::abs(*value) > 1e15) {
                refusal = CellRefusal{phrase("{} is no whole number", in_quotes(cell)),
                                      phrase("write a number without a fraction")};
                return std::monostate{};
            }
            return static_cast<std::int64_t>(*value);
        }
        case Type::day: {
            const auto day = read_day(cell, map, refusal);
            if (!day) return std::monostate{};
            return models::to_text(*day);
        }
        case Type::stamp: {
            const auto stamp = read_stamp(cell, map, refusal);
            if (!stamp) return std::monostate{};
            return models::to_text(*stamp);
        }
        case Type::yes_no: {
            for (const char* yes : {"yes", "true", "1", "Yes", "YES", "TRUE", "True"}) {
                if (cell == yes) return std::int64_t{1};
            }
            for (const char* no : {"no", "false", "0", "No", "NO", "FALSE", "False"}) {
                if (cell == no) return std::int64_t{0};
            }
            refusal = CellRefusal{phrase("{} is neither yes nor no", in_quotes(cell)), phrase("write yes or no")};
            return std::monostate{};
        }
        case Type::word: {
            if (std::find(column.words.begin(), column.words.end(), cell) != column.words.end())
                return std::string(cell);
            const std::string near = models::nearest_name(cell, column.words);
            refusal = CellRefusal{
                near.empty() ? phrase("{} is no known word", in_quotes(cell))
                             : phrase("{} is no known word; did you mean {}?", in_quotes(cell), in_quotes(near)),
                phrase("use {}", listed(column.words))};
            return std::monostate{};
        }
    }
    return std::monostate{};
}

std::optional<DonCell> read_don(std::string_view cell, std::string_view unit, const ColumnMap& map,
                                std::optional<CellRefusal>& refusal) {
    if (const auto words = map.words.find("don"); words != map.words.end()) {
        if (const auto found = words->second.find(cell); found != words->second.end()) cell = found->second;
    }
    DonCell don{"value", 0.0};
    std::string_view digits = cell;
    if (!digits.empty() && (digits.front() == '<' || digits.front() == '>')) {
        don.reading = digits.front() == '<' ? "below" : "above";
        digits.remove_prefix(1);
        while (!digits.empty() && digits.front() == ' ') digits.remove_prefix(1);
    }
    const auto value =
        read_number(digits, map.decimal, refusal, phrase("write a number, <0.2 for below the range, >6 for above it"));
    if (!value) {
        if (refusal && digits.empty())
            refusal = CellRefusal{phrase("{} has no number", in_quotes(cell)),
                                  phrase("write <0.2 for below the range, >6 for above it")};
        return std::nullopt;
    }
    if (*value < 0.0) {
        refusal = CellRefusal{phrase("{} is negative, and a content never is", cell),
                              phrase("write <0.2 for a result below the range")};
        return std::nullopt;
    }
    if (don.reading != "value" && *value == 0.0) {
        refusal = CellRefusal{phrase("{} names no bound", in_quotes(cell)),
                              phrase("write the end of the working range, <0.2")};
        return std::nullopt;
    }
    const auto divisor = don_divisor(unit);
    if (!divisor) {
        refusal = CellRefusal{
            unit.empty() ? phrase("the unit is missing") : phrase("{} is no known unit of DON", in_quotes(unit)),
            phrase("write mg/kg, ppm, ug/kg or ppb"), "", true};
        return std::nullopt;
    }
    don.don_mg_per_kg = *value / *divisor;
    return don;
}

std::string cell_text(const Column& column, const Value& value) {
    if (std::holds_alternative<std::monostate>(value)) return "";
    if (column.type == Type::yes_no) return std::get<std::int64_t>(value) != 0 ? "yes" : "no";
    if (const auto* text = std::get_if<std::string>(&value)) return *text;
    if (const auto* number = std::get_if<double>(&value)) return number_text(*number);
    if (const auto* whole = std::get_if<std::int64_t>(&value)) return std::to_string(*whole);
    return "";
}

std::string what_it_holds(const Column& column) {
    const bool low = std::isfinite(column.least), high = std::isfinite(column.most);
    std::string range;
    if (low && high)
        range = " from " + number_text(column.least) + " to " + number_text(column.most);
    else if (low)
        range = ", " + number_text(column.least) + " or more";
    switch (column.type) {
        case Type::text:
            return "text";
        case Type::number:
            return "number" + range;
        case Type::whole:
            return "whole number" + range;
        case Type::day:
            return "day, 2026-06-03";
        case Type::stamp:
            return "time, 2026-06-03T14:05:00+02:00";
        case Type::yes_no:
            return "yes or no";
        case Type::word: {
            return "one of " + listed(column.words);
        }
    }
    return "";
}

std::string format_text(const Kind& kind) {
    std::string page = kind.name + ": " + kind.sentence + "\n";
    for (const Column& column : kind.columns) {
        if (column.place == Place::store) continue;
        const bool required = column.need == Need::key || column.need == Need::required || column.place == Place::file;
        std::string line = "  " + column.name + (required ? " *" : "");
        line.resize(std::max<std::size_t>(line.size() + 2, 36), ' ');
        page += line + what_it_holds(column) + (column.meaning.empty() ? "" : " (" + column.meaning + ")") + "\n";
    }
    return page;
}

}  // namespace geo::tables
