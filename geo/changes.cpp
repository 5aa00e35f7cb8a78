#include "geo/changes.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/store/records.h"
#include "geo/store/store.h"
#include "geo/store/superseded_tests.h"
#include "geo/tables/cells.h"
#include "models/error.h"
#include "models/spoken.h"

namespace geo {

namespace changing {

namespace {

using Row = RecordChange::Row;

std::string value_in(const Row& row, const std::string& column) {
    const auto found = std::find_if(row.begin(), row.end(), [&](const auto& cell) { return cell.first == column; });
    return found == row.end() ? "" : found->second;
}

/// The key columns of a row; what may be left empty in a key is left out where it is.
Row keys_of(const tables::Kind& kind, const Row& row) {
    Row keys;
    for (const tables::Column* column : kind.stored()) {
        if (!column->is_key()) continue;
        if (const std::string value = value_in(row, column->name); !value.empty())
            keys.emplace_back(column->name, value);
    }
    return keys;
}

Record with_keys(const tables::Kind& kind, const Row& keys) {
    const auto columns = kind.stored();
    Record record;
    record.cells.resize(columns.size());
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const tables::Column& column = *columns[i];
        if (!column.is_key()) continue;
        if (column.need == tables::Need::key_or_empty) record.cells[i] = std::string();
        if (column.name == "from_mg_per_kg") record.cells[i] = 0.0;
        std::optional<tables::CellRefusal> refusal;
        Value value = tables::read_cell(column, value_in(keys, column.name), {}, refusal);
        if (!refusal && !std::holds_alternative<std::monostate>(value)) record.cells[i] = std::move(value);
    }
    return record;
}

std::string don_in_a_row(const tables::Kind& kind, const Record& record) {
    const auto columns = kind.stored();
    std::string reading, number;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i]->name == "reading") reading = tables::cell_text(*columns[i], record.cells[i]);
        if (columns[i]->name == "don_mg_per_kg") number = tables::cell_text(*columns[i], record.cells[i]);
    }
    if (number.empty()) return "";
    return (reading == "below" ? "<" : reading == "above" ? ">" : "") + number;
}

/// What is there now under these keys, as a row; and whether it has columns that are the user's own.
std::optional<Row> row_there(Database& database, const tables::Kind& kind, const Row& keys, bool* own_columns) {
    const auto record = standing_record(database, kind, with_keys(kind, keys));
    if (!record) return std::nullopt;
    const auto columns = kind.stored();
    const auto notes = nlohmann::json::parse(record->notes);
    if (own_columns != nullptr) {
        for (const auto& [name, value] : notes.items())
            if (kind.find(name) == nullptr) *own_columns = true;
    }
    Row row;
    const auto give = [&](const std::string& column, const std::string& value) {
        if (!value.empty()) row.emplace_back(column, value);
    };
    for (const tables::Column& column : kind.columns) {
        if (column.place == tables::Place::store) continue;
        if (column.place == tables::Place::note) {
            if (const auto found = notes.find(column.name); found != notes.end() && found->is_string())
                give(column.name, found->get<std::string>());
        } else if (column.place == tables::Place::file) {
            const std::string don = don_in_a_row(kind, *record);
            if (!don.empty()) give(column.name, column.name == "unit" ? "mg/kg" : don);
        } else {
            const auto at = std::find_if(columns.begin(), columns.end(),
                                         [&](const tables::Column* one) { return one->name == column.name; });
            if (at != columns.end())
                give(column.name,
                     tables::cell_text(column, record->cells[static_cast<std::size_t>(at - columns.begin())]));
        }
    }
    return row;
}

/// Of which records a row speaks: its own, and the sample that a test brings along.
struct Spoken {
    const tables::Kind* kind;
    Row keys;
};
std::vector<Spoken> spoken_of(const RowToWrite& row) {
    const tables::Kind& kind = tables::kind_named(row.kind);
    std::vector<Spoken> records;
    if (kind.name == "tests") {
        const bool brings_sample = std::any_of(row.values.begin(), row.values.end(),
                                               [&](const auto& cell) { return kind.find(cell.first) == nullptr; });
        const tables::Kind& samples = tables::kind_named("samples");
        if (brings_sample) records.push_back({&samples, keys_of(samples, row.values)});
    }
    records.push_back({&kind, keys_of(kind, row.values)});
    return records;
}

std::string name_of(const Row& keys) {
    std::string name;
    for (const auto& [column, value] : keys) name += (name.empty() ? "" : ", ") + value;
    return name;
}

std::string named(const RecordChange& change) {
    using models::word;
    static const std::vector<std::pair<std::string, models::Word>> names = {
        {"tests", word("test {}")},   {"strips", word("strip {}")},    {"samples", word("sample {}")},
        {"loads", word("load {}")},   {"moves", word("move {}")},      {"bins", word("bin {}")},
        {"fields", word("field {}")}, {"controls", word("control {}")}};
    for (const auto& [kind, name] : names)
        if (kind == change.kind) return fmt::format(fmt::runtime(models::spoken(name)), change.name);
    return tables::kind_named(change.kind).columns.front().name + " " + change.name;
}

void require_unchanged(Database& database, const RecordChange& change, const std::optional<Row>& from) {
    if (row_there(database, tables::kind_named(change.kind), change.keys, nullptr) == from) return;
    throw models::Error(models::phrase("{} was changed since by somebody else", named(change)), "",
                        models::phrase("look at it as it is now, and correct or withdraw it with its own reason"));
}

