#include <algorithm>

#include <fmt/format.h>

#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "models/error.h"
#include "models/nearest_names.h"

/// Corrections and withdrawals: what was said stays, what is said of it now comes after it.
namespace geo {

namespace importing {

namespace {

std::string cell_in_words(const tables::Column& column, const Value& value) {
    const std::string text = tables::cell_text(column, value);
    return text.empty() ? "nothing" : text;
}

/// A test that is made void, or valid again, without its result being said anew.
void settle_reading(const tables::Kind& kind, Record& record) {
    Cells cells(kind, record);
    const bool is_void = cells.has("valid") && cells.whole("valid") == 0;
    if (is_void) cells.set("reading", std::string("void"));
    if (!is_void && cells.text("reading") == "void") {
        if (!cells.has("don_mg_per_kg") && cells.has("test_signal")) {
            cells.set("reading", std::string("value"));
            return;
        }
        throw RowRefusal{"don", "the test was void, and a valid one needs its result", "give don and unit, too"};
    }
}

}  // namespace

std::optional<Record> keep_the_rest(Target& target, const tables::Kind& kind, const RowReader& reader, Record& record) {
    if (target.options.correct_because.empty()) return std::nullopt;
    std::optional<Record> standing = standing_record(target.database, kind, record);
    const auto columns = kind.stored();
    if (!standing) {
        if (!target.typed_by_hand) return std::nullopt;
        const auto lacks = std::find_if(columns.begin(), columns.end(), [&](const tables::Column* column) {
            return column->need == tables::Need::required && !reader.speaks_of(*column);
        });
        if (lacks == columns.end()) return std::nullopt;  // all is said, as after a withdrawal
        const auto& names = target.known.names(kind.name);
        const std::string first = kind.columns.front().name, key = key_of(kind, record);
        const std::string near = models::nearest_name(key, {names.begin(), names.end()});
        throw RowRefusal{first,
                         "there is no " + first + " " + key + " to correct" +
                             (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                         "check the name; to add it, give " + (*lacks)->name + ", too"};
    }
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (!columns[i]->is_key() && !reader.speaks_of(*columns[i])) record.cells[i] = standing->cells[i];
    }
    if (kind.name == "tests") {
        if (reader.has_column("don") != reader.has_column("unit")) {
            const char* lacking = reader.has_column("don") ? "unit" : "don";
            throw RowRefusal{lacking, "a result is corrected together with its unit",
                             fmt::format("give {}, too", lacking)};
        }
        if (!reader.has_column("don")) settle_reading(kind, record);
    }
    record.notes = notes_together(standing->notes, record);
    record.spoken = nullptr;
    return standing;
}

void tell_correction(ImportReport& report, const tables::Kind& kind, const RowReader& reader, const Record& before,
                     const Record& after) {
    const auto columns = kind.stored();
    const std::string name = key_of(kind, after);
    for (std::size_t i = 0; i < columns.size(); ++i) {
        const tables::Column& column = *columns[i];
        if (column.is_key()) continue;
        if (before.cells[i] != after.cells[i]) {
            report.changed.push_back(fmt::format("{}: {}: {} -> {}", name, column.name,
                                                 cell_in_words(column, before.cells[i]),
                                                 cell_in_words(column, after.cells[i])));
        } else if (!reader.speaks_of(column) && !tables::cell_text(column, after.cells[i]).empty()) {
            const std::string kept = column.name + " " + tables::cell_text(column, after.cells[i]);
            if (std::find(report.kept.begin(), report.kept.end(), kept) == report.kept.end())
                report.kept.push_back(kept);
        }
    }
}

namespace {

/// Who speaks of the record: "test T17", or empty.
std::string who_names(Database& database, const tables::Kind& kind, const Record& record) {
    const auto columns = kind.stored();
    const std::string name = tables::cell_text(*columns.front(), record.cells.front());
    // Other fields' parts, and other steps of a contract, keep the name alive.
    Statement same(database,
                   "SELECT count(*) FROM " + kind.view() + " WHERE " + quoted(columns.front()->name) + " = ?");
    same.with(name);
    if (same.step() && same.whole(0) > 1) return "";
    for (const tables::Kind& other : tables::all_kinds()) {
        if (other.table.empty()) continue;
        for (const tables::Column* column : other.stored()) {
            const bool place = other.name == "moves" && (kind.name == "loads" || kind.name == "bins") &&
                               (column->name == "from" || column->name == "to");
            const bool block = other.name == "weather-blocks" && kind.name == "stations" && column->name == "station";
            if (column->refers != kind.name && !place && !block) continue;
            const std::string first = other.stored().front()->name;
            Statement rows(database, "SELECT " + quoted(first) + " FROM " + other.view() + " WHERE " +
                                         quoted(column->name) + " = ? ORDER BY 1 LIMIT 1");
            rows.with(name);
            if (rows.step()) return block ? "its weather" : first + " " + rows.text(0);
        }
    }
    return "";
}

void moves_must_stand_without(const Store& store, const std::string& name) {
    const std::vector<models::Bin> bins = store.bins();
    const std::vector<models::Load> loads = store.loads();
    std::vector<models::Move> moves = store.moves();
    const auto before = impossible_of(bins, loads, moves);
    std::erase_if(moves, [&](const models::Move& move) { return move.move == name; });
    for (const auto& [later, move] : impossible_of(bins, loads, moves)) {
        if (before.count(later) != 0) continue;
        throw models::Error(fmt::format("without it move {} could not have happened: {}", later, move.why),
                            "move " + name, fmt::format("withdraw or correct move {} first", later));
    }
}

}  // namespace

}  // namespace importing

std::string withdraw_row(Store& store, const std::string& kind_name,
                         const std::vector<std::pair<std::string, std::string>>& keys, const std::string& reason,
                         const std::string& actor) {
    const tables::Kind& kind = tables::kind_named(kind_name);
    if (!kind.importable || kind.name == "weather" || kind.table.empty()) {
        throw models::Error(
            "records of " + kind.name + " are not withdrawn one by one", "",
            kind.name == "weather" ? "correct the hour: lodicule add STORE weather ... --correct REASON" : "");
    }
    if (reason.find_first_not_of(" \t") == std::string::npos || !tables::is_utf8(reason)) {
        throw models::Error("a withdrawal needs its reason", "--withdraw", "say in a few words what was wrong");
    }
    const auto columns = kind.stored();
    Record wanted;
    wanted.cells.resize(columns.size());
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i]->need == tables::Need::key_or_empty) wanted.cells[i] = std::string();
    }
    for (const auto& [name, text] : keys) {
        const auto column = std::find_if(columns.begin(), columns.end(), [&name = name](const tables::Column* one) {
            return one->name == name && one->is_key();
        });
        if (column == columns.end()) {
            throw models::Error("\"" + name + "\" is no part of what a record of " + kind.name + " is known by", "",
                                "a withdrawal takes only the key, as in " + columns.front()->name + "=...");
        }
        std::optional<tables::CellRefusal> refusal;
        Value value = tables::read_cell(**column, text, {}, refusal);
        if (refusal) throw models::Error(refusal->what, "column " + name, refusal->mend);
        const auto place = static_cast<std::size_t>(column - columns.begin());
        if (!std::holds_alternative<std::monostate>(value)) wanted.cells[place] = std::move(value);
    }
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i]->name == "from_mg_per_kg" && std::holds_alternative<std::monostate>(wanted.cells[i])) {
            wanted.cells[i] = 0.0;
        }
        if (!columns[i]->is_key() || !std::holds_alternative<std::monostate>(wanted.cells[i])) continue;
        throw models::Error(columns[i]->name + " is required and not given", "", "add " + columns[i]->name + "=...");
    }
    Database& database = store.database();
    Transaction all(database);
    const auto standing = standing_record(database, kind, wanted);
    const std::string name = columns.front()->name + " " + importing::key_of(kind, wanted);
    if (!standing) {
        for (const Withdrawal& earlier : store.withdrawals()) {
            if (earlier.kind != kind.name || earlier.name != importing::key_of(kind, wanted)) continue;
            throw models::Error(
                name + " is withdrawn already: " + earlier.reason + " (" + earlier.actor + ", " + earlier.utc + ")", "",
                "nothing is left to do; to let it stand again, add it with --correct REASON");
        }
        importing::Known known(store);
        const auto& names = known.names(kind.name);
        const std::string near = models::nearest_name(importing::key_of(kind, wanted), {names.begin(), names.end()});
        throw models::Error("there is no " + name + " in the store", "",
                            near.empty() ? "check its name" : "did you mean \"" + near + "\"?");
    }
    if (const std::string other = importing::who_names(database, kind, *standing); !other.empty()) {
        throw models::Error(name + " cannot be withdrawn while " + other + " names it", "",
                            "withdraw or correct " + other + " first");
    }
    if (kind.name == "moves") importing::moves_must_stand_without(store, importing::key_of(kind, wanted));
    RecordWriter(database, actor).withdraw(kind, *standing, reason);
    all.commit();
    return name;
}

}  // namespace geo
