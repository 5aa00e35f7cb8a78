#include "geo/tables/csv.h"

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <set>

#include <iconv.h>

#include "models/error.h"

namespace geo::tables {

namespace {

/// Where the first byte lies that is no UTF-8; npos where all is.
std::size_t first_bad_byte(std::string_view text) {
    const auto byte = [&](std::size_t i) { return static_cast<unsigned char>(text[i]); };
    std::size_t i = 0;
    while (i < text.size()) {
        const unsigned char lead = byte(i);
        if (lead < 0x80) {
            if (lead == 0) return i;
            ++i;
            continue;
        }
        std::size_t more = 0;
        std::uint32_t code = 0;
        if (lead >= 0xc2 && lead <= 0xdf)
            more = 1, code = lead & 0x1fU;
        else if (lead >= 0xe0 && lead <= 0xef)
            more = 2, code = lead & 0x0fU;
        else if (lead >= 0xf0 && lead <= 0xf4)
            more = 3, code = lead & 0x07U;
        else
            return i;
        if (i + more >= text.size()) return i;
        for (std::size_t k = 1; k <= more; ++k) {
            if ((byte(i + k) & 0xc0) != 0x80) return i;
            code = code << 6 | (byte(i + k) & 0x3fU);
        }
        const bool overlong = (more == 2 && code < 0x800) || (more == 3 && code < 0x10000);
        if (overlong || code > 0x10ffff || (code >= 0xd800 && code <= 0xdfff)) return i;
        i += more + 1;
    }
    return std::string_view::npos;
}

std::string_view trimmed(std::string_view text) {
    constexpr std::string_view blanks = " \t";
    const auto first = text.find_first_not_of(blanks);
    if (first == std::string_view::npos) return {};
    return text.substr(first, text.find_last_not_of(blanks) - first + 1);
}

char guess_separator(std::string_view header) {
    const auto has = [&](char letter) { return header.find(letter) != std::string_view::npos; };
    if (has(',')) return ',';
    if (has(';') && !has('\t')) return ';';
    if (has('\t') && !has(';')) return '\t';
    return ',';
}

}  // namespace

bool is_utf8(std::string_view text) {
    return first_bad_byte(text) == std::string_view::npos;
}

const std::vector<std::string>& encodings() {
    static const std::vector<std::string> names = {"windows-1252", "windows-1250", "iso-8859-1", "iso-8859-15",
                                                   "utf-16"};
    return names;
}

std::string utf8_of(std::string bytes, const std::string& encoding, const std::string& file) {
    if (encoding.empty() || encoding == "utf-8") return bytes;
    const iconv_t from = iconv_open("UTF-8", encoding.c_str());
    if (from == reinterpret_cast<iconv_t>(-1)) {
        throw models::Error("this machine does not know the letters of " + encoding, file,
                            "save the table as CSV in UTF-8");
    }
    constexpr std::size_t longest_letter = 4;  // of UTF-8, for a byte of any set here
    std::string text(bytes.size() * longest_letter + longest_letter, '\0');
    char* in = bytes.data();
    char* out = text.data();
    std::size_t left = bytes.size(), room = text.size();
    const bool whole = iconv(from, &in, &left, &out, &room) != static_cast<std::size_t>(-1);
    iconv_close(from);
    text.resize(text.size() - room);
    if (!whole) {
        const auto row = 1 + std::count(text.begin(), text.end(), '\n');
        throw models::Error("a byte that is no letter of " + encoding, file + ", row " + std::to_string(row),
                            "see in which letters the table was saved, or save it as CSV in UTF-8");
    }
    return text;
}

void require_utf8(std::string& text, const std::string& file) {
    const auto starts = [&](std::string_view with) { return std::string_view(text).substr(0, with.size()) == with; };
    const char* mend =
        "save the table as CSV in UTF-8, or name its letters in a column map: encoding = \"windows-1252\"";
    if (starts("\xff\xfe") || starts("\xfe\xff")) throw models::Error("the file is UTF-16", file, mend);
    if (starts("\xef\xbb\xbf")) text.erase(0, 3);
    const std::size_t bad = first_bad_byte(text);
    if (bad == std::string_view::npos) return;
    const auto row = 1 + std::count(text.begin(), text.begin() + static_cast<std::ptrdiff_t>(bad), '\n');
    const std::string where = file + ", row " + std::to_string(row);
    if (text[bad] == '\0') throw models::Error("a zero byte: this is UTF-16 or no text at all", where, mend);
    throw models::Error("a letter that is no UTF-8", where, mend);
}

std::string read_text_file(const std::string& path) {
    std::error_code error;
    if (!std::filesystem::exists(path, error)) throw models::Error("there is no such file", path);
    if (std::filesystem::is_directory(path, error)) throw models::Error("this is a folder, not a file", path);
    std::ifstream file(path, std::ios::binary);
    if (!file) throw models::Error("no right to read the file", path);
    std::string text;
    if (std::filesystem::is_regular_file(path, error)) {
        text.resize(std::filesystem::file_size(path, error));
        file.read(text.data(), static_cast<std::streamsize>(text.size()));
        text.resize(static_cast<std::size_t>(file.gcount()));
    } else {
        text.assign(std::istreambuf_iterator<char>(file), {});
    }
    if (file.bad()) throw models::Error("the file could not be read to its end", path);
    return text;
}

Csv Csv::read(std::string text, const std::string& file, std::optional<char> separator,
              const models::Progress& progress) {
    if (text.empty()) throw models::Error("the file is empty (0 bytes)", file, "give a table with a header row");
    Csv csv;
    require_utf8(text, file);
    csv.text_ = std::move(text);
    const std::string_view all = csv.text_;
    const std::string_view first_line = all.substr(0, std::min(all.find('\n'), all.size()));
    csv.separator_ = separator ? *separator : guess_separator(first_line);

    std::vector<std::string_view> row;
    long number = 0;
    bool header_read = false;
    std::size_t at = 0;
    while (at < all.size()) {
        row.clear();
        if (number++ % 4096 == 0) {
            progress.step("reading " + file, static_cast<double>(at) / static_cast<double>(all.size()));
        }
        bool end_of_row = false;
        while (!end_of_row) {
            // Blanks before an opening quote are forgiven.
            std::size_t start = at;
            while (start < all.size() && all[start] == ' ') ++start;
            if (start < all.size() && all[start] == '"') {
                std::string held;
                std::size_t from = start + 1;
                bool doubled = false;
                std::size_t quote = 0;
                while (true) {
                    quote = all.find('"', from);
                    if (quote == std::string_view::npos) {
                        throw models::Error("a quote is opened and never closed",
                                            file + ", row " + std::to_string(number),
                                            "close the quote, or double it where it is meant as a letter");
                    }
                    if (quote + 1 < all.size() && all[quote + 1] == '"') {
                        held.append(all.substr(from, quote + 1 - from));
                        from = quote + 2;
                        doubled = true;
                        continue;
                    }
                    break;
                }
                if (doubled) {
                    held.append(all.substr(from, quote - from));
                    csv.unquoted_.push_back(std::move(held));
                    row.emplace_back(csv.unquoted_.back());
                } else {
                    row.push_back(all.substr(start + 1, quote - start - 1));
                }
                at = quote + 1;
                while (at < all.size() && (all[at] == ' ' || all[at] == '\r')) ++at;
                if (at < all.size() && all[at] != csv.separator_ && all[at] != '\n') {
                    throw models::Error("letters follow a closing quote", file + ", row " + std::to_string(number),
                                        "put the whole cell in quotes, and double a quote that is meant as a letter");
                }
            } else {
                std::size_t end = at;
                while (end < all.size() && all[end] != csv.separator_ && all[end] != '\n') ++end;
                std::string_view cell = all.substr(at, end - at);
                if (!cell.empty() && cell.back() == '\r') cell.remove_suffix(1);
                row.push_back(trimmed(cell));
                at = end;
            }
            end_of_row = at >= all.size() || all[at] == '\n';
            ++at;
        }
        const bool blank = row.size() == 1 && row[0].empty();
        if (!header_read) {
            if (blank) continue;
            header_read = true;
            std::set<std::string> seen;
            for (const std::string_view name : row) {
                csv.header_.emplace_back(trimmed(name));
                if (!name.empty() && !seen.insert(csv.header_.back()).second) {
                    throw models::Error("two columns are called \"" + csv.header_.back() + "\"", file + ", row 1",
                                        "give each column a name of its own");
                }
            }
            csv.starts_.push_back(0);
            continue;
        }
        if (blank) continue;
        csv.cells_.insert(csv.cells_.end(), row.begin(), row.end());
        csv.starts_.push_back(csv.cells_.size());
        csv.numbers_.push_back(number);
    }
    if (!header_read) throw models::Error("the file is empty", file, "give a table with a header row");
    return csv;
}

std::string csv_cell(std::string_view text) {
    const bool plain = text.find_first_of(",;\t\"\r\n") == std::string_view::npos && trimmed(text) == text;
    if (plain) return std::string(text);
    std::string quoted = "\"";
    for (const char letter : text) {
        if (letter == '"') quoted += '"';
        quoted += letter;
    }
    return quoted + "\"";
}

}  // namespace geo::tables
