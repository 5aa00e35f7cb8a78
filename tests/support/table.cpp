#include "tests/support/table.h"

#include <algorithm>
#include <charconv>
#include <fstream>
#include <limits>
#include <sstream>
#include <stdexcept>

namespace tests {

std::string read_text(const std::filesystem::path& file) {
    std::ifstream in(file, std::ios::binary);
    if (!in) throw std::runtime_error("cannot read " + file.string());
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

Table::Table(const std::filesystem::path& file) : file_(file.string()) {
    std::istringstream lines(read_text(file));
    std::string line;
    bool header = true;
    while (std::getline(lines, line)) {
        if (!line.empty() && line.back() == '\r') line.pop_back();
        if (line.empty()) continue;
        std::vector<std::string> cells;
        std::size_t begin = 0;
        for (;;) {
            const std::size_t end = line.find(',', begin);
            cells.push_back(line.substr(begin, end - begin));
            if (end == std::string::npos) break;
            begin = end + 1;
        }
        if (header)
            names_ = std::move(cells);
        else
            cells_.push_back(std::move(cells));
        header = false;
    }
}

int Table::column(std::string_view name) const {
    const auto found = std::find(names_.begin(), names_.end(), name);
    if (found == names_.end()) throw std::runtime_error(file_ + " has no column " + std::string(name));
    return static_cast<int>(found - names_.begin());
}

const std::string& Table::text(std::size_t row, std::string_view name) const {
    return cells_.at(row).at(static_cast<std::size_t>(column(name)));
}

double Table::number(std::size_t row, std::string_view name) const {
    const std::string& cell = text(row, name);
    if (cell.empty() || cell == "NA") return std::numeric_limits<double>::quiet_NaN();
    double value = 0.0;
    const auto [end, error] = std::from_chars(cell.data(), cell.data() + cell.size(), value);
    if (error != std::errc{} || end != cell.data() + cell.size()) {
        throw std::runtime_error(file_ + ": \"" + cell + "\" is no number");
    }
    return value;
}

}  // namespace tests
