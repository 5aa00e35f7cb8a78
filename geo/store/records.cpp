#include "geo/store/records.h"

#include <cassert>
#include <set>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "models/error.h"

namespace geo {

namespace {

nlohmann::json json_of(const Value& value) {
    return std::visit(
        [](const auto& held) -> nlohmann::json {
            using Held = std::decay_t<decltype(held)>;
            if constexpr (std::is_same_v<Held, std::monostate>)
                return nullptr;
            else if constexpr (std::is_same_v<Held, Blob>)
                return sha256_of(held.bytes);
            else
                return held;
        },
        value);
}

std::string in_words(const Value& value) {
    return std::visit(
        [](const auto& held) -> std::string {
            using Held = std::decay_t<decltype(held)>;
            if constexpr (std::is_same_v<Held, std::monostate>)
                return "empty";
            else if constexpr (std::is_same_v<Held, std::string>)
                return "\"" + held + "\"";
            else if constexpr (std::is_same_v<Held, Blob>)
                return fmt::format("{} bytes", held.bytes.size());
            else
                return fmt::format("{}", held);
        },
        value);
}

constexpr int before_cells = 4;  // of the last version: version, withdrawn, notes, event

/// Why the record of that event was corrected or withdrawn.
std::string reason_of(Database& database, std::int64_t event) {
    Statement row(database, "SELECT payload FROM event WHERE sequence = ?");
    row.with(event);
    if (!row.step()) return "";
    const auto payload = nlohmann::json::parse(row.text(0), nullptr, false);
    return payload.is_object() ? payload.value("reason", "") : "";
}

struct NoteDifference {
    std::string words;  ///< the first by name: "note soil is \"loam\" there, here \"clay\""; empty: none
    bool only_adds = true;
};

/// Of the user's other columns, as far as the record's table has them, those that differ.
NoteDifference note_difference(const std::string& there, const Record& record) {
    NoteDifference found;
    if (there == record.notes) return found;
    const auto old_notes = nlohmann::json::parse(there, nullptr, false);
    const auto new_notes = nlohmann::json::parse(record.notes, nullptr, false);
    std::set<std::string> names;
    for (const auto* notes : {&old_notes, &new_notes}) {
        for (const auto& [name, value] : notes->items()) {
            if (record.spoken != nullptr && record.spoken->notes.count(name) == 0) continue;
            if (old_notes.value(name, nlohmann::json()) == new_notes.value(name, nlohmann::json())) continue;
            names.insert(name);
            if (old_notes.contains(name)) found.only_adds = false;
        }
    }
    if (names.empty()) return found;
    const auto text = [&](const nlohmann::json& notes) {
        return notes.contains(*names.begin()) ? notes[*names.begin()].dump() : std::string("empty");
    };
    const std::size_t more = names.size() - 1;
    found.words = "note " + *names.begin() + " is " + text(old_notes) + " there, here " + text(new_notes);
    if (more > 0)
        found.words += more == 1 ? ", and 1 more note differs" : fmt::format(", and {} more notes differ", more);
    return found;
}

std::string joined(const std::vector<std::string>& parts, const std::string& between) {
    std::string text;
    for (const std::string& part : parts) text += (text.empty() ? "" : between) + part;
    return text;
}

}  // namespace

std::string quoted(const std::string& column) {
    return "\"" + column + "\"";
}

std::string canonical_json(const tables::Kind& kind, const Record& record) {
    nlohmann::json object = nlohmann::json::object();
    const auto columns = kind.stored();
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (!std::holds_alternative<std::monostate>(record.cells[i])) {
            object[columns[i]->name] = json_of(record.cells[i]);
        }
    }
    if (record.notes != "{}") object["notes"] = nlohmann::json::parse(record.notes);
    return object.dump();
}

std::string select_of(const tables::Kind& kind, const std::string& from) {
    std::vector<std::string> names;
    for (const tables::Column* column : kind.stored()) names.push_back(quoted(column->name));
    names.push_back("notes");
    if (kind.blob == "outline")
        names.push_back("outline_wkb(outline)");
    else if (!kind.blob.empty())
        names.push_back(quoted(kind.blob));
    return "SELECT " + joined(names, ", ") + " FROM " + from;
}

