#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace app::report {

/// Text made safe for a page.
std::string escaped(std::string_view text);
std::string base64(std::string_view bytes);

/// A table of a page with what a screen reader needs: caption, headings of columns and of rows.
class PageTable {
 public:
    struct Column {
        std::string heading;
        bool right = false;  ///< numbers stand to the right
        std::string css;     ///< class of its cells
    };
    PageTable(std::string caption, std::vector<Column> columns)
        : caption_(std::move(caption)), columns_(std::move(columns)) {}
    /// @param cells  HTML, one for each column; the first is the row's heading
    void row(const std::vector<std::string>& cells);
    bool empty() const { return rows_.empty(); }
    std::string html(const std::string& id) const;

 private:
    std::string caption_;
    std::vector<Column> columns_;
    std::string rows_;
};

/// A whole page around its body. Styles are inside; nothing is fetched and nothing runs.
std::string page(const std::string& title, const std::string& body);

}  // namespace app::report
