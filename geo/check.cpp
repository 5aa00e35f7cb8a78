#include "geo/check.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/outlines.h"
#include "geo/store/chain.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/schema.h"
#include "geo/store/store.h"
#include "geo/tables/kind.h"
#include "geo/weather_table.h"
#include "models/error.h"

namespace geo {

namespace {

constexpr std::size_t shortest_noted = 16;  // digits: 64 bits, more than anybody can meet by trying

ChainEnd end_of_chain(Database& database) {
    Statement last(database, "SELECT sequence, sha256 FROM event ORDER BY sequence DESC LIMIT 1");
    if (!last.step()) return {};
    return {last.whole(0), last.text(1)};
}

/// 1204 -> "1,204"
std::string grouped(std::int64_t count) {
    std::string digits = std::to_string(count);
    for (std::ptrdiff_t at = static_cast<std::ptrdiff_t>(digits.size()) - 3; at > 0; at -= 3) {
        digits.insert(static_cast<std::size_t>(at), 1, ',');
    }
    return digits;
}

/// "1,204 records", "1 record"
std::string grouped(std::int64_t count, const std::string& noun) {
    return grouped(count) + " " + noun + (count == 1 ? "" : "s");
}

/// First few of a list of complaints, for one line.
struct Complaints {
    std::vector<std::string> first;
    std::int64_t count = 0;
    void add(std::string complaint) {
        if (++count <= 3) first.push_back(std::move(complaint));
    }
    std::string text() const {
        std::string all;
        for (const std::string& one : first) all += (all.empty() ? "" : "; ") + one;
        if (count > 3) all += fmt::format("; and {} more", grouped(count - 3));
        return all;
    }
};

CheckFinding finding(std::string what, const Complaints& complaints, std::string good) {
    return {std::move(what), complaints.count == 0, complaints.count == 0 ? std::move(good) : complaints.text()};
}

CheckFinding check_file(Database& database) {
    Complaints wrong;
    Statement lines(database, "PRAGMA integrity_check(10)");
    while (lines.step()) {
        if (lines.text(0) != "ok") wrong.add(lines.text(0));
    }
    return finding("database file", wrong, "every page is sound");
}

/// Tables, views and triggers are those of a new store: nobody took a rule away.
CheckFinding check_rules(Database& database) {
    Complaints wrong;
    static const auto should = [] {
        const auto fresh = Database::in_memory();
        make_schema(*fresh, schema_files(), "check");
        return schema_objects(*fresh);
    }();
    const auto is = schema_objects(database);
    std::vector<std::string> missing, extra;
    std::set_difference(should.begin(), should.end(), is.begin(), is.end(), std::back_inserter(missing));
    std::set_difference(is.begin(), is.end(), should.begin(), should.end(), std::back_inserter(extra));
    for (const std::string& object : missing) wrong.add("missing or altered: " + object.substr(0, object.find(':')));
    for (const std::string& object : extra) {
        const std::string name = object.substr(0, object.find(':'));
        const bool altered = std::any_of(missing.begin(), missing.end(), [&](const std::string& other) {
            return other.substr(0, other.find(':')) == name;
        });
        if (!altered) wrong.add("not of this program: " + name);
    }
    Statement broken(database, "PRAGMA foreign_key_check");
    while (broken.step()) wrong.add("a record of " + broken.text(0) + " has no event");
    return finding("rules", wrong, fmt::format("{} tables, views, triggers and indexes as made", should.size()));
}

/// Each record says what its event says; nothing of the chain is left without its record.
CheckFinding check_chain(Database& database) {
    Complaints wrong;
    std::map<std::string, std::int64_t> told;  // kind -> records that the chain speaks of
    const std::string broken = verify_chain(database, [&](const Event& event) {
        if (event.action != "record") return;
        const auto payload = nlohmann::json::parse(event.payload, nullptr, false);
        if (payload.is_object() && payload.contains("kind") && payload["kind"].is_string()) {
            ++told[payload["kind"].get<std::string>()];
        }
    });
    if (!broken.empty()) wrong.add(broken);
    const ChainEnd end = end_of_chain(database);
    for (const tables::Kind& kind : tables::all_kinds()) {
        if (kind.table.empty()) continue;
        std::int64_t records = 0;
        std::string select = select_of(kind, kind.table + " JOIN event ON event.sequence = " + kind.table + ".event");
        select.insert(select.find("SELECT ") + 7, "event.sequence, event.payload, version, withdrawn, ");
        Statement rows(database, select);
        const auto columns = kind.stored();
        constexpr int before = 4;
        while (rows.step()) {
            ++records;
            Record record;
            for (std::size_t i = 0; i < columns.size(); ++i)
                record.cells.push_back(rows.value(before + static_cast<int>(i)));
            const int after = before + static_cast<int>(columns.size());
            record.notes = rows.text(after);
            if (!kind.blob.empty()) record.blob.bytes = rows.bytes(after + 1);
            const std::string name = fmt::format("record {} ({})", rows.whole(0), kind.name);
            const auto payload = nlohmann::json::parse(rows.text(1), nullptr, false);
            const auto is_json = [](const std::string& text) { return nlohmann::json::accept(text); };
            const auto said = [&payload](const char* key, const nlohmann::json& otherwise) {
                return payload.contains(key) ? payload[key] : otherwise;
            };
            if (!payload.is_object() || !payload.contains("record") || !is_json(record.notes) ||
                payload["record"].dump() != canonical_json(kind, record) || said("kind", "") != kind.name ||
                said("version", 0) != rows.whole(2) || said("withdrawn", false) != (rows.whole(3) != 0)) {
                wrong.add(name + " does not say what the chain says");
            }
            for (std::size_t i = 0; i < columns.size() && !kind.blob.empty(); ++i) {
                const auto* hash = std::get_if<std::string>(&record.cells[i]);
                const bool of_bytes = columns[i]->name == "outline_sha256" || columns[i]->name == "content_sha256";
                if (of_bytes && hash != nullptr && *hash != sha256_of(record.blob.bytes)) {
                    wrong.add(name + " holds other bytes than it had");
                }
            }
        }
        if (records != told[kind.name]) {
            wrong.add(fmt::format("the chain speaks of {} of {}, the store has {}", grouped(told[kind.name], "record"),
                                  kind.name, grouped(records)));
        }
    }
    return finding("chain of records", wrong,
                   grouped(end.records, "record") + ", unbroken, every row of every table as its record says");
}

/// A last hash that somebody noted earlier still stands in the chain, so nothing before it was cut off.
CheckFinding check_noted(Database& database, const std::string& noted) {
    Complaints wrong;
    Statement found(database, "SELECT sequence, utc FROM event WHERE sha256 LIKE ? || '%'");
    found.with(noted);
    if (!found.step()) {
        wrong.add("no record of this store carries the hash " + noted +
                  "; records that stood there when it was noted were taken away or altered, or this is another store");
        return finding("noted hash", wrong, "");
    }
    const std::int64_t sequence = found.whole(0), later = end_of_chain(database).records - sequence;
    return finding("noted hash", wrong,
                   fmt::format("it is the hash of record {} of {}; {}", grouped(sequence), found.text(1),
                               later == 0 ? "nothing came after it" : grouped(later, "record") + " came after it"));
}

CheckFinding check_geometry(Database& database) {
    Complaints wrong;
    std::int64_t outlines = 0;
    database.load_spatial_functions();
    Statement rows(database,
                   "SELECT field, part, ST_IsValid(outline), ST_SRID(outline), ST_GeometryType(outline) "
                   "FROM current_field_outline ORDER BY field, part");
    while (rows.step()) {
        ++outlines;
        const std::string name = "field " + rows.text(0) + (rows.text(1).empty() ? "" : ", part " + rows.text(1));
        if (rows.whole(2) != 1) wrong.add(name + " crosses itself");
        if (rows.whole(3) != 4326) wrong.add(name + " is not in EPSG:4326");
    }
    // Of SpatiaLite's dictionary of reference systems the store uses one entry.
    Statement system(database,
                     "SELECT 1 FROM geometry_columns AS outlines JOIN spatial_ref_sys AS system USING (srid) "
                     "WHERE outlines.f_table_name = 'field_outline' AND srid = 4326 AND system.auth_name = 'epsg' "
                     "AND system.auth_srid = 4326 AND system.proj4text LIKE '%+proj=longlat +datum=WGS84%'");
    if (!system.step()) wrong.add("the reference system of the outlines is not WGS 84 any more");
    // The index keeps single precision, rounded outwards; SpatiaLite's own check writes, which a look may not.
    const auto strays = database.whole(
        "SELECT (SELECT count(*) FROM idx_field_outline_outline) <> (SELECT count(*) FROM field_outline) "
        "OR EXISTS (SELECT 1 FROM field_outline WHERE record NOT IN (SELECT pkid FROM idx_field_outline_outline "
        "WHERE xmin <= MbrMinX(outline) AND xmax >= MbrMaxX(outline) AND ymin <= MbrMinY(outline) "
        "AND ymax >= MbrMaxY(outline)))");
    if (strays != 0) wrong.add("the spatial index does not agree with the outlines");
    return finding("geometry", wrong, grouped(outlines, "outline") + (outlines == 1 ? ", valid" : ", all valid"));
}

CheckFinding check_weather(Database& database) {
    Complaints wrong;
    std::int64_t blocks = 0, hours = 0;
    Statement rows(database,
                   "SELECT station, month, hours, content FROM current_weather_block ORDER BY station, month");
    while (rows.step()) {
        ++blocks;
        hours += rows.whole(2);
        const std::string bytes = rows.bytes(3), name = "station " + rows.text(0) + ", " + rows.text(1);
        try {
            const auto series = unpack_block({reinterpret_cast<const std::uint8_t*>(bytes.data()), bytes.size()});
            if (models::to_text(series.first_utc).substr(0, 7) != rows.text(1))
                wrong.add(name + " holds another month");
        } catch (const models::Error& error) {
            wrong.add(name + ": " + error.what_happened());
        }
    }
    Statement stray(database,
                    "SELECT DISTINCT station FROM current_weather_block "
                    "WHERE station NOT IN (SELECT station FROM current_station)");
    while (stray.step()) wrong.add("nothing says where station " + stray.text(0) + " stands");
    return finding("weather blocks", wrong, grouped(blocks, "station month") + ", " + grouped(hours, "hour"));
}

/// Names that records refer to are there.
CheckFinding check_references(Database& database) {
    Complaints wrong;
    for (const tables::Kind& kind : tables::all_kinds()) {
        for (const tables::Column* column : kind.stored()) {
            if (column->refers.empty() || kind.table.empty()) continue;
            const tables::Kind& other = tables::kind_named(column->refers);
            const std::string name = quoted(column->name), there = quoted(other.columns.front().name);
            Statement rows(database, "SELECT DISTINCT " + name + " FROM " + kind.view() + " WHERE " + name +
                                         " IS NOT NULL AND " + name + " <> '' AND " + name + " NOT IN (SELECT " +
                                         there + " FROM " + other.view() + ") ORDER BY 1");
            while (rows.step()) {
                if (std::find(column->words.begin(), column->words.end(), rows.text(0)) != column->words.end())
                    continue;
                wrong.add(kind.name + " speak of " + column->name + " \"" + rows.text(0) + "\", which is not there");
            }
        }
    }
    // A kit lot or a contract may be named before anybody says what it is.
    Complaints unknown;
    const auto may_name = [&](const char* kind_name, const char* column, const char* other_kind, const char* what) {
        const tables::Kind& kind = tables::kind_named(kind_name);
        const tables::Kind& other = tables::kind_named(other_kind);
        Statement rows(database, "SELECT " + quoted(column) + ", count(*) FROM " + kind.view() + " WHERE " +
                                     quoted(column) + " <> '' AND " + quoted(column) + " NOT IN (SELECT " +
                                     quoted(other.columns.front().name) + " FROM " + other.view() +
                                     ") GROUP BY 1 ORDER BY 1");
        while (rows.step()) {
            unknown.add(fmt::format("{} \"{}\" ({} of {})", what, rows.text(0), grouped(rows.whole(1)), kind.name));
        }
    };
    may_name("tests", "kit_lot", "kit-lots", "kit lot");
    may_name("strips", "kit_lot", "kit-lots", "kit lot");
    may_name("loads", "contract", "contracts", "contract");
    return finding("references", wrong,
                   unknown.count == 0 ? "every name that is used is there"
                                      : "every name that must be there is there; not in the store: " + unknown.text());
}

}  // namespace

ChainEnd end_of_chain(const Store& store) {
    return end_of_chain(store.database());
}

std::vector<OverlappingFields> overlapping_fields(const Store& store) {
    constexpr double least_share = 0.1;
    std::vector<OverlappingFields> found;
    store.database().load_spatial_functions();
    Statement rows(store.database(),
                   "SELECT a.field, b.field, ST_Area(ST_Intersection(a.outline, b.outline)), "
                   "min(ST_Area(a.outline), ST_Area(b.outline)) "
                   "FROM current_field_outline AS a "
                   "JOIN idx_field_outline_outline AS box ON box.xmin <= MbrMaxX(a.outline) "
                   "AND box.xmax >= MbrMinX(a.outline) AND box.ymin <= MbrMaxY(a.outline) "
                   "AND box.ymax >= MbrMinY(a.outline) "
                   "JOIN field_outline AS kept ON kept.record = box.pkid AND kept.field > a.field AND kept.part = '' "
                   "JOIN current_field_outline AS b ON b.record = kept.record "
                   "WHERE a.part = '' ORDER BY a.field, b.field");
    while (rows.step()) {
        const double share = rows.number(2) / rows.number(3);
        if (share > least_share) found.push_back({rows.text(0), rows.text(1), share});
    }
    return found;
}

std::string in_words(const std::vector<OverlappingFields>& fields) {
    constexpr std::size_t named = 3;
    std::string list;
    for (std::size_t i = 0; i < fields.size() && i < named; ++i) {
        list += fmt::format("{}{} and {} by {:.0f} %", i == 0 ? "" : ", ", fields[i].field, fields[i].other,
                            100.0 * fields[i].share);
    }
    if (fields.size() > named)
        list += fmt::format(" and {} more", grouped(static_cast<std::int64_t>(fields.size() - named)));
    return fmt::format("{} of fields overlap: {}", grouped(static_cast<std::int64_t>(fields.size()), "pair"), list);
}

std::vector<CheckFinding> check_store(Store& store, const std::string& noted_sha256) {
    if (!noted_sha256.empty() && (noted_sha256.size() < shortest_noted || noted_sha256.size() > 64 ||
                                  noted_sha256.find_first_not_of("0123456789abcdef") != std::string::npos)) {
        throw models::Error("\"" + noted_sha256 + "\" is no hash of a chain of records", "--expect",
                            "give the 64 digits (0 to 9, a to f) that `lodicule check` printed, or their first 16");
    }

    Database& database = store.database();
    std::vector<CheckFinding> findings = {check_file(database)};
    if (!findings.front().good) return findings;
    for (const auto check : {check_rules, check_chain, check_references, check_geometry, check_weather}) {
        findings.push_back(check(database));
    }
    if (!noted_sha256.empty()) findings.push_back(check_noted(database, noted_sha256));
    return findings;
}

}  // namespace geo