/// The two statements of one kind: the last version under a key, and one more version.
struct RecordWriter::Statements {
    Statement last;
    Statement insert;
    std::vector<const tables::Column*> columns;
    std::vector<std::size_t> keys;

    static std::string last_sql(const tables::Kind& kind) {
        std::vector<std::string> conditions, names;
        for (const tables::Column* column : kind.stored()) {
            names.push_back(quoted(column->name));
            if (column->is_key()) conditions.push_back(quoted(column->name) + " = ?");
        }
        return "SELECT version, withdrawn, notes, event, " + joined(names, ", ") + " FROM " + kind.table + " WHERE " +
               joined(conditions, " AND ") + " ORDER BY version DESC LIMIT 1";
    }
    static std::string insert_sql(const tables::Kind& kind) {
        std::vector<std::string> names = {"event", "version", "notes", "withdrawn"};
        std::vector<std::string> places = {"?", "?", "?", "?"};
        for (const tables::Column* column : kind.stored()) {
            names.push_back(quoted(column->name));
            places.push_back("?");
        }
        if (!kind.blob.empty()) {
            names.push_back(quoted(kind.blob));
            places.push_back(kind.blob == "outline" ? "ST_GeomFromWKB(?, 4326)" : "?");
        }
        return "INSERT INTO " + kind.table + " (" + joined(names, ", ") + ") VALUES (" + joined(places, ", ") + ")";
    }
    Statements(Database& database, const tables::Kind& kind)
        : last(database, last_sql(kind)), insert(database, insert_sql(kind)), columns(kind.stored()) {
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (columns[i]->is_key()) keys.push_back(i);
        }
    }
};

RecordWriter::RecordWriter(Database& database, std::string actor)
    : database_(database), actor_(std::move(actor)), chain_(database) {
    if (actor_.empty()) actor_ = name_of_user();
}

RecordWriter::~RecordWriter() = default;

void RecordWriter::begin_import(const std::string& payload) {
    pending_import_ = payload;
    import_event_ = 0;
}

void RecordWriter::look_again() {
    chain_.look_again();
    if (import_event_ > chain_.last_sequence()) import_event_ = 0;
}

RecordWriter::Statements& RecordWriter::statements(const tables::Kind& kind) {
    auto& found = statements_[kind.name];
    if (!found) found = std::make_unique<Statements>(database_, kind);
    return *found;
}

PutResult RecordWriter::put(const tables::Kind& kind, const Record& record, const std::string& correct_because,
                            const std::string& added_because) {
    Statements& sql = statements(kind);
    assert(record.cells.size() == sql.columns.size());
    sql.last.reset();
    int place = 0;
    for (const std::size_t key : sql.keys) sql.last.bind(++place, record.cells[key]);
    std::int64_t version = 1;
    PutResult result;
    if (sql.last.step()) {
        version = sql.last.whole(0) + 1;
        const bool withdrawn = sql.last.whole(1) != 0;
        result.only_adds = true;
        for (std::size_t i = 0; i < record.cells.size(); ++i) {
            if (record.spoken != nullptr && !record.spoken->cells[i]) continue;
            const Value there = sql.last.value(before_cells + static_cast<int>(i));
            if (there == record.cells[i]) continue;
            if (!std::holds_alternative<std::monostate>(there)) result.only_adds = false;
            if (!result.difference.empty()) result.difference += "; ";
            const std::string& name = sql.columns[i]->name;
            constexpr std::string_view of_bytes = "_sha256";
            if (name.ends_with(of_bytes)) {
                result.difference += "the " + name.substr(0, name.size() - of_bytes.size()) + " is another one";
            } else {
                result.difference += name + " is " + in_words(there) + " there, here " + in_words(record.cells[i]);
            }
        }
        if (const NoteDifference notes = note_difference(sql.last.text(2), record); !notes.words.empty()) {
            if (!result.difference.empty()) result.difference += "; ";
            result.difference += notes.words;
            result.only_adds = result.only_adds && notes.only_adds;
        }
        if (withdrawn) {
            result.was_withdrawn = true;
            result.difference = reason_of(database_, sql.last.whole(3));
            result.put = correct_because.empty() ? Put::differs : Put::corrected;
        } else {
            result.put = result.difference.empty() ? Put::unchanged
                         : correct_because.empty() ? Put::differs
                                                   : Put::corrected;
        }
    }
    sql.last.reset();
    if (result.put == Put::unchanged || result.put == Put::differs) return result;

    insert(sql, kind, record, "", result.put == Put::corrected ? correct_because : added_because, version,
           std::nullopt);
    return result;
}

