#pragma once

#include <deque>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "models/progress.h"

namespace geo::tables {

/// No cell of a table is longer: a note, not a document.
constexpr std::size_t longest_cell_bytes = 65536;

/// A table of text cells, as RFC 4180 has it: the first row names the columns, a cell in double quotes may hold the
/// separator, line ends and doubled quotes. The cells point into the text that was read.
class Csv {
 public:
    /// @param separator  nullopt: a comma, or a semicolon or tab where the first row has no comma at all
    /// @throws models::Error  the text is empty, is UTF-16, has bytes that are no UTF-8 (the row is named), has a quote
    ///                        that is never closed, or two columns of one name
    static Csv read(std::string text, const std::string& file, std::optional<char> separator = std::nullopt,
                    const models::Progress& progress = {});

    const std::vector<std::string>& header() const { return header_; }
    std::size_t rows() const { return starts_.size() - 1; }
    std::size_t cells(std::size_t row) const { return starts_[row + 1] - starts_[row]; }
    /// Without blanks around it; a quoted cell as it stands in the quotes.
    std::string_view cell(std::size_t row, std::size_t column) const { return cells_[starts_[row] + column]; }
    /// As a person counts: the header is row 1.
    long row_number(std::size_t row) const { return numbers_[row]; }
    char separator() const { return separator_; }
    const std::string& text() const { return text_; }

 private:
    std::string text_;
    std::deque<std::string> unquoted_;
    std::vector<std::string> header_;
    std::vector<std::string_view> cells_;
    std::vector<std::size_t> starts_;
    std::vector<long> numbers_;
    char separator_ = ',';
};

/// The letter sets beside UTF-8 that a table may be written in: those of European spreadsheets.
const std::vector<std::string>& encodings();
/// The bytes of a table in UTF-8.
/// @param encoding  one of encodings(), or empty or "utf-8": as it stands
/// @throws models::Error  a byte that is no letter of that set, with its row
std::string utf8_of(std::string bytes, const std::string& encoding, const std::string& file);

/// Throws where the text is no UTF-8, naming the row; drops a byte order mark.
void require_utf8(std::string& text, const std::string& file);
bool is_utf8(std::string_view text);

/// The cell as a CSV file has it: in quotes where it holds the separator, a quote, a line end, or blanks at an end.
std::string csv_cell(std::string_view text);

/// The whole file. @throws models::Error  it is not there, is a folder, or cannot be read
std::string read_text_file(const std::string& path);

}  // namespace geo::tables
