#pragma once

#include <filesystem>
#include <string>
#include <string_view>
#include <vector>

namespace tests {

std::string read_text(const std::filesystem::path& file);

/// A plain CSV table for outside figures in tests: a header, commas, no quotes. It fails loudly where a column or a
/// number is not there.
class Table {
 public:
    explicit Table(const std::filesystem::path& file);

    std::size_t rows() const { return cells_.size(); }
    const std::vector<std::string>& names() const { return names_; }
    const std::string& text(std::size_t row, std::string_view column) const;
    double number(std::size_t row, std::string_view column) const;  ///< NaN for an empty cell or NA
    int column(std::string_view name) const;

 private:
    std::vector<std::string> names_;
    std::vector<std::vector<std::string>> cells_;
    std::string file_;
};

}  // namespace tests