void RecordWriter::withdraw(const tables::Kind& kind, const Record& record, const std::string& reason) {
    Statements& sql = statements(kind);
    sql.last.reset();
    int place = 0;
    for (const std::size_t key : sql.keys) sql.last.bind(++place, record.cells[key]);
    if (!sql.last.step()) throw models::Error("there is no such record to withdraw");
    const std::int64_t version = sql.last.whole(0) + 1, taken_back = sql.last.whole(3);
    sql.last.reset();
    insert(sql, kind, record, ",\"withdrawn\":true", reason, version, taken_back);
}

/// One version more and its event, together.
void RecordWriter::insert(Statements& sql, const tables::Kind& kind, const Record& record,
                          const std::string& payload_end, const std::string& reason, std::int64_t version,
                          std::optional<std::int64_t> undoes) {
    try {
        Savepoint both(database_);
        if (!pending_import_.empty() && import_event_ == 0) {
            import_event_ = chain_.append("import", actor_, pending_import_);
        }
        std::string payload = "{";
        if (import_event_ != 0) payload += "\"import\":" + std::to_string(import_event_) + ",";
        payload += "\"kind\":" + nlohmann::json(kind.name).dump();
        if (!reason.empty()) payload += ",\"reason\":" + nlohmann::json(reason).dump();
        payload += ",\"record\":" + canonical_json(kind, record) + ",\"version\":" + std::to_string(version) +
                   payload_end + "}";
        const std::int64_t event = chain_.append("record", actor_, payload, undoes);
        sql.insert.reset();
        sql.insert.bind(1, event);
        sql.insert.bind(2, version);
        sql.insert.bind(3, record.notes);
        sql.insert.bind(4, std::int64_t{undoes ? 1 : 0});
        int next = 4;
        for (const Value& cell : record.cells) sql.insert.bind(++next, cell);
        if (!kind.blob.empty()) sql.insert.bind(++next, record.blob);
        sql.insert.run();
        both.keep();
    } catch (...) {  // the savepoint took the events back, the end of the chain in memory has to follow
        look_again();
        throw;
    }
}

std::string notes_together(const std::string& earlier, const Record& later) {
    if (later.spoken == nullptr) return later.notes;
    auto notes = nlohmann::json::parse(earlier);
    for (const std::string& name : later.spoken->notes) notes.erase(name);
    notes.update(nlohmann::json::parse(later.notes));
    return notes.dump();
}

std::optional<Record> standing_record(Database& database, const tables::Kind& kind, const Record& with_keys) {
    const auto columns = kind.stored();
    std::vector<std::string> conditions;
    for (const tables::Column* column : columns) {
        if (column->is_key()) conditions.push_back(quoted(column->name) + " = ?");
    }
    Statement rows(database, select_of(kind, kind.view()) + " WHERE " + joined(conditions, " AND "));
    int place = 0;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i]->is_key()) rows.bind(++place, with_keys.cells[i]);
    }
    if (!rows.step()) return std::nullopt;
    Record record;
    for (std::size_t i = 0; i < columns.size(); ++i) record.cells.push_back(rows.value(static_cast<int>(i)));
    record.notes = rows.text(static_cast<int>(columns.size()));
    if (!kind.blob.empty()) record.blob.bytes = rows.bytes(static_cast<int>(columns.size()) + 1);
    return record;
}

}  // namespace geo