void require_may_go(const Store& store, const std::vector<RecordChange>& changes) {
    if (const std::string why = why_they_stay(store, changes); !why.empty())
        throw models::Error(why, "", models::phrase("its test is withdrawn or corrected instead"));
}

/// One after the other: a record may have changed twice.
std::vector<const RecordChange*> in_order(const std::vector<RecordChange>& changes, bool back) {
    std::vector<const RecordChange*> order;
    for (const RecordChange& change : changes) order.push_back(&change);
    if (back) std::reverse(order.begin(), order.end());
    return order;
}

/// The row that brings a record from one state to another.
RowToWrite step(const RecordChange& change, const std::optional<Row>& from, const std::optional<Row>& to,
                const std::string& reason) {
    if (!to) return {change.kind, change.keys, reason, ""};
    RowToWrite row{change.kind, *to, "", reason};
    if (!from) {
        if (change.has_own_columns)
            throw models::Error(named(change) + " has columns of your own, which would be lost", "",
                                "import it again from its table, with --correct REASON");
        // A void test, or one of signals alone, has no result, and says so.
        for (const char* column : {"don", "unit"})
            if (change.kind == "tests" && value_in(*to, column).empty()) row.values.emplace_back(column, "");
        return row;
    }
    for (const auto& [column, value] : *from)
        if (value_in(*to, column).empty()) row.values.emplace_back(column, "-");
    return row;
}

/// As import does after its last record, but for waiting: who reads beside (the season that is being worked out) holds
/// nobody up who writes. Where it cannot be done now the records are safe in the log, and it is done later.
void move_log_into(Database& database) {
    if (database.in_transaction()) return;
    try {
        database.run("PRAGMA wal_checkpoint(PASSIVE)");
    } catch (const models::Error&) {
    }
}

void bring(Store& store, const std::vector<RecordChange>& changes, bool back, const std::string& reason,
           const std::string& actor) {
    Database& database = store.database();
    Transaction together(database);
    if (back) require_may_go(store, changes);
    for (const RecordChange* change : in_order(changes, back)) {
        const std::optional<Row>& from = back ? change->after : change->before;
        const std::optional<Row>& to = back ? change->before : change->after;
        require_unchanged(database, *change, from);
        write_rows(store, {step(*change, from, to, reason)}, actor);
    }
    together.commit();
    move_log_into(database);
}

}  // namespace

}  // namespace changing

std::string in_words(const RecordChange& change) {
    const std::string record = changing::named(change);
    if (!change.after) return models::phrase("{} withdrawn", record);
    if (change.before) return models::phrase("{} corrected", record);
    return change.kind == "strips" ? models::phrase("{} started", record) : models::phrase("{} entered", record);
}

void require_they_stand(Store& store, const std::vector<RecordChange>& changes, bool back) {
    if (back) changing::require_may_go(store, changes);
    std::set<std::pair<std::string, std::string>> seen;  // what came before is as these leave it
    for (const RecordChange* change : changing::in_order(changes, back))
        if (seen.insert({change->kind, change->name}).second)
            changing::require_unchanged(store.database(), *change, back ? change->after : change->before);
}

std::vector<RecordChange> write_and_tell(Store& store, const std::vector<RowToWrite>& rows, const std::string& actor,
                                         std::vector<ImportReport>* reports) {
    Database& database = store.database();
    std::vector<RecordChange> all;
    Transaction together(database);
    for (const RowToWrite& row : rows) {
        std::vector<RecordChange> changes;
        for (auto& [kind, keys] : changing::spoken_of(row)) {
            RecordChange& change = changes.emplace_back();
            change.kind = kind->name;
            change.name = changing::name_of(keys);
            change.keys = keys;
            change.before = changing::row_there(database, *kind, keys, &change.has_own_columns);
        }
        for (ImportReport& report : write_rows(store, {row}, actor))
            if (reports != nullptr) reports->push_back(std::move(report));
        for (RecordChange& change : changes) {
            change.after = changing::row_there(database, tables::kind_named(change.kind), change.keys, nullptr);
            if (change.after != change.before) all.push_back(std::move(change));
        }
    }
    together.commit();
    changing::move_log_into(database);
    return all;
}

std::string why_they_stay(const Store& store, const std::vector<RecordChange>& changes) {
    for (const RecordChange& change : changes) {
        if (change.kind != "strips" || change.before || !change.after) continue;
        const auto is_its_own = [&](const models::Test& test) { return test.test == change.name; };
        const std::vector<models::Test> tests = store.tests(), superseded = superseded_tests(store);
        bool read = std::any_of(tests.begin(), tests.end(), is_its_own) ||
                    std::any_of(superseded.begin(), superseded.end(), is_its_own);
        for (const Withdrawal& one : store.withdrawals())
            read = read || (one.kind == "tests" && one.name == change.name);
        if (read) return models::phrase("strip {} was read, so it was run: its start stays", change.name);
    }
    return "";
}

void take_back(Store& store, const std::vector<RecordChange>& changes, const std::string& reason,
               const std::string& actor) {
    changing::bring(store, changes, true, reason, actor);
}

void make_again(Store& store, const std::vector<RecordChange>& changes, const std::string& reason,
                const std::string& actor) {
    changing::bring(store, changes, false, reason, actor);
}

}  // namespace geo
