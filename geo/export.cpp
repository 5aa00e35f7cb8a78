#include "geo/export.h"

#include <fstream>

#include <nlohmann/json.hpp>
#include <unistd.h>

#include "geo/export_files.h"
#include "geo/store/database.h"
#include "geo/store/records.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "geo/tables/csv.h"
#include "geo/whole_file.h"
#include "models/error.h"

namespace geo {

namespace exporting {

namespace fs = std::filesystem;

void write_whole(const fs::path& out, const std::function<void(const fs::path&)>& write) {
    refuse_special_file(out);
    const fs::path folder = out.has_parent_path() ? out.parent_path() : fs::path(".");
    if (!fs::is_directory(folder))
        throw models::Error("there is no folder " + folder.string(), out.string(), "make it first");
    const fs::path beside =
        folder / ("." + out.stem().string() + ".new" + std::to_string(::getpid()) + out.extension().string());
    std::error_code ignored;
    fs::remove(beside, ignored);
    try {
        write(beside);
        std::error_code error;
        fs::rename(beside, out, error);
        if (error) throw models::Error("the file could not be put in its place: " + error.message(), out.string());
    } catch (...) {
        fs::remove(beside, ignored);
        throw;
    }
}

void write_text(const fs::path& out, const std::string& text) {
    write_whole(out, [&](const fs::path& beside) {
        std::ofstream file(beside, std::ios::binary);
        if (!file) {
            throw models::Error("the folder cannot be written", out.string(), "give yourself the right to write there");
        }
        file.write(text.data(), static_cast<std::streamsize>(text.size()));
        file.close();
        if (!file) throw models::Error("the disk took no more", out.string(), "make room on it");
    });
}

}  // namespace exporting

namespace {

using tables::Column;
using tables::Place;

/// What `don` was, from what is kept of it.
std::string don_text(const std::string& reading, const Value& content) {
    const auto* number = std::get_if<double>(&content);
    if (number == nullptr) return "";
    const std::string mark = reading == "below" ? "<" : reading == "above" ? ">" : "";
    return mark + tables::number_text(*number);
}

ExportedText table_text(Database& database, const tables::Kind& kind) {
    const auto stored = kind.stored();
    std::string keys;
    for (const Column* column : stored) {
        if (column->is_key()) keys += (keys.empty() ? "" : ", ") + quoted(column->name);
    }
    // Everything the user's table held beside comes out as columns behind ours.
    std::vector<std::string> note_columns;
    Statement names(database, "SELECT DISTINCT key FROM " + kind.view() + ", json_each(notes) ORDER BY key");
    while (names.step()) note_columns.push_back(names.text(0));

    std::string text;
    for (const Column& column : kind.columns) {
        if (column.place == Place::store || column.place == Place::note) continue;
        text += (text.empty() ? "" : ",") + tables::csv_cell(column.name);
    }
    for (const std::string& name : note_columns) text += "," + tables::csv_cell(name);
    text += "\n";
    long count = 0;
    Statement rows(database, select_of(kind, kind.view()) + " ORDER BY " + keys);
    while (rows.step()) {
        ++count;
        const auto value_of = [&](const char* name) -> Value {
            for (std::size_t i = 0; i < stored.size(); ++i) {
                if (stored[i]->name == name) return rows.value(static_cast<int>(i));
            }
            return std::monostate{};
        };
        bool first = true;
        for (const Column& column : kind.columns) {
            if (column.place == Place::store || column.place == Place::note) continue;
            if (!first) text += ",";
            first = false;
            if (column.name == "don" && column.place == Place::file) {
                const Value reading = value_of("reading");
                text += tables::csv_cell(don_text(std::get<std::string>(reading), value_of("don_mg_per_kg")));
            } else if (column.name == "unit" && column.place == Place::file) {
                text += std::holds_alternative<double>(value_of("don_mg_per_kg")) ? "mg/kg" : "";
            } else {
                text += tables::csv_cell(tables::cell_text(column, value_of(column.name.c_str())));
            }
        }
        if (!note_columns.empty()) {
            const auto notes = nlohmann::json::parse(rows.text(static_cast<int>(stored.size())));
            for (const std::string& name : note_columns) {
                text += ",";
                if (notes.contains(name)) text += tables::csv_cell(notes[name].get<std::string>());
            }
        }
        text += "\n";
    }
    return {std::move(text), count};
}

const tables::Kind& exportable_kind(const std::string& name) {
    const tables::Kind& kind = tables::kind_named(name);
    if (!kind.importable) throw models::Error("\"" + name + "\" is kept by the program itself and is not exported");
    return kind;
}

WorkSystem work_system_of(const Store& store) {
    return store.work_system().value_or(WorkSystem(0.0, 0.0));
}

}  // namespace

ExportedText export_text(const Store& store, const std::string& kind_name) {
    const tables::Kind& kind = exportable_kind(kind_name);
    if (kind.name == "weather") return exporting::weather_text(store);
    if (kind.name != "fields") return table_text(store.database(), kind);
    const VectorLayer layer = exporting::fields_layer(store);
    return {geojson_text(layer, work_system_of(store)), static_cast<long>(layer.features.size())};
}

long export_kind(const Store& store, const std::string& kind_name, const std::filesystem::path& out) {
    const tables::Kind& kind = exportable_kind(kind_name);
    if (kind.name != "fields") {
        const ExportedText exported = export_text(store, kind_name);
        exporting::write_text(out, exported.text);
        return exported.rows;
    }
    const VectorLayer layer = exporting::fields_layer(store);
    write_vector_file(out, {layer}, work_system_of(store));
    return static_cast<long>(layer.features.size());
}

}  // namespace geo
