#pragma once

#include <filesystem>
#include <functional>
#include <optional>
#include <string>
#include <vector>

#include "app/window/actions.h"
#include "geo/changes.h"

namespace app::window {

/// What is taken back by itself: where grain and tests are recorded, Ctrl+Z takes back records and nothing else, and
/// elsewhere choices alone (deeds_undone_in), so that no look at a map stands between a person and the last record.
enum class DeedSort { choice, records };

/// Something that was done in this sitting, and how it is taken back. A choice has the actions that go back and forth;
/// records have what they were before and after, and are taken back by further records (geo/changes.h), for a store
/// forgets nothing.
struct Deed {
    std::string what;                        ///< "season 2024 chosen", "test B260716-01 entered", as it was said then
    std::function<std::string()> says;       ///< the same in the language that is spoken now; empty: only as then
    std::optional<Action> back, again;       ///< of a choice
    std::vector<geo::RecordChange> changes;  ///< of records
    bool undone = false;
    std::string why_not;  ///< why it cannot be taken back, or done again; empty: it was not tried or it can
    bool passed = false;  ///< it was taken back, and something else was done since
    bool is_choice() const { return back.has_value(); }
    DeedSort sort() const { return is_choice() ? DeedSort::choice : DeedSort::records; }
    bool is_stuck() const { return passed || !why_not.empty(); }
};
DeedSort deeds_undone_in(Room room);
std::string in_words(const Deed& deed);
std::string why_not_in_words(const Deed& deed);  ///< empty: it can be taken back, or done again

/// What was done in this sitting, the newest last. The one place where all that writes from the window leaves what it
/// wrote: who has rows to write calls write() instead of geo::write_rows, and Ctrl+Z knows them.
class History {
 public:
    /// As geo::write_rows (geo/import.h); what it wrote is remembered.
    /// @param what  in words; empty: made from the last of the records, "test B260716-01 entered"
    /// @throws models::Error  what geo::write_rows refuses; then nothing is remembered either
    std::vector<geo::ImportReport> write(geo::Store& store, const std::vector<geo::RowToWrite>& rows,
                                         const std::string& actor = "", std::string what = "");
    void chosen(std::function<std::string()> says, Action back, Action again);

    /// What Ctrl+Z would take back, and Ctrl+Shift+Z do again; null where there is nothing. Passed over is what cannot
    /// be taken back.
    const Deed* next_back(DeedSort sort) const;
    const Deed* next_again(DeedSort sort) const;

    /// Takes it back: a choice by `act`, records in the store. A refusal is kept beside the deed.
    /// @returns  false where there is nothing, or it was refused
    bool take_back(DeedSort sort, const std::filesystem::path& store, const std::function<void(const Action&)>& act);
    bool do_again(DeedSort sort, const std::filesystem::path& store, const std::function<void(const Action&)>& act);

    /// How often something was written into the store from this window: records, and their being taken back.
    std::size_t writes() const { return writes_; }

    /// SHA-256 of the store's last record after the last of those writes; empty: there was none.
    const std::string& last_record() const { return last_record_; }

    const std::vector<Deed>& deeds() const { return deeds_; }
    /// What the last of those two came to, in words: "Taken back: test B260716-01 entered".
    const std::string& said() const { return said_; }
    /// Stands there until the next deed.
    void say(std::string sentence) { said_ = std::move(sentence); }

 private:
    void remember(Deed deed);
    std::optional<std::size_t> index_back(DeedSort sort) const, index_again(DeedSort sort) const;
    void wrote(const geo::Store& store);

    std::vector<Deed> deeds_;
    std::string said_;
    std::size_t writes_ = 0;
    std::string last_record_;
};

}  // namespace app::window
