#include "app/table_text.h"

#include <algorithm>
#include <numeric>
#include <sstream>

namespace app {

namespace {

/// Letters of a UTF-8 text: bytes that do not continue one.
std::size_t letters(const std::string& text) {
    return static_cast<std::size_t>(std::count_if(
        text.begin(), text.end(), [](char byte) { return (static_cast<unsigned char>(byte) & 0xC0U) != 0x80U; }));
}

}  // namespace

TextTable::TextTable(const std::vector<std::string>& columns) {
    for (const std::string& column : columns) {
        const bool right = !column.empty() && column.front() == '>';
        columns_.push_back(right ? column.substr(1) : column);
        right_.push_back(right);
    }
}

void TextTable::row(std::vector<std::string> cells) {
    cells.resize(columns_.size());
    rows_.push_back(std::move(cells));
}

std::vector<std::size_t> TextTable::widths() const {
    std::vector<std::size_t> widths;
    for (std::size_t c = 0; c < columns_.size(); ++c) {
        std::size_t width = letters(columns_[c]);
        for (const auto& cells : rows_) width = std::max(width, letters(cells[c]));
        widths.push_back(width);
    }
    return widths;
}

std::string TextTable::text_of(const std::vector<std::size_t>& which, const std::vector<std::size_t>& widths) const {
    std::string out;
    const auto line = [&](const std::vector<std::string>& cells) {
        std::string text;
        for (const std::size_t c : which) {
            const std::string gap(widths[c] - letters(cells[c]), ' ');
            if (c != which.front()) text += "  ";
            text += right_[c] ? gap + cells[c] : cells[c] + gap;
        }
        text.erase(text.find_last_not_of(' ') + 1);
        out += text + "\n";
    };
    line(columns_);
    for (const auto& cells : rows_) line(cells);
    return out;
}

std::string TextTable::text() const {
    std::vector<std::size_t> all(columns_.size());
    std::iota(all.begin(), all.end(), std::size_t{0});
    return text_of(all, widths());
}

std::string TextTable::text_hanging(std::size_t width) const {
    const std::vector<std::size_t> wide = widths();
    std::size_t hang = 0;
    for (std::size_t c = 0; c + 1 < wide.size(); ++c) hang += wide[c] + 2;
    constexpr std::size_t least = 20;  // letters of a column that is worth breaking
    if (wide.empty() || hang + least > width) return text();
    std::string out;
    const auto line = [&](const std::vector<std::string>& cells) {
        std::string text;
        for (std::size_t c = 0; c + 1 < cells.size(); ++c) {
            const std::string gap(wide[c] - letters(cells[c]), ' ');
            text += (right_[c] ? gap + cells[c] : cells[c] + gap) + "  ";
        }
        text += wrapped_text(cells.back(), width, std::string(hang, ' ')).substr(hang);
        text.erase(text.find_last_not_of(" \n") + 1);
        out += text + "\n";
    };
    line(columns_);
    for (const auto& cells : rows_) line(cells);
    return out;
}

std::string TextTable::text_within(std::size_t width) const {
    const std::vector<std::size_t> wide = widths();
    if (wide.empty()) return text();
    std::string out;
    for (std::size_t next = 1; next < columns_.size() || out.empty();) {
        std::vector<std::size_t> which = {0};
        std::size_t used = wide.front();
        while (next < columns_.size() && (which.size() == 1 || used + 2 + wide[next] <= width)) {
            used += 2 + wide[next];
            which.push_back(next++);
        }
        out += (out.empty() ? "" : "\n") + text_of(which, wide);
    }
    return out;
}

std::string wrapped_text(const std::string& sentence, std::size_t width, const std::string& indent) {
    std::istringstream words(sentence);
    std::string out, line = indent, word;
    while (words >> word) {
        if (line.size() > indent.size() && letters(line) + 1 + letters(word) > width) {
            out += line + "\n";
            line = indent;
        }
        if (line.size() > indent.size()) line += ' ';
        line += word;
    }
    return out + line + "\n";
}

std::string hanging_text(const std::string& line, std::size_t hang, std::size_t width) {
    if (letters(line) <= width) return line + "\n";
    const std::string indent(hang, ' ');
    return line.substr(0, hang) + wrapped_text(line.substr(hang), width, indent).substr(hang);
}

}  // namespace app
