#include "geo/store/records.h"

#include <cassert>

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
        names.push_back("ST_AsBinary(outline)");
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
        return "SELECT version, withdrawn, notes, " + joined(names, ", ") + " FROM " + kind.table + " WHERE " +
               joined(conditions, " AND ") + " ORDER BY version DESC LIMIT 1";
    }
    static std::string insert_sql(const tables::Kind& kind) {
        std::vector<std::string> names = {"event", "version", "notes"};
        std::vector<std::string> places = {"?", "?", "?"};
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

PutResult RecordWriter::put(const tables::Kind& kind, const Record& record, const std::string& correct_because) {
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
        for (std::size_t i = 0; i < record.cells.size(); ++i) {
            const Value there = sql.last.value(3 + static_cast<int>(i));
            if (there == record.cells[i]) continue;
            if (!result.difference.empty()) result.difference += "; ";
            const std::string& name = sql.columns[i]->name;
            constexpr std::string_view of_bytes = "_sha256";
            if (name.ends_with(of_bytes)) {
                result.difference += "the " + name.substr(0, name.size() - of_bytes.size()) + " is another one";
            } else {
                result.difference += name + " is " + in_words(there) + " there, here " + in_words(record.cells[i]);
            }
        }
        if (sql.last.text(2) != record.notes) {
            if (!result.difference.empty()) result.difference += "; ";
            result.difference += "the notes are " + sql.last.text(2) + " there, here " + record.notes;
        }
        if (!withdrawn) {
            result.put = result.difference.empty() ? Put::unchanged
                         : correct_because.empty() ? Put::differs
                                                   : Put::corrected;
        }
    }
    sql.last.reset();
    if (result.put == Put::unchanged || result.put == Put::differs) return result;

    try {
        Savepoint both(database_);
        if (!pending_import_.empty() && import_event_ == 0) {
            import_event_ = chain_.append("import", actor_, pending_import_);
        }
        std::string payload = "{";
        if (import_event_ != 0) payload += "\"import\":" + std::to_string(import_event_) + ",";
        payload += "\"kind\":" + nlohmann::json(kind.name).dump();
        if (result.put == Put::corrected) payload += ",\"reason\":" + nlohmann::json(correct_because).dump();
        payload += ",\"record\":" + canonical_json(kind, record) + ",\"version\":" + std::to_string(version) + "}";
        const std::int64_t event = chain_.append("record", actor_, payload);
        sql.insert.reset();
        sql.insert.bind(1, event);
        sql.insert.bind(2, version);
        sql.insert.bind(3, record.notes);
        int next = 3;
        for (const Value& cell : record.cells) sql.insert.bind(++next, cell);
        if (!kind.blob.empty()) sql.insert.bind(++next, record.blob);
        sql.insert.run();
        both.keep();
    } catch (...) {  // the savepoint took the events back, the end of the chain in memory has to follow
        look_again();
        throw;
    }
    return result;
}

}  // namespace geo
