#pragma once

#include <filesystem>
#include <functional>
#include <string>

#include "geo/export.h"
#include "geo/vector_file.h"

namespace geo {

class Store;

/// What the parts of the export share; geo/export.h is what everyone else uses.
namespace exporting {

/// Calls `write` with the name of a file beside `out` and renames that to `out` when it is complete.
void write_whole(const std::filesystem::path& out, const std::function<void(const std::filesystem::path&)>& write);
void write_text(const std::filesystem::path& out, const std::string& text);

/// field, part, name, grower and the notes, for any form that geo/vector_file.h knows.
VectorLayer fields_layer(const Store& store);
/// One row an hour, as the table `weather` has it.
ExportedText weather_text(const Store& store);

}  // namespace exporting
}  // namespace geo
