#include "app/commands/row_notes.h"

#include <algorithm>

#include <fmt/format.h>

#include "app/table_text.h"

namespace app::commands {

namespace {

/// a ... z, aa, ab ...
std::string letters_of(std::size_t place) {
    constexpr std::size_t letters = 26;
    std::string text(1, static_cast<char>('a' + place % letters));
    return place < letters ? text : letters_of(place / letters - 1) + text;
}

}  // namespace

std::string RowNotes::marks(const std::string& row, const std::vector<RowNote>& notes) {
    std::string text;
    for (const RowNote& note : notes) {
        auto told = std::find_if(told_.begin(), told_.end(), [&](const Told& of) { return of.words == note.words; });
        if (told == told_.end()) told = told_.insert(told_.end(), {note.words, {}});
        told->rows.push_back(note.of_row.empty() ? row : fmt::format("{} ({})", row, note.of_row));
        text += (text.empty() ? "" : ", ") + letters_of(static_cast<std::size_t>(told - told_.begin()));
    }
    return text;
}

std::string RowNotes::text() const {
    constexpr std::size_t most_named = 12;
    std::string text;
    for (std::size_t i = 0; i < told_.size(); ++i) {
        const Told& told = told_[i];
        std::string rows;
        for (std::size_t r = 0; r < told.rows.size() && r < most_named; ++r)
            rows += (rows.empty() ? "" : "; ") + told.rows[r];
        if (told.rows.size() > most_named) rows += fmt::format("; and {} more", told.rows.size() - most_named);
        const std::string mark = fmt::format("({}) ", letters_of(i));
        const std::string wrapped = wrapped_text(told.words + ": " + rows + ".", 100, std::string(mark.size(), ' '));
        text += mark + wrapped.substr(mark.size());
    }
    return text;
}

}  // namespace app::commands
