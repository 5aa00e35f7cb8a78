#pragma once

#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "geo/import.h"

namespace geo {

class Store;

/// A record before and after it was written, each as the row that `add_row` would take; no row where it did not stand.
/// With it a record is taken back, and made again, by records of the same kinds: nothing in a store is ever deleted.
struct RecordChange {
    using Row = std::vector<std::pair<std::string, std::string>>;
    std::string kind, name;  ///< "tests", "B260716-01"
    Row keys;
    std::optional<Row> before, after;
    bool has_own_columns = false;  ///< the user's own columns, which only an import can say
};
/// "test B260716-01 entered", "strip B260716-01 started", "load W26-41 corrected", "move M7 withdrawn"; in the language
/// that is spoken.
std::string in_words(const RecordChange& change);

/// As write_rows (geo/import.h), and tells what changed, in the order in which it was written. What stayed as it was is
/// left out.
/// @param reports  what write_rows says of each row; null: nobody asks
std::vector<RecordChange> write_and_tell(Store& store, const std::vector<RowToWrite>& rows,
                                         const std::string& actor = "", std::vector<ImportReport>* reports = nullptr);

/// Takes changes back, the last first, all of them or none: a record that was new is withdrawn, one that was corrected
/// is corrected back, one that was withdrawn stands again; each with the reason, as `lodicule add STORE KIND ...
/// --withdraw` and `--correct` would do it.
/// @throws models::Error  a record was changed since by somebody else; a strip that was read (it was run, whatever
///                        became of its result); what withdraw_row and add_row refuse. Then nothing is written
void take_back(Store& store, const std::vector<RecordChange>& changes, const std::string& reason,
               const std::string& actor = "");
/// The same forwards, after take_back.
void make_again(Store& store, const std::vector<RecordChange>& changes, const std::string& reason,
                const std::string& actor = "");

/// What take_back (`back`) or make_again would refuse of the records as they stand now, said before anything is written
/// and in the language that is spoken: what is written is English.
/// @throws models::Error  a record was changed since by somebody else; a strip that was read
void require_they_stand(Store& store, const std::vector<RecordChange>& changes, bool back);

/// Why these can never be taken back, whatever else is taken back before them; empty where they can. A strip that was
/// read was run: withdrawing its start would say that it was not.
std::string why_they_stay(const Store& store, const std::vector<RecordChange>& changes);

}  // namespace geo
