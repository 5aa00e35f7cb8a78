#pragma once

#include <filesystem>
#include <functional>
#include <string>

namespace geo {

class Store;

/// What the parts of the export share; geo/export.h is what everyone else uses.
namespace exporting {

/// Calls `write` with the name of a file beside `out` and renames that to `out` when it is complete.
void write_whole(const std::filesystem::path& out, const std::function<void(const std::filesystem::path&)>& write);
void write_text(const std::filesystem::path& out, const std::string& text);

/// Any form that write_vector_file knows (GeoJSON, GeoPackage): field, part, name, grower and the notes, WGS 84.
long export_fields(const Store& store, const std::filesystem::path& out);
/// One row an hour, as the table `weather` has it.
long export_weather(const Store& store, const std::filesystem::path& out);

}  // namespace exporting
}  // namespace geo
