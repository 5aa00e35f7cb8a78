#pragma once

#include <optional>
#include <string>
#include <string_view>

#include "geo/store/database.h"
#include "geo/tables/column_map.h"
#include "geo/tables/kind.h"

namespace geo::tables {

/// A cell that cannot be understood: what is wrong with it and how to mend it, in the language that is spoken
/// (models/spoken.h): English wherever a table is read, the window's where a line is typed.
struct CellRefusal {
    std::string what, mend;
    std::string mend_typed = {};  ///< for who types one value and has no table; empty: the same
    bool of_unit = false;         ///< what is wrong is the unit of a DON cell, not its number
    const std::string& mend_of_typed() const { return mend_typed.empty() ? mend : mend_typed; }
};

/// One cell as its column wants it: the value, or nothing where the cell is empty; with `refusal` set where it is
/// wrong. Numbers have a point (or the map's decimal mark), never a comma, and are no NaN; days are 2026-06-03; times
/// carry their offset; a word is one of the list.
Value read_cell(const Column& column, std::string_view cell, const ColumnMap& map, std::optional<CellRefusal>& refusal);

/// What a DON cell says: 0.42, <0.2 or >6.
struct DonCell {
    std::string reading;  ///< value, below, above
    double don_mg_per_kg = 0.0;
};
std::optional<DonCell> read_don(std::string_view cell, std::string_view unit, const ColumnMap& map,
                                std::optional<CellRefusal>& refusal);

/// The shortest text that reads back as the same number.
std::string number_text(double value);
/// A stored cell as the file has it.
std::string cell_text(const Column& column, const Value& value);

}  // namespace geo::tables
