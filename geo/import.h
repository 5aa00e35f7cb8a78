#pragma once

#include <chrono>
#include <filesystem>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "models/error.h"
#include "models/progress.h"

namespace geo {

class Store;

/// One row that did not go in, in words: tests.csv, row 12, column don: "1,25" is no number; write 1.25 or give a
/// column map.
struct Refusal {
    std::string file;
    long row = 0;  ///< as a person counts: the header is row 1; 0 for the file as a whole
    std::string column;
    std::string what;
    std::string mend;
    long rows = 1;  ///< how many rows it keeps out: all those of a station that stands nowhere
};
std::string to_text(const Refusal& refusal);
long rows_refused(const std::vector<Refusal>& refusals);

struct ImportOptions {
    bool strict = false;          ///< one bad row refuses the file
    std::string column_map;       ///< path of a column map (TOML), or the name of one kept in the store
    std::string correct_because;  ///< not empty: rows that differ from what is there are corrections, with this reason
    bool as_written = false;      ///< values that look like another unit are meant as they stand
    std::string actor;            ///< who; empty: the name the operating system gives
    /// Of weather: its hours are a forecast that was made then. They are kept beside observed hours and never mix.
    std::optional<std::chrono::sys_seconds> forecast_made_utc{};
};

struct ImportReport {
    std::string kind, file;
    long rows = 0, added = 0, unchanged = 0, corrected = 0;
    std::vector<Refusal> refused;
    std::vector<std::string> notes;  ///< unknown columns kept as notes, accuracy of a transform, rings mended, ...
    /// What is odd in rows that went in all the same, in sentences without their full stop.
    std::vector<std::string> cautions;
    std::vector<std::string> names;  ///< of the records added or corrected, by their first key, in the file's order
    /// Of corrections, column by column: "S6: limit_id: EU-1 -> EU-2"; what nobody spoke of and stays: "purpose food".
    std::vector<std::string> changed, kept;
};

/// Brings one file in, as one transaction: afterwards either every good row is there or, on an Error, none. A
/// correction changes the columns that the file has; the others stay as they are.
/// @param kind  fields crops scouting stations weather samples tests kit-lots controls loads load-parts bins moves
/// limits contracts costs
/// @throws models::Error  file unreadable, required column missing, or a row refused under `strict`
ImportReport import_file(Store& store, const std::string& kind, const std::filesystem::path& file,
                         const ImportOptions& options = {}, const models::Progress& progress = {});

/// A row typed by hand that is refused: the words of the refusal, and the column that it is about, beside whose box a
/// form shows it.
class RowError : public models::Error {
 public:
    RowError(std::string column, std::string what_happened, std::string where, std::string how_to_mend)
        : models::Error(std::move(what_happened), std::move(where), std::move(how_to_mend)),
          column_(std::move(column)) {}
    const std::string& column() const { return column_; }  ///< empty: it is about the row as a whole

 private:
    std::string column_;
};

/// One row by hand: the same checks as a file of one row. A refusal is thrown as a RowError. A correction changes the
/// columns that are typed, of a record that is there; what is not typed stays, and `column=` or `column=-` clears.
ImportReport add_row(Store& store, const std::string& kind,
                     const std::vector<std::pair<std::string, std::string>>& values, const ImportOptions& options = {});

/// Ends a record that was wrong, found by its key columns. Its versions and this one stay in the chain of records; it
/// counts no more, and comes back only by a correction with a reason.
/// @returns  the name of the record that is withdrawn now
/// @throws models::Error  no such record; no reason; another record names it, or (of a move) a later move could not
/// have
///                        happened without it: withdraw that first; a column that is no key
std::string withdraw_row(Store& store, const std::string& kind,
                         const std::vector<std::pair<std::string, std::string>>& keys, const std::string& reason,
                         const std::string& actor = "");

/// A row of several that are made together.
struct RowToWrite {
    std::string kind;
    std::vector<std::pair<std::string, std::string>> values;  ///< of a withdrawal: the key columns
    std::string withdraw_because = {};                        ///< not empty: the record is withdrawn
    std::string correct_because = {};                         ///< it corrects a record that is there
};

/// Rows by hand, in their order, all of them or none: a truck's move and its state, a clock set right and its test.
/// @returns  of each what came of it; of a withdrawal nothing is said
/// @throws models::Error  what add_row or withdraw_row refuse of the first that is refused; then nothing is written
std::vector<ImportReport> write_rows(Store& store, const std::vector<RowToWrite>& rows, const std::string& actor = "");

std::vector<std::string> importable_kinds();

}  // namespace geo
