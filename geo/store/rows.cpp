#include "geo/store/rows.h"

#include <charconv>
#include <cmath>

#include <nlohmann/json.hpp>

#include "models/error.h"

namespace geo {

Rows::Rows(Database& database, const tables::Kind& kind, const std::string& condition)
    : statement_(database, sql(kind, condition)) {
    for (const tables::Column* column : kind.stored()) names_.push_back(column->name);
    blob_ = static_cast<int>(names_.size()) + 1;
}

std::string Rows::noted_text(const char* name) const {
    const auto notes = nlohmann::json::parse(this->notes());
    const auto found = notes.find(name);
    return found == notes.end() || !found->is_string() ? std::string() : found->get<std::string>();
}

std::optional<double> Rows::noted_number(const char* name) const {
    const std::string text = noted_text(name);
    double number = 0.0;
    const auto read = std::from_chars(text.data(), text.data() + text.size(), number);
    if (read.ec != std::errc{} || read.ptr != text.data() + text.size() || !std::isfinite(number)) return std::nullopt;
    return number;
}

std::string Rows::sql(const tables::Kind& kind, const std::string& condition) {
    std::string keys;
    for (const tables::Column* column : kind.stored()) {
        if (column->is_key()) keys += (keys.empty() ? "" : ", ") + quoted(column->name);
    }
    return select_of(kind, kind.view()) + (condition.empty() ? "" : " WHERE " + condition) + " ORDER BY " + keys;
}

int Rows::place(std::string_view name) const {
    for (std::size_t tried = 0; tried < names_.size(); ++tried) {
        const std::size_t here = (next_ + tried) % names_.size();
        if (names_[here] != name) continue;
        next_ = here + 1;
        return static_cast<int>(here);
    }
    throw models::Error("no column is called " + std::string(name));
}

}  // namespace geo
