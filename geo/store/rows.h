#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/tables/kind.h"
#include "geo/tables/words.h"
#include "models/calendar.h"

namespace geo {

/// The current records of one kind in the order of their keys, cell by cell under the names of their columns.
/// @throws models::Error  no kind, no column has this name
class Rows {
 public:
    Rows(Database& database, const char* kind, const std::string& condition = "")
        : Rows(database, tables::kind_named(kind), condition) {}
    Rows(Database& database, const tables::Kind& kind, const std::string& condition);
    bool next() { return statement_.step(); }
    std::string text(const char* name) const { return statement_.text(place(name)); }
    double number(const char* name) const { return statement_.number(place(name)); }
    double number(const char* name, double otherwise) const { return some_number(name).value_or(otherwise); }
    std::optional<double> some_number(const char* name) const { return statement_.optional_number(place(name)); }
    std::optional<std::int64_t> some_whole(const char* name) const { return statement_.optional_whole(place(name)); }
    int whole(const char* name) const { return static_cast<int>(statement_.whole(place(name))); }
    std::optional<bool> yes_no(const char* name) const {
        const auto value = some_whole(name);
        if (!value) return std::nullopt;
        return *value != 0;
    }
    std::optional<models::LocalDay> day(const char* name) const { return models::parse_day(text(name)); }
    std::optional<models::Stamp> stamp(const char* name) const { return models::parse_stamp(text(name)); }
    template <typename Enum>
    std::optional<Enum> some_word(const char* name) const {
        return words::meant_by<Enum>(text(name));
    }
    template <typename Enum>
    Enum word(const char* name, Enum otherwise) const {
        return some_word<Enum>(name).value_or(otherwise);
    }
    std::string bytes() const { return statement_.bytes(blob_); }
    /// A number that is kept among the notes; nullopt where there is none, or an earlier import let a word through.
    std::optional<double> noted_number(const char* name) const;
    /// A word that is kept among the notes; empty where there is none.
    std::string noted_text(const char* name) const;
    std::string notes() const { return statement_.text(blob_ - 1); }

 private:
    static std::string sql(const tables::Kind& kind, const std::string& condition);
    /// Cells are asked for in about the order of the columns: the next one is tried first.
    int place(std::string_view name) const;

    Statement statement_;
    std::vector<std::string> names_;
    mutable std::size_t next_ = 0;
    int blob_ = 0;
};

}  // namespace geo
