#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <string_view>
#include <vector>

#include "geo/gdal_errors.h"
#include "models/error.h"

class GDALDataset;
class OGRFeature;
class OGRLayer;
class OGRSpatialReference;

namespace geo {

/// A vector file and the layer of it that is wanted, as the readers inside geo share it.
struct VectorSource {
    std::filesystem::path file;
    std::string layer;              ///< empty: its only layer with shapes
    std::string what = "outlines";  ///< what it should hold, for refusals
    std::string mend_nothing = "give a file of areas with an attribute \"field\"; tables go in by their own kind";
    std::string mend_several = "name one of them as the layer";
};

/// Opens any kind that GDAL reads, also zipped.
/// @throws models::Error  no such file, a folder, empty, damaged, none of the known kinds, an archive of several
std::shared_ptr<GDALDataset> open_vector_file(const VectorSource& source, const GdalErrors& errors);
/// What is wrong with a file that the library cannot open or read, in words.
models::Error unreadable_vector_file(const VectorSource& source, const GdalErrors& errors);
/// @throws models::Error  no such layer (the nearest name is offered), several and none chosen, none with shapes
OGRLayer* choose_layer(GDALDataset& opened, const VectorSource& source);

/// One attribute as text: numbers with their digits, dates as ISO 8601; empty where it is missing.
/// @param was_recoded  set where the text was no UTF-8 and was taken as ISO 8859-1
std::string attribute_text(const OGRFeature& feature, int column, bool& was_recoded);
std::string well_known_text(const OGRSpatialReference& system);  ///< WKT 2

std::string lower_case(std::string_view text);  ///< of the letters A to Z
std::string without_blanks(std::string_view text);
std::string shortest_text(long long value);
std::string list_of(const std::vector<std::string>& names);
std::string did_you_mean(const std::string& wrong, const std::vector<std::string>& known);

}  // namespace geo
