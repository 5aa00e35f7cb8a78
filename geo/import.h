#pragma once

#include <filesystem>
#include <string>
#include <utility>
#include <vector>

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
};
std::string to_text(const Refusal& refusal);

struct ImportOptions {
    bool strict = false;          ///< one bad row refuses the file
    std::string column_map;       ///< path of a column map (TOML), or the name of one kept in the store
    std::string correct_because;  ///< not empty: rows that differ from what is there are corrections, with this reason
    std::string actor;            ///< who; empty: the name the operating system gives
};

struct ImportReport {
    std::string kind, file;
    long rows = 0, added = 0, unchanged = 0, corrected = 0;
    std::vector<Refusal> refused;
    std::vector<std::string> notes;  ///< unknown columns kept as notes, accuracy of a transform, rings mended, ...
};

/// Brings one file in, as one transaction: afterwards either every good row is there or, on an Error, none.
/// @param kind  fields crops scouting stations weather samples tests kit-lots controls loads load-parts bins moves limits
/// contracts costs
/// @throws models::Error  file unreadable, required column missing, or a row refused under `strict`
ImportReport import_file(Store& store, const std::string& kind, const std::filesystem::path& file,
                         const ImportOptions& options = {}, const models::Progress& progress = {});

/// One row by hand: the same checks as a file of one row. A refusal is thrown as an Error.
ImportReport add_row(Store& store, const std::string& kind,
                     const std::vector<std::pair<std::string, std::string>>& values, const ImportOptions& options = {});

std::vector<std::string> importable_kinds();

}  // namespace geo
