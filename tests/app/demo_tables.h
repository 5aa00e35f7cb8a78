#pragma once

#include <filesystem>
#include <fstream>
#include <map>
#include <sstream>
#include <string>
#include <vector>

#include "models/error.h"

/// The demo's committed files; a cell with a comma stands in quotes.
namespace tests::demo_data {

using Row = std::map<std::string, std::string>;

inline std::filesystem::path folder() {
    return std::filesystem::path(LODICULE_SOURCE_DIR) / "demo-data";
}

inline std::string text_of(const std::filesystem::path& path) {
    std::ifstream in(path, std::ios::binary);
    if (!in) throw models::Error("cannot be read", path.string());
    std::ostringstream text;
    text << in.rdbuf();
    return text.str();
}

inline std::vector<std::string> cells_of(const std::string& line) {
    std::vector<std::string> cells(1);
    bool quoted = false;
    for (const char letter : line) {
        if (letter == '"')
            quoted = !quoted;
        else if (letter == ',' && !quoted)
            cells.emplace_back();
        else
            cells.back() += letter;
    }
    return cells;
}

inline std::vector<Row> table(const std::string& name) {
    std::istringstream lines(text_of(folder() / name));
    std::string line;
    std::getline(lines, line);
    const std::vector<std::string> header = cells_of(line);
    std::vector<Row> rows;
    while (std::getline(lines, line)) {
        const std::vector<std::string> cells = cells_of(line);
        if (cells.size() != header.size()) throw models::Error("a row of another length", name + ": " + line);
        Row row;
        for (std::size_t i = 0; i < header.size(); ++i) row[header[i]] = cells[i];
        rows.push_back(row);
    }
    return rows;
}

inline double number(const Row& row, const char* column) {
    std::istringstream in(row.at(column));
    in.imbue(std::locale::classic());
    double value = 0.0;
    if (!(in >> value)) throw models::Error("no number", column);
    return value;
}

}  // namespace tests::demo_data
