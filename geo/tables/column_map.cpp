#include "geo/tables/column_map.h"

#include <algorithm>
#include <cctype>
#include <functional>

#include <fmt/format.h>
#include <toml++/toml.h>

#include "geo/tables/csv.h"
#include "models/calendar.h"
#include "models/error.h"

namespace geo::tables {

namespace {

std::string lower_case(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return out;
}

std::string list_of(const std::vector<std::string>& names) {
    std::string list;
    for (const std::string& name : names) list += (list.empty() ? "" : ", ") + name;
    return list;
}

bool ends_in(std::string_view text, std::string_view tail) {
    return text.size() >= tail.size() && text.substr(text.size() - tail.size()) == tail;
}

/// A right line for each key that stands at the top of a column map.
const std::map<std::string, std::string, std::less<>>& examples() {
    static const std::map<std::string, std::string, std::less<>> lines = {
        {"kind", "kind = \"tests\""},
        {"separator", "separator = \";\" (or \",\", \"|\", \"tab\")"},
        {"encoding", fmt::format("encoding = \"{}\"", fmt::join(encodings(), "\" or \""))},
        {"decimal", "decimal = \",\" (or \".\")"},
        {"dates", "dates = \"day/month/year\" (or \"month/day/year\", \"year/month/day\")"},
        {"offset", "offset = \"+02:00\""},
        {"time_zone", "time_zone = \"Europe/Budapest\""},
        {"missing", "missing = [\"n.d.\", \"NA\"]"},
        {"columns", "[columns] on a line of its own, and below it sample = \"Sample no\""},
        {"fixed", "[fixed] on a line of its own, and below it stage = \"truck\""},
        {"words", "[words.crop] on a line of its own, and below it \"winter wheat\" = \"wheat\""},
        {"layer", "layer = \"parcels\""},
        {"reference_system", "reference_system = \"EPSG:25832\""},
        {"stamp_ends_hour", "stamp_ends_hour = true (or false)"},
        {"rain_accumulates", "rain_accumulates = true (or false)"},
        {"source", "source = \"grid\" (or \"station\")"},
    };
    return lines;
}

/// Reads the keys of a column map; a refusal names the key, the file, the line, and shows a line that is right.
struct Reader {
    std::string file;

