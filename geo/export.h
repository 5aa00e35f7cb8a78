#pragma once

#include <filesystem>
#include <string>

namespace geo {

class Store;

/// Writes everything of one kind that went in; importing the file into a new store gives the same records again.
/// CSV for tables; GeoJSON (rounded to 1 cm) or GeoPackage (digit for digit), by the ending, for fields. Written beside
/// and renamed: never half a file.
/// @returns rows written
/// @throws models::Error  no such kind, no fields, an ending that is none of a map, a file that cannot be written
long export_kind(const Store& store, const std::string& kind, const std::filesystem::path& out);

/// The same as text, for standard output: CSV, of fields GeoJSON.
struct ExportedText {
    std::string text;
    long rows = 0;
};
ExportedText export_text(const Store& store, const std::string& kind);

}  // namespace geo
