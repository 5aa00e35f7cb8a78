#pragma once

#include <cstring>
#include <string>
#include <string_view>
#include <vector>

namespace geo::weather_rows {

inline std::string_view trimmed(std::string_view text) {
    while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
    while (!text.empty() && (text.back() == ' ' || text.back() == '\t' || text.back() == '\r')) text.remove_suffix(1);
    return text;
}

/// Cuts a table into rows and a row into fields. Quoted fields may hold delimiters, doubled quotes and line ends.
class Rows {
 public:
    Rows(std::string_view text, char delimiter) : text_(text), delimiter_(delimiter) {
        if (text_.starts_with("\xEF\xBB\xBF")) at_ = 3;
    }

    bool next() {
        if (at_ >= text_.size()) return false;
        ++row_;
        fields_.clear();
        const char* begin = text_.data() + at_;
        const std::size_t left = text_.size() - at_;
        const auto* end = static_cast<const char*>(std::memchr(begin, '\n', left));
        const std::size_t length = end ? static_cast<std::size_t>(end - begin) : left;
        if (std::memchr(begin, '"', length)) {
            next_with_quotes();
            return true;
        }
        at_ += length + 1;
        std::string_view line(begin, length);
        for (;;) {
            const std::size_t cut = line.find(delimiter_);
            fields_.push_back(trimmed(line.substr(0, cut)));
            if (cut == std::string_view::npos) return true;
            line.remove_prefix(cut + 1);
        }
    }

    long row() const { return row_; }
    std::size_t position() const { return at_; }
    const std::vector<std::string_view>& fields() const { return fields_; }
    bool blank() const { return fields_.size() == 1 && fields_[0].empty(); }

 private:
    void next_with_quotes() {
        unquoted_.clear();
        std::vector<std::size_t> ends;
        bool quoted = false;
        for (; at_ < text_.size(); ++at_) {
            const char letter = text_[at_];
            if (letter == '"') {
                if (quoted && at_ + 1 < text_.size() && text_[at_ + 1] == '"') {
                    unquoted_ += '"';
                    ++at_;
                } else {
                    quoted = !quoted;
                }
            } else if (!quoted && letter == '\n') {
                break;
            } else if (!quoted && letter == delimiter_) {
                ends.push_back(unquoted_.size());
            } else {
                unquoted_ += letter;
            }
        }
        ++at_;
        ends.push_back(unquoted_.size());
        std::size_t begin = 0;
        for (const std::size_t end : ends) {
            fields_.push_back(trimmed(std::string_view(unquoted_).substr(begin, end - begin)));
            begin = end;
        }
    }

    std::string_view text_;
    char delimiter_;
    std::size_t at_ = 0;
    long row_ = 0;
    std::vector<std::string_view> fields_;
    std::string unquoted_;
};

}  // namespace geo::weather_rows
