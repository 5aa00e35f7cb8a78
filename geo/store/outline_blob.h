#pragma once

#include <cstddef>
#include <optional>
#include <string>

namespace geo {

/// The shape that SpatiaLite keeps in a cell, as well-known binary. Its two-dimensional polygons and multipolygons of
/// little-endian numbers, which all outlines of a store are, lie in the cell as they do in well-known binary but for a
/// head and the marks of their parts; so they are read without that library, which takes longer to load than a truck's
/// advice to find.
/// @returns none: another shape, or no whole one: that is the library's to read (ST_AsBinary)
/// Source: SpatiaLite's "BLOB-Geometry format"; OGC 06-103r4, 8.2 (well-known binary).
std::optional<std::string> wkb_of_outline(const unsigned char* cell, std::size_t size);

}  // namespace geo
