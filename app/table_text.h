#pragma once

#include <string>
#include <vector>

namespace app {

/// A table for a terminal: columns as wide as they need to be, numbers to the right. Widths count letters, not bytes.
class TextTable {
 public:
    /// @param columns  headings; one that begins with '>' stands to the right, as numbers do
    explicit TextTable(const std::vector<std::string>& columns);
    void row(std::vector<std::string> cells);
    bool empty() const { return rows_.empty(); }
    std::string text() const;
    /// The last column is broken at blanks where a line would be wider, the rest of it under its beginning.
    std::string text_hanging(std::size_t width = 100) const;
    /// As narrow as can be: columns that do not fit stand in a block of their own below, each beginning with the first
    /// column again.
    std::string text_within(std::size_t width = 100) const;

 private:
    std::vector<std::size_t> widths() const;
    std::string text_of(const std::vector<std::size_t>& which, const std::vector<std::size_t>& widths) const;

    std::vector<std::string> columns_;
    std::vector<bool> right_;
    std::vector<std::vector<std::string>> rows_;
};

/// A line that fits as it is, else broken at blanks beyond its letter `hang`, with the rest under that letter. Ends in
/// a line break.
std::string hanging_text(const std::string& line, std::size_t hang, std::size_t width = 100);

/// A sentence broken into lines of at most `width` letters, each beginning with `indent`.
std::string wrapped_text(const std::string& sentence, std::size_t width = 100, const std::string& indent = "");

}  // namespace app
