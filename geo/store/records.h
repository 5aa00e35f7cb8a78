#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "geo/store/chain.h"
#include "geo/store/database.h"
#include "geo/tables/kind.h"

namespace geo {

/// What a table speaks of, by its columns. Where it has no column it says nothing: that is no difference to what is
/// there already.
struct Spoken {
    std::vector<bool> cells;      ///< one a stored column
    std::set<std::string> notes;  ///< names of the user's other columns
};

/// One record as the store keeps it: a cell for each of the kind's stored columns, in their order.
struct Record {
    std::vector<Value> cells;
    std::string notes = "{}";        ///< canonical JSON object of the user's other columns
    Blob blob;                       ///< outline as WKB, or the bytes of a weather block; empty for other kinds
    const Spoken* spoken = nullptr;  ///< of the table that it came from; null: everything is said
};

/// {"capacity_t":120.0,"bin":"7"}: keys sorted, no blanks, cells that hold nothing left out, "notes" where there are
/// any. What the chain keeps of a record; of bytes only their SHA-256, which is a cell.
std::string canonical_json(const tables::Kind& kind, const Record& record);

enum class Put {
    added,
    unchanged,  ///< the same was there
    corrected,  ///< a new version, with its reason
    differs,    ///< something else is there under this key, and no reason was given: nothing was done
};

struct PutResult {
    Put put = Put::added;
    std::string difference;      ///< "don_mg_per_kg is 0.42 there, here 0.5", of `differs` and `corrected`
    bool was_withdrawn = false;  ///< of `differs`: what was there is withdrawn, for the reason that `difference` holds
    bool only_adds = false;      ///< of `differs`: it says something only where nothing was said
};

/// The only way anything gets into a store: each record goes in together with its event. Use inside a transaction.
class RecordWriter {
 public:
    RecordWriter(Database& database, std::string actor);
    ~RecordWriter();

    /// What the events that follow belong to: an `import` event is made before the first of them.
    void begin_import(const std::string& payload);
    /// @param correct_because   empty: what is there already stays as it is
    /// @param added_because     kept with a record that is new; a new calibrator changes what past strips read
    PutResult put(const tables::Kind& kind, const Record& record, const std::string& correct_because = "",
                  const std::string& added_because = "");
    /// Ends a record without replacing it: one more version with the same content and the mark `withdrawn`. Its event
    /// names the reason and the event that it takes back. Nothing is deleted.
    /// @param record  as it stands (standing_record)
    void withdraw(const tables::Kind& kind, const Record& record, const std::string& reason);
    /// After a rollback of something that was put: finds the end of the chain again.
    void look_again();
    const std::string& actor() const { return actor_; }

 private:
    struct Statements;
    Statements& statements(const tables::Kind& kind);
    void insert(Statements& sql, const tables::Kind& kind, const Record& record, const std::string& payload_end,
                const std::string& reason, std::int64_t version, std::optional<std::int64_t> undoes);

    Database& database_;
    std::string actor_;
    Chain chain_;
    std::string pending_import_;
    std::int64_t import_event_ = 0;
    std::map<std::string, std::unique_ptr<Statements>> statements_;
};

/// Of two notes what the later table says; and what the earlier one said in columns that the later one does not have.
std::string notes_together(const std::string& earlier, const Record& later);

/// The record that stands under the keys of the one given; nullopt where there is none or it was withdrawn.
std::optional<Record> standing_record(Database& database, const tables::Kind& kind, const Record& with_keys);

/// SQL to read a kind: `SELECT` of the stored columns, then notes, then the blob as bytes where there is one.
std::string select_of(const tables::Kind& kind, const std::string& from);
/// Column names in double quotes, for `from` and `to` are words of SQL.
std::string quoted(const std::string& column);

}  // namespace geo
