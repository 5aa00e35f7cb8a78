#pragma once

#include <filesystem>
#include <string>

namespace geo {

class Store;

/// Writes everything of one kind that went in; importing the file into a new store gives the same records again.
/// CSV for tables; GeoJSON or GeoPackage (by the ending) for fields. Written beside and renamed: never half a file.
/// @returns rows written
long export_kind(const Store& store, const std::string& kind, const std::filesystem::path& out);

}  // namespace geo
