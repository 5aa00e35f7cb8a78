#include "geo/vector_source.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>

#include <cpl_conv.h>
#include <cpl_string.h>
#include <cpl_vsi.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

namespace geo {

namespace {

/// The one vector file in a zip archive; entries that a packing program left behind are passed over.
std::string inside_zip(const VectorSource& source) {
    const std::filesystem::path& file = source.file;
    const std::string archive = "/vsizip/{" + std::filesystem::absolute(file).string() + "}";
    const CPLStringList entries(VSIReadDirRecursive(archive.c_str()));
    if (entries.Count() == 0) {
        throw models::Error("the archive cannot be unpacked; it is damaged, cut short or empty", file.string(),
                            "copy or fetch it again");
    }
    static const std::vector<std::string> kinds{".shp", ".gpkg", ".geojson", ".json", ".kml",
                                                ".gml", ".fgb",  ".tab",     ".mif",  ".sqlite"};
    std::vector<std::string> found, stems;
    for (int i = 0; i < entries.Count(); ++i) {
        const std::filesystem::path entry(entries[i]);
        const std::string name = entry.filename().string();
        const bool left_behind = name.starts_with("._") || entry.string().starts_with("__MACOSX/");
        const std::string kind = lower_case(entry.extension().string());
        if (left_behind || std::find(kinds.begin(), kinds.end(), kind) == kinds.end()) continue;
        if (!source.layer.empty() && lower_case(entry.stem().string()) == lower_case(source.layer)) {
            return archive + "/" + entry.string();
        }
        found.push_back(entry.string());
        stems.push_back(entry.stem().string());
    }
    if (found.empty())
        throw models::Error("the archive holds no file of " + source.what, file.string(), "zip the shapefile's parts");
    if (found.size() > 1 && source.layer.empty()) {
        throw models::Error(
            fmt::format("the archive holds {} files of {}: {}", found.size(), source.what, list_of(stems)),
            file.string(), source.mend_several);
    }
    return archive + "/" + found.front();
}

template <typename Number>
std::string shortest_digits(Number value) {
    char buffer[40];
    return {buffer, std::to_chars(buffer, buffer + sizeof buffer, value).ptr};
}

std::string day_and_time(const OGRFeature& feature, int column, bool with_time) {
    int year = 0, month = 0, day = 0, hour = 0, minute = 0, zone = 0;
    float second = 0.0F;
    feature.GetFieldAsDateTime(column, &year, &month, &day, &hour, &minute, &second, &zone);
    std::string text = fmt::format("{:04}-{:02}-{:02}", year, month, day);
    if (with_time) text += fmt::format("T{:02}:{:02}:{:02}", hour, minute, static_cast<int>(second));
    return text;
}

}  // namespace

std::shared_ptr<GDALDataset> open_vector_file(const VectorSource& source, const GdalErrors& errors) {
    const std::filesystem::path& file = source.file;
    std::error_code ignored;
    if (!std::filesystem::exists(file, ignored)) throw models::Error("there is no such file", file.string());
    const bool folder = std::filesystem::is_directory(file, ignored);
    const std::string kind = lower_case(file.extension().string());
    if (folder && kind != ".gdb") {  // a geodatabase is a folder that is meant as one file
        throw models::Error("this is a folder, not a file of " + source.what, file.string(),
                            "name the file in it; of a shapefile that is the one ending in .shp");
    }
    if (!folder && std::filesystem::file_size(file, ignored) == 0) {
        throw models::Error("the file is empty", file.string(), "copy or fetch it again");
    }
    if (!folder && !std::ifstream(file)) {
        throw models::Error("the file may not be read", file.string(), "ask for the right to read it");
    }
    const std::string name = kind == ".zip" ? inside_zip(source) : file.string();
    // Reading leaves nothing behind: the GML reader would write a table of what it saw beside the file.
    const char* const without_traces[] = {"WRITE_GFS=NO", nullptr};
    GDALDatasetUniquePtr opened(GDALDataset::Open(name.c_str(),
                                                  GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR, nullptr,
                                                  kind == ".gml" ? without_traces : nullptr, nullptr));
    if (!opened) throw unreadable_vector_file(source, errors);
    return {opened.release(), GDALDatasetUniquePtrDeleter()};
}

models::Error unreadable_vector_file(const VectorSource& source, const GdalErrors& errors) {
    const std::filesystem::path& file = source.file;
    std::array<char, 16> start{};
    std::ifstream(file, std::ios::binary).read(start.data(), start.size());
    const std::string magic(start.data(), 15);
    const std::string said = errors.text_or("");
    const std::string kind = lower_case(file.extension().string());
    if (kind == ".shp" && said.find(".shx") != std::string::npos) {
        return models::Error("the shapefile comes without its .shx part", file.string(),
                             "copy all its parts (.shp .shx .dbf .prj) into one folder, or zip them");
    }
    if (magic == "SQLite format 3" || kind == ".gpkg") {
        return models::Error("the GeoPackage is damaged or cut short", file.string(), "copy or fetch it again");
    }
    // What the library says of a file that is none of its kinds adds nothing.
    const bool no_kind = said.find("not recognized") != std::string::npos;
    return models::Error(
        "the file cannot be read as " + source.what + (no_kind || said.empty() ? "" : " (" + said + ")"), file.string(),
        "give a shapefile with all its parts, a GeoPackage, GeoJSON or KML file");
}

OGRLayer* choose_layer(GDALDataset& opened, const VectorSource& source) {
    const std::filesystem::path& file = source.file;
    std::vector<OGRLayer*> with_shapes;
    std::vector<std::string> names, all_names;
    for (OGRLayer* layer : opened.GetLayers()) {
        all_names.emplace_back(layer->GetName());
        const OGRwkbGeometryType type = wkbFlatten(layer->GetGeomType());
        if (!source.layer.empty()) {
            if (lower_case(source.layer) == lower_case(layer->GetName())) return layer;
        } else if (type != wkbNone) {
            with_shapes.push_back(layer);
            names.emplace_back(layer->GetName());
        }
    }
    const bool in_archive = lower_case(file.extension().string()) == ".zip";
    if (!source.layer.empty() && !(in_archive && all_names.size() == 1)) {
        throw models::Error(
            fmt::format("there is no layer \"{}\"{}", source.layer, did_you_mean(source.layer, all_names)),
            file.string(), "the layers are: " + list_of(all_names));
    }
    if (!source.layer.empty()) return opened.GetLayer(0);  // the layer named was the file in the archive
    if (with_shapes.empty()) {
        throw models::Error("the file holds no " + source.what, file.string(), source.mend_nothing);
    }
    if (with_shapes.size() > 1) {
        throw models::Error(fmt::format("the file has {} layers: {}", with_shapes.size(), list_of(names)),
                            file.string(), source.mend_several);
    }
    return with_shapes.front();
}

std::string attribute_text(const OGRFeature& feature, int column, bool& was_recoded) {
    if (!feature.IsFieldSetAndNotNull(column)) return {};
    const OGRFieldDefn& attribute = *feature.GetFieldDefnRef(column);
    switch (attribute.GetType()) {
        case OFTInteger:
        case OFTInteger64:
            return shortest_text(static_cast<long long>(feature.GetFieldAsInteger64(column)));
        case OFTReal: {
            const double number = feature.GetFieldAsDouble(column);
            return attribute.GetSubType() == OFSTFloat32 ? shortest_digits(static_cast<float>(number))
                                                         : shortest_digits(number);
        }
        case OFTDate:
        case OFTDateTime:
            return day_and_time(feature, column, attribute.GetType() == OFTDateTime);
        default:
            break;
    }
    const char* text = feature.GetFieldAsString(column);
    if (CPLIsUTF8(text, -1)) return without_blanks(text);
    was_recoded = true;
    char* recoded = CPLRecode(text, CPL_ENC_ISO8859_1, CPL_ENC_UTF8);
    std::string out = without_blanks(recoded);
    CPLFree(recoded);
    return out;
}

std::string well_known_text(const OGRSpatialReference& system) {
    char* text = nullptr;
    const char* const form[] = {"FORMAT=WKT2_2019", nullptr};
    system.exportToWkt(&text, form);
    std::string wkt = text == nullptr ? "" : text;
    CPLFree(text);
    return wkt;
}

std::string lower_case(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(),
                   [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c); });
    return out;
}

std::string without_blanks(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return {};
    return std::string(text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1));
}

std::string shortest_text(long long value) {
    return shortest_digits(value);
}

std::string list_of(const std::vector<std::string>& names) {
    return names.empty() ? "none" : fmt::format("{}", fmt::join(names, ", "));
}

std::string did_you_mean(const std::string& wrong, const std::vector<std::string>& known) {
    const std::string near = models::nearest_name(wrong, known);
    return near.empty() ? "" : fmt::format("; did you mean \"{}\"?", near);
}

}  // namespace geo