    std::string where(const toml::source_region& region) const {
        return region.begin.line == 0 ? file : file + ", line " + std::to_string(region.begin.line);
    }
    /// @param key  of the top, whose right line is shown
    [[noreturn]] void refuse(const toml::node& node, const std::string& what, const std::string& key) const {
        throw models::Error(what, where(node.source()), "write " + examples().at(key));
    }
    std::string text(const toml::node& node, const std::string& name, const std::string& key) const {
        const auto value = node.value_exact<std::string>();
        if (!value) refuse(node, "\"" + name + "\" must be a text in quotes", key);
        return *value;
    }
    void known(const toml::key& key, const std::vector<std::string>& keys) const {
        if (std::find(keys.begin(), keys.end(), key.str()) != keys.end()) return;
        const std::string near = models::nearest_name(key.str(), keys);
        throw models::Error("\"" + std::string(key.str()) + "\" says nothing to a column map" +
                                (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                            where(key.source()), "use " + list_of(keys));
    }
    const toml::table& table(const toml::node& node, const std::string& name, const std::string& key) const {
        if (const toml::table* found = node.as_table()) return *found;
        refuse(node, "\"" + name + "\" must be a table", key);
    }
};

DayOrder day_order(const Reader& reader, const toml::node& node, const std::string& form) {
    const std::string plain = lower_case(form);
    const auto day = plain.find("day"), month = plain.find("month"), year = plain.find("year");
    constexpr auto none = std::string::npos;
    if (day != none && month != none && year != none) {
        if (day < month && month < year) return DayOrder::day_month_year;
        if (month < day && day < year) return DayOrder::month_day_year;
        if (year < month && month < day) return DayOrder::year_month_day;
    }
    reader.refuse(node, "dates = \"" + form + "\" is no form of dates", "dates");
}

struct KnownUnit {
    const char* unit;
    UnitChange change;
};

std::vector<KnownUnit> units_for(const std::string& column) {
    if (column == "don" || ends_in(column, "_mg_per_kg")) {
        return {{"mg/kg", {}}, {"ppm", {}}, {"ug/kg", {1, 1000}}, {"ppb", {1, 1000}}};
    }
    if (ends_in(column, "_degc")) return {{"degC", {}}, {"degF", {5, 9, -32}}, {"K", {1, 1, -273.15}}};
    if (ends_in(column, "_mm")) return {{"mm", {}}, {"inch", {25.4}}, {"cm", {10}}, {"m", {1000}}};
    if (ends_in(column, "_pct")) return {{"%", {}}, {"percent", {}}, {"fraction", {100}}};
    if (ends_in(column, "_per_t")) return {{"per t", {}}};
    if (ends_in(column, "_t_per_ha")) {
        return {{"t/ha", {}}, {"kg/ha", {1, 1000}}, {"dt/ha", {1, 10}}, {"lb/acre", {0.45359237, 404.68564224}}};
    }
    if (ends_in(column, "_t") || column == "tonnes") {
        return {{"t", {}}, {"kg", {1, 1000}}, {"lb", {0.45359237, 1000}}, {"short ton", {0.90718474}}};
    }
    if (ends_in(column, "_g")) return {{"g", {}}, {"kg", {1000}}, {"mg", {1, 1000}}, {"lb", {453.59237}}};
    if (ends_in(column, "_s")) return {{"s", {}}, {"min", {60}}};
    if (column == "share") return {{"fraction", {}}, {"%", {1, 100}}, {"percent", {1, 100}}};
    return {};
}

}  // namespace

UnitChange unit_change(const std::string& column, const std::string& unit) {
    std::vector<std::string> names;
    for (const KnownUnit& known : units_for(column)) {
        if (lower_case(known.unit) == lower_case(unit)) return known.change;
        names.emplace_back(known.unit);
    }
    if (column == "don" || ends_in(column, "_mg_per_kg")) {
        if (const auto divisor = don_divisor(unit)) return {1.0, *divisor};
    }
    if (names.empty()) throw models::Error("column " + column + " has no unit", "", "leave `unit` out");
    throw models::Error("\"" + unit + "\" is no known unit of " + column, "", "use " + list_of(names));
}

std::optional<double> don_divisor(std::string_view unit) {
    std::string plain = lower_case(unit);
    for (const char* micro : {"\xc2\xb5", "\xce\xbc"}) {  // the micro sign and the Greek letter
        if (const auto at = plain.find(micro); at != std::string::npos) plain.replace(at, 2, "u");
    }
    if (plain == "mg/kg" || plain == "ppm") return 1.0;
    if (plain == "ug/kg" || plain == "ppb") return 1000.0;
    return std::nullopt;
}

bool ColumnMap::is_missing(std::string_view cell) const {
    return cell.empty() || std::find(missing.begin(), missing.end(), cell) != missing.end();
}

ColumnMap ColumnMap::read(std::string_view text, const std::string& file) {
    const Reader reader{file};
    toml::table root;
    try {
        root = toml::parse(text, file);
    } catch (const toml::parse_error& error) {
        throw models::Error("this is no TOML: " + std::string(error.description()), reader.where(error.source()),
                            "see `lodicule import --help` for a column map that works");
    }
    ColumnMap map;
    map.content = std::string(text);
    std::vector<std::string> keys;
    for (const auto& [key, line] : examples()) keys.push_back(key);
    for (const auto& [key_node, node] : root) {
        reader.known(key_node, keys);
        const std::string key(key_node.str());
        if (key == "separator") {
            const std::string given = reader.text(node, key, key);
            if (given == "tab" || given == "\t")
                map.separator = '\t';
            else if (given == "," || given == ";" || given == "|")
                map.separator = given[0];
            else
                reader.refuse(node, "separator = \"" + given + "\" is no separator", key);
        } else if (key == "encoding") {
            map.encoding = reader.text(node, key, key);
            std::transform(map.encoding.begin(), map.encoding.end(), map.encoding.begin(),
                           [](char c) { return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c; });
            if (map.encoding != "utf-8" &&
                std::find(encodings().begin(), encodings().end(), map.encoding) == encodings().end())
                reader.refuse(node, "encoding = \"" + map.encoding + "\" is no set of letters that is known here", key);
        } else if (key == "decimal") {
            const std::string given = reader.text(node, key, key);
            if (given != "," && given != ".")
                reader.refuse(node, "decimal = \"" + given + "\" is no decimal mark", key);
            map.decimal = given[0];
        } else if (key == "dates") {
            map.days = day_order(reader, node, reader.text(node, key, key));
            map.other_days = true;
        } else if (key == "offset") {
            const std::string given = reader.text(node, key, key);
            const auto stamp = models::parse_stamp("2000-01-01T00:00" + given);
            if (!stamp) reader.refuse(node, "offset = \"" + given + "\" is no offset from UTC", key);
            map.offset = stamp->offset;
        } else if (key == "time_zone") {
            const std::string given = reader.text(node, key, key);
            try {
                map.zone.emplace(given);
            } catch (const models::Error& error) {
                throw models::Error(error.what_happened(), reader.where(node.source()), error.how_to_mend());
            }
        } else if (key == "missing") {
            const toml::array* words = node.as_array();
            if (words == nullptr) reader.refuse(node, "\"missing\" must be a list", key);
            for (const toml::node& word : *words) map.missing.push_back(reader.text(word, "missing", key));
        } else if (key == "stamp_ends_hour") {
            const auto given = node.value_exact<bool>();
            if (!given) reader.refuse(node, "\"stamp_ends_hour\" must be true or false, without quotes", key);
            map.stamp_ends_hour = *given;
        } else if (key == "rain_accumulates") {
            map.rain_accumulates = node.value_exact<bool>();
            if (!map.rain_accumulates) {
                reader.refuse(node, "\"rain_accumulates\" must be true or false, without quotes", key);
            }
        } else if (key == "source") {
            const std::string given = reader.text(node, key, key);
            if (given != "grid" && given != "station") {
                reader.refuse(node, "source = \"" + given + "\" is no source of weather", key);
            }
            map.from_grid = given == "grid";
        } else if (key == "columns") {
            for (const auto& [ours_node, theirs] : reader.table(node, key, key)) {
                const std::string ours(ours_node.str());
                map.places[ours] = reader.where(ours_node.source());
                if (const toml::table* more = theirs.as_table()) {
                    for (const auto& [inner, value] : *more) {
                        reader.known(inner, {"from", "unit"});
                        if (inner.str() == "from")
                            map.theirs[ours] = reader.text(value, "from", key);
                        else
                            map.units[ours] = reader.text(value, "unit", key);
                    }
                } else {
                    map.theirs[ours] = reader.text(theirs, ours, key);
                }
            }
        } else if (key == "fixed") {
            for (const auto& [ours, value] : reader.table(node, key, key)) {
                map.places[std::string(ours.str())] = reader.where(ours.source());
                map.fixed[std::string(ours.str())] = reader.text(value, std::string(ours.str()), key);
            }
        } else if (key == "words") {
            for (const auto& [ours_node, list] : reader.table(node, key, key)) {
                const std::string ours(ours_node.str());
                map.places[ours] = reader.where(ours_node.source());
                for (const auto& [their_word, our_word] : reader.table(list, "words." + ours, key)) {
                    map.words[ours][std::string(their_word.str())] =
                        reader.text(our_word, std::string(their_word.str()), key);
                }
            }
        } else if (key == "layer") {
            map.layer = reader.text(node, key, key);
        } else if (key == "reference_system") {
            map.reference_system = reader.text(node, key, key);
        }
    }
    if (map.offset && map.zone) {
        throw models::Error("the clock is said twice, by offset and by time_zone", file,
                            "leave one out: time_zone where the clock is set forward in spring, else offset");
    }
    for (const auto& [column, unit] : map.units) {
        if (column == "don" && don_divisor(unit)) continue;
        try {
            static_cast<void>(unit_change(column, unit));
        } catch (const models::Error& error) {
            throw models::Error(error.what_happened(), map.places.at(column), error.how_to_mend());
        }
    }
    return map;
}

}  // namespace geo::tables
