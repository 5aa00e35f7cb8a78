#pragma once

#include <string>
#include <vector>

namespace app::commands {

/// What is said of one row of a table: words that other rows may share, and a few that are its own.
struct RowNote {
    std::string words;   ///< without their full stop
    std::string of_row;  ///< "0.6 km": told beside the row's name; may be empty
};

/// What the rows of a table say in words stands under it, each sentence once with the rows that it concerns, and the
/// rows have its letter: a table with sentences in its last column is as wide as the longest.
class RowNotes {
 public:
    /// @param row  its name, as the reader finds it in the table
    /// @returns  what stands in the row: "a, c"; empty where there are no notes
    std::string marks(const std::string& row, const std::vector<RowNote>& notes);
    /// "(a) there is no model for maize: P02; R03; R08.", the first twelve rows by name.
    std::string text() const;

 private:
    struct Told {
        std::string words;
        std::vector<std::string> rows;
    };
    std::vector<Told> told_;
};

}  // namespace app::commands
