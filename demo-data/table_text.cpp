#include "demo-data/table_text.h"

#include <fmt/format.h>

namespace demo {

std::string decimals(double value, int places) {
    std::string text = fmt::format("{:.{}f}", value, places);
    const bool is_nil = text.find_first_not_of("-0.") == std::string::npos;
    return is_nil && text[0] == '-' ? text.substr(1) : text;
}

std::string decimals(const std::optional<double>& value, int places) {
    return value ? decimals(*value, places) : "";
}

std::string day_cell(const std::optional<models::LocalDay>& day) {
    return day ? models::to_text(*day) : "";
}

std::string minute_cell(const models::Stamp& stamp) {
    const std::string text = models::to_text(stamp);  // 2026-07-14T12:06:00+02:00
    return text.substr(0, 16) + text.substr(19);
}

std::string csv_row(std::initializer_list<std::string> cells) {
    std::string row;
    for (const std::string& cell : cells) {
        if (&cell != cells.begin()) row += ',';
        if (cell.find_first_of(",\"\n") == std::string::npos) {
            row += cell;
            continue;
        }
        row += '"';
        for (const char letter : cell) row += letter == '"' ? std::string("\"\"") : std::string(1, letter);
        row += '"';
    }
    return row + '\n';
}

}  // namespace demo
