#include "geo/import_rows.h"

#include <algorithm>
#include <cassert>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/tables/cells.h"
#include "models/error.h"

namespace geo::importing {

using tables::Column;
using tables::Need;
using tables::Place;

Cells::Cells(const tables::Kind& kind, Record& record) : columns_(kind.stored()), record_(record) {}

std::size_t Cells::place(const char* column) const {
    for (std::size_t i = 0; i < columns_.size(); ++i) {
        if (columns_[i]->name == column) return i;
    }
    assert(false && "a rule asks for a column that its kind does not have");
    return 0;
}
bool Cells::has(const char* column) const {
    const Value& value = record_.cells[place(column)];
    if (const auto* text = std::get_if<std::string>(&value)) return !text->empty();
    return !std::holds_alternative<std::monostate>(value);
}
std::string Cells::text(const char* column) const {
    const auto* text = std::get_if<std::string>(&record_.cells[place(column)]);
    return text == nullptr ? "" : *text;
}
double Cells::number(const char* column) const {
    return std::get<double>(record_.cells[place(column)]);
}
std::int64_t Cells::whole(const char* column) const {
    return std::get<std::int64_t>(record_.cells[place(column)]);
}
void Cells::set(const char* column, Value value) {
    record_.cells[place(column)] = std::move(value);
}

namespace {

std::string their_name_of(const tables::ColumnMap& map, const std::string& ours) {
    const auto renamed = map.theirs.find(ours);
    return renamed == map.theirs.end() ? ours : renamed->second;
}

/// A column map may only speak of columns that there are.
void check_map(const tables::ColumnMap& map, const tables::Kind& kind, const tables::Kind* beside) {
    for (const auto& [ours, where] : map.places) {
        if (kind.find(ours) != nullptr || (beside != nullptr && beside->find(ours) != nullptr)) continue;
        const std::string near = models::nearest_name(ours, kind.file_columns());
        throw models::Error("the column map speaks of \"" + ours + "\", which is no column of " + kind.name +
                                (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                            where,
                            "to the left of the = stands one of our columns, as in sample = \"Sample no\"; `lodicule "
                            "import --help` lists them");
    }
}

/// A content outside what grain holds and a test tells is more often one in another unit. Both bounds are common
/// practice and ours, no source; who means what he wrote says so.
void require_likely_content(const tables::DonCell& don, const std::string& column, std::string_view cell,
                            std::string_view unit) {
    constexpr double most_mg_per_kg = 100.0, least_mg_per_kg = 0.01;
    const double content = don.don_mg_per_kg;
    const std::string written = std::string(cell) + " " + std::string(unit);
    const std::string converted = unit == "mg/kg" ? written : written + fmt::format(" is {:.6g} mg/kg, which", content);
    if (content > most_mg_per_kg) {
        throw RowRefusal{column, converted + " is more DON than grain is found with (100 mg/kg)",
                         "if the result reads ppb or ug/kg, write unit=ppb; if it is right, say --as-written"};
    }
    if (content > 0.0 && content < least_mg_per_kg) {
        throw RowRefusal{column, converted + " is less DON than a test tells from none (0.01 mg/kg)",
                         "if the result reads ppm or mg/kg, write unit=ppm; if it is right, say --as-written"};
    }
}

}  // namespace

void require_short(const std::string& column, std::string_view cell) {
    if (cell.size() <= tables::longest_cell_bytes) return;
    throw RowRefusal{column,
                     "the cell holds " + std::to_string(cell.size()) + " bytes, and " +
                         std::to_string(tables::longest_cell_bytes) + " (64 KiB) are the most",
                     "shorten it; keep long texts in a file beside, and write that file's name"};
}

bool carries_samples(const tables::Csv& csv, const tables::ColumnMap& map) {
    const std::string stage = their_name_of(map, "stage");
    return map.fixed.count("stage") != 0 ||
           std::find(csv.header().begin(), csv.header().end(), stage) != csv.header().end();
}

RowReader::RowReader(const tables::Kind& kind, const tables::Csv& csv, const tables::ColumnMap& map,
                     const std::string& file, const Reading& reading, const tables::Kind* beside, bool keep_notes)
    : kind_(kind), csv_(csv), map_(map), reading_(reading) {
    const auto& header = csv.header();
    std::set<std::string> used;
    check_map(map, kind, beside);
    const auto is_there = [&](const char* ours) {
        return map.fixed.count(ours) != 0 ||
               std::find(header.begin(), header.end(), their_name_of(map, ours)) != header.end();
    };
    // A table of signals needs no results; one that has results needs their unit.
    const auto signals_stand_for = [&](const Column& column) {
        if (kind.name != "tests" || !is_there("test_signal")) return false;
        return column.name == "don" || (column.name == "unit" && !is_there("don"));
    };
    for (const Column& column : kind.columns) {
        if (column.place == Place::store) continue;
        Bound bound{&column, -1, "", column.name};
        const auto renamed = map.theirs.find(column.name);
        if (renamed != map.theirs.end()) bound.their_name = renamed->second;
        const auto found = std::find(header.begin(), header.end(), bound.their_name);
        if (found != header.end()) {
            bound.place = static_cast<int>(found - header.begin());
            used.insert(bound.their_name);
        } else if (const auto fixed = map.fixed.find(column.name); fixed != map.fixed.end()) {
            bound.fixed = fixed->second;
        } else if (renamed != map.theirs.end()) {
            const std::string near = models::nearest_name(renamed->second, header);
            throw models::Error("there is no column \"" + renamed->second + "\", which the column map names for " +
                                    column.name + (near.empty() ? "" : "; there is \"" + near + "\""),
                                file, "name the column as the file's first row has it");
        } else if (column.name == "unit" && map.units.count("don") != 0) {
            bound.fixed = map.units.at("don");
        } else if (column.name == "from_mg_per_kg") {
            bound.fixed = "0";
        } else if (signals_stand_for(column)) {
            continue;
        } else if (!reading.columns_may_lack && (column.need == Need::key || column.need == Need::required ||
                                                 column.name == "don" || column.name == "unit")) {
            std::vector<std::string> unclaimed;
            for (const std::string& name : header) {
                if (kind.find(name) == nullptr) unclaimed.push_back(name);
            }
            const std::string near = models::nearest_name(column.name, unclaimed);
            throw models::Error("the required column " + column.name + " is missing" +
                                    (near.empty() ? "" : "; \"" + near + "\" comes near"),
                                file,
                                near.empty() ? "add it, or name theirs in a column map (`--columns`)"
                                             : "call \"" + near + "\" " + column.name);
        } else {
            continue;
        }
        if (column.place == Place::note) spoken_.notes.insert(column.name);
        bound_.push_back(std::move(bound));
    }
    if (beside != nullptr) {
        for (const std::string& name : beside->file_columns()) used.insert(their_name_of(map, name));
    }
    for (std::size_t i = 0; i < header.size() && keep_notes; ++i) {
        if (header[i].empty() || used.count(header[i]) != 0) continue;
        unknown_.push_back(header[i]);
        note_columns_.emplace_back(static_cast<int>(i), header[i]);
        spoken_.notes.insert(header[i]);
    }
    for (const Column* column : kind.stored()) spoken_.cells.push_back(speaks_of(*column));
}

bool RowReader::has_column(const char* column) const {
    return std::any_of(bound_.begin(), bound_.end(), [&](const Bound& bound) { return bound.column->name == column; });
}

bool RowReader::speaks_of(const Column& column) const {
    const bool from_don = column.name == "reading" || column.name == "don_mg_per_kg";
    return has_column(from_don && column.place == Place::store ? "don" : column.name.c_str());
}

std::string_view RowReader::text_of(const Bound& bound, std::size_t row) const {
    if (bound.place < 0) return bound.fixed;
    return csv_.cell(row, static_cast<std::size_t>(bound.place));
}

void RowReader::read_don(std::size_t row, Cells& cells) const {
    std::string_view don, unit;
    std::string don_name = "don", unit_name = "unit";
    for (const Bound& bound : bound_) {
        if (bound.column->name == "don") don = text_of(bound, row), don_name = bound.their_name;
        if (bound.column->name == "unit") unit = text_of(bound, row), unit_name = bound.their_name;
    }
    const bool is_void = cells.has("valid") && cells.whole("valid") == 0;
    bool translated = false;
    if (const auto words = map_.words.find("don"); words != map_.words.end())
        translated = words->second.count(don) != 0;
    if (map_.is_missing(don) && !translated) {
        if (!is_void && cells.has("test_signal")) {  // the kit lot's curve says what it means, whenever it is asked
            cells.set("reading", std::string("value"));
            return;
        }
        if (!is_void) {
            throw RowRefusal{don_name, don.empty() ? "there is no result" : "\"" + std::string(don) + "\" is no result",
                             "write the number, <0.2 for below the range, >6 for above it; a void test has valid = no "
                             "and a void_reason"};
        }
        cells.set("reading", std::string("void"));
        return;
    }
    std::optional<tables::CellRefusal> refusal;
    const auto result = tables::read_don(don, unit, map_, refusal);
    if (refusal) {
        throw RowRefusal{refusal->of_unit ? unit_name : don_name, refusal->what, refusal->mend};
    }
    if (!is_void && !reading_.as_written) require_likely_content(*result, don_name, don, unit);
    cells.set("reading", is_void ? std::string("void") : result->reading);
    cells.set("don_mg_per_kg", result->don_mg_per_kg);
}

Record RowReader::read(std::size_t row) const {
    if (csv_.cells(row) != csv_.header().size()) {
        throw RowRefusal{"",
                         "the row has " + std::to_string(csv_.cells(row)) + " cells where the first row has " +
                             std::to_string(csv_.header().size()),
                         csv_.cells(row) > csv_.header().size()
                             ? "put a cell that holds the separator (1,25 or a sentence) in quotes, or write 1.25"
                             : "fill up the row with empty cells"};
    }
    for (std::size_t i = 0; i < csv_.cells(row); ++i) require_short(csv_.header()[i], csv_.cell(row, i));
    const auto columns = kind_.stored();
    Record record;
    record.cells.resize(columns.size());
    record.spoken = &spoken_;
    nlohmann::json notes = nlohmann::json::object();
    for (const Bound& bound : bound_) {
        if (bound.column->place == Place::file) continue;
        std::optional<tables::CellRefusal> refusal;
        Value value = tables::read_cell(*bound.column, text_of(bound, row), map_, refusal);
        if (refusal) throw RowRefusal{bound.their_name, refusal->what, refusal->mend};
        const bool nothing = std::holds_alternative<std::monostate>(value);
        if (bound.column->place == Place::note) {
            // As it is written, as notes are, where that is a number everywhere.
            const std::string written(text_of(bound, row));
            if (!nothing)
                notes[bound.column->name] = map_.decimal == '.' ? written : tables::cell_text(*bound.column, value);
            continue;
        }
        if (nothing && bound.column->name == "from_mg_per_kg")
            value = 0.0;
        else if (nothing && (bound.column->need == Need::key || bound.column->need == Need::required)) {
            throw RowRefusal{bound.their_name, "the cell is empty, and it is required", "fill it in"};
        }
        for (std::size_t i = 0; i < columns.size(); ++i) {
            if (columns[i] == bound.column) record.cells[i] = std::move(value);
        }
    }
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (columns[i]->need == Need::key_or_empty && std::holds_alternative<std::monostate>(record.cells[i])) {
            record.cells[i] = std::string();
        }
    }
    const bool by_signals = has_column("test_signal") && !has_column("don") && !reading_.columns_may_lack;
    if (kind_.name == "tests" && ((has_column("don") && has_column("unit")) || by_signals)) {
        Cells cells(kind_, record);
        read_don(row, cells);
    }
    for (const auto& [place, name] : note_columns_) {
        const std::string_view cell = csv_.cell(row, static_cast<std::size_t>(place));
        if (!cell.empty()) notes[name] = std::string(cell);
    }
    record.notes = notes.dump();
    return record;
}

}  // namespace geo::importing
