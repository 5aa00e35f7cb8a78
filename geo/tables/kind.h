#pragma once

#include <limits>
#include <string>
#include <string_view>
#include <vector>

#include "geo/store/database.h"

namespace geo::tables {

/// What a cell of a column may hold.
enum class Type {
    text,
    number,  ///< a decimal number with a point
    whole,
    day,    ///< 2026-06-03
    stamp,  ///< 2026-06-03T14:05:00+02:00, always with its offset
    yes_no,
    word,  ///< one of a short list
};

enum class Need {
    optional,
    required,
    key,           ///< required, and part of what tells one record from another
    key_or_empty,  ///< part of the key that may be left empty: the part of a field, the zone of a load
};

/// Where a column is: in the user's file and the store, only in the file (`don` and `unit` become a reading in mg/kg),
/// only in the store, or in the file and among the record's notes, where stores of every version have room for it: it
/// is checked as any other column and comes out again with the notes.
enum class Place { both, file, store, note };

/// One column, told once: reading a file, `add`, `export`, the help page and the store's rows all come from this.
struct Column {
    std::string name;
    Type type = Type::text;
    std::string meaning;  ///< for the help page, a few words
    Need need = Need::optional;
    Place place = Place::both;
    double least = -std::numeric_limits<double>::infinity();
    double most = std::numeric_limits<double>::infinity();
    std::vector<std::string> words;  ///< of Type::word; of a column that refers, what may stand in place of a name
    std::string refers;              ///< the kind whose first key this names: an unknown name is refused
    bool is_key() const { return need == Need::key || need == Need::key_or_empty; }
};

/// One kind of table: what `lodicule import STORE KIND` takes and `export` gives back.
struct Kind {
    std::string name;      ///< "load-parts"
    std::string table;     ///< in the store: "load_part"; its current records are the view "current_load_part"
    std::string sentence;  ///< what one row is
    std::vector<Column> columns;
    std::string blob;        ///< a column of bytes beside the others: "outline" or "content"
    bool importable = true;  ///< false: the program keeps these itself

    const Column* find(std::string_view column) const;
    std::vector<std::string> file_columns() const;
    /// The columns of the store's rows, in order, without record, event, version, notes (and what is in them) and
    /// bytes.
    std::vector<const Column*> stored() const;
    std::string view() const { return "current_" + table; }
};

/// Every kind of record, in an order in which they can be imported: names first, then what refers to them.
const std::vector<Kind>& all_kinds();

/// @throws models::Error  naming the nearest kind and all kinds
const Kind& kind_named(std::string_view name);

/// The columns of one kind as a page to read: name, what it holds, required or not, meaning.
std::string format_text(const Kind& kind);

/// "a number from 0 to 100", "one of: winter, spring", "a time with its offset, 2026-06-03T14:05:00+02:00"
std::string what_it_holds(const Column& column);

}  // namespace geo::tables
