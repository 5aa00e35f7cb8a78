#include "app/window/history.h"

#include <algorithm>
#include <utility>

#include <fmt/format.h>

#include "app/words.h"
#include "geo/check.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace app::window {

namespace {

// Kept in the store's chain, which reads the same whatever the language of the window.
constexpr const char* reason_back = "taken back in the window";
constexpr const char* reason_again = "done again in the window";

}  // namespace

DeedSort deeds_undone_in(Room room) {
    return room == Room::bench || room == Room::bins ? DeedSort::records : DeedSort::choice;
}

std::string in_words(const Deed& deed) {
    return deed.says ? deed.says() : deed.what;
}

std::string why_not_in_words(const Deed& deed) {
    return deed.passed ? spoken(words::history_passed) : deed.why_not;
}

std::vector<geo::ImportReport> History::write(geo::Store& store, const std::vector<geo::RowToWrite>& rows,
                                              const std::string& actor, std::string what) {
    Deed deed;
    std::vector<geo::ImportReport> reports;
    {
        const models::Translated english(nullptr);
        deed.changes = geo::write_and_tell(store, rows, actor, &reports);
    }
    if (deed.changes.empty()) return reports;
    wrote(store);
    if (what.empty()) deed.says = [last = deed.changes.back()] { return geo::in_words(last); };
    deed.what = what.empty() ? deed.says() : std::move(what);
    remember(std::move(deed));
    return reports;
}

void History::wrote(const geo::Store& store) {
    ++writes_;
    last_record_ = geo::end_of_chain(store).sha256;
}

void History::chosen(std::function<std::string()> says, Action back, Action again) {
    Deed deed;
    deed.says = std::move(says);
    deed.what = deed.says();
    deed.back = std::move(back);
    deed.again = std::move(again);
    remember(std::move(deed));
}

void History::remember(Deed deed) {
    // What was taken back before is not done again over something new of its sort; records that were stay in the list.
    if (deed.is_choice()) std::erase_if(deeds_, [](const Deed& one) { return one.undone && one.is_choice(); });
    for (Deed& one : deeds_) {
        if (one.undone && one.why_not.empty() && one.sort() == deed.sort()) one.passed = true;
        if (!one.undone) one.why_not.clear();  // it may have become possible
    }
    said_.clear();
    deeds_.push_back(std::move(deed));
    // The sitting of a long day: choices are forgotten first, records never.
    constexpr std::size_t most_choices = 200;
    const auto choices = static_cast<std::size_t>(
        std::count_if(deeds_.begin(), deeds_.end(), [](const Deed& one) { return one.is_choice(); }));
    if (choices > most_choices)
        deeds_.erase(std::find_if(deeds_.begin(), deeds_.end(), [](const Deed& one) { return one.is_choice(); }));
}

std::optional<std::size_t> History::index_back(DeedSort sort) const {
    for (std::size_t i = deeds_.size(); i-- > 0;)
        if (deeds_[i].sort() == sort && !deeds_[i].undone && !deeds_[i].is_stuck()) return i;
    return std::nullopt;
}

std::optional<std::size_t> History::index_again(DeedSort sort) const {
    // Taken back from the newest on: the one done first comes again first.
    for (std::size_t i = 0; i < deeds_.size(); ++i)
        if (deeds_[i].sort() == sort && deeds_[i].undone && !deeds_[i].is_stuck()) return i;
    return std::nullopt;
}

const Deed* History::next_back(DeedSort sort) const {
    const auto index = index_back(sort);
    return index ? &deeds_[*index] : nullptr;
}

const Deed* History::next_again(DeedSort sort) const {
    const auto index = index_again(sort);
    return index ? &deeds_[*index] : nullptr;
}

bool History::take_back(DeedSort sort, const std::filesystem::path& store,
                        const std::function<void(const Action&)>& act) {
    const auto index = index_back(sort);
    if (!index) return false;
    Deed& deed = deeds_[*index];
    if (deed.is_choice()) {
        act(*deed.back);
    } else {
        try {
            geo::Store file = geo::Store::open(store);
            geo::require_they_stand(file, deed.changes, true);
            const models::Translated english(nullptr);
            geo::take_back(file, deed.changes, reason_back);
            wrote(file);
        } catch (const models::Error& error) {
            deed.why_not = error.what();
            said_ = spoken(words::history_refused, in_words(deed), deed.why_not);
            return false;
        }
    }
    deed.undone = true;
    said_ = spoken(words::history_taken_back, in_words(deed));
    return true;
}

bool History::do_again(DeedSort sort, const std::filesystem::path& store,
                       const std::function<void(const Action&)>& act) {
    const auto index = index_again(sort);
    if (!index) return false;
    Deed& deed = deeds_[*index];
    if (deed.is_choice()) {
        act(*deed.again);
    } else {
        try {
            geo::Store file = geo::Store::open(store);
            geo::require_they_stand(file, deed.changes, false);
            const models::Translated english(nullptr);
            geo::make_again(file, deed.changes, reason_again);
            wrote(file);
        } catch (const models::Error& error) {
            deed.why_not = error.what();
            said_ = spoken(words::history_refused_again, in_words(deed), deed.why_not);
            return false;
        }
    }
    deed.undone = false;
    said_ = spoken(words::history_done_again, in_words(deed));
    return true;
}

}  // namespace app::window
