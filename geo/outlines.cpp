#include "geo/outlines.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <fstream>
#include <set>

#include <cpl_conv.h>
#include <cpl_string.h>
#include <cpl_vsi.h>
#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "geo/gdal_errors.h"
#include "geo/outline_placing.h"
#include "geo/outline_shapes.h"
#include "geo/reference_system.h"
#include "models/error.h"

namespace geo {

namespace {

constexpr double pieces_within_km = 2.0;

std::string lower(std::string_view text) {
    std::string out(text);
    std::transform(out.begin(), out.end(), out.begin(),
                   [](unsigned char c) { return static_cast<char>(c >= 'A' && c <= 'Z' ? c - 'A' + 'a' : c); });
    return out;
}

std::string trimmed(std::string_view text) {
    const std::size_t first = text.find_first_not_of(" \t\r\n");
    if (first == std::string_view::npos) return {};
    return std::string(text.substr(first, text.find_last_not_of(" \t\r\n") - first + 1));
}

template <typename Number>
std::string shortest(Number value) {
    char buffer[40];
    return {buffer, std::to_chars(buffer, buffer + sizeof buffer, value).ptr};
}

std::string list_of(const std::vector<std::string>& names) {
    return names.empty() ? "none" : fmt::format("{}", fmt::join(names, ", "));
}

std::string did_you_mean(const std::string& wrong, const std::vector<std::string>& known) {
    const std::string near = models::nearest_name(wrong, known);
    return near.empty() ? "" : fmt::format("; did you mean \"{}\"?", near);
}

// ---- opening -------------------------------------------------------------------------------------------------------

/// The one file of outlines in a zip archive; entries that a packing program left behind are passed over.
std::string inside_zip(const std::filesystem::path& file, const OutlineOptions& options) {
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
        const std::string kind = lower(entry.extension().string());
        if (left_behind || std::find(kinds.begin(), kinds.end(), kind) == kinds.end()) continue;
        if (!options.layer.empty() && lower(entry.stem().string()) == lower(options.layer)) {
            return archive + "/" + entry.string();
        }
        found.push_back(entry.string());
        stems.push_back(entry.stem().string());
    }
    if (found.empty())
        throw models::Error("the archive holds no file of outlines", file.string(), "zip the shapefile's parts");
    if (found.size() > 1 && options.layer.empty()) {
        throw models::Error(fmt::format("the archive holds {} files of outlines: {}", found.size(), list_of(stems)),
                            file.string(), "name one of them as the layer");
    }
    return archive + "/" + found.front();
}

/// What is wrong with a file that the library cannot open or read, in words.
models::Error unreadable(const std::filesystem::path& file, const GdalErrors& errors) {
    std::array<char, 16> start{};
    std::ifstream(file, std::ios::binary).read(start.data(), start.size());
    const std::string magic(start.data(), 15);
    const std::string said = errors.text_or("");
    const std::string kind = lower(file.extension().string());
    if (kind == ".shp" && said.find(".shx") != std::string::npos) {
        return models::Error("the shapefile comes without its .shx part", file.string(),
                             "copy all its parts (.shp .shx .dbf .prj) into one folder, or zip them");
    }
    if (magic == "SQLite format 3" || kind == ".gpkg") {
        return models::Error("the GeoPackage is damaged or cut short", file.string(), "copy or fetch it again");
    }
    // What the library says of a file that is none of its kinds adds nothing.
    const bool no_kind = said.find("not recognized") != std::string::npos;
    return models::Error("the file cannot be read as outlines" + (no_kind || said.empty() ? "" : " (" + said + ")"),
                         file.string(), "give a shapefile with all its parts, a GeoPackage, GeoJSON or KML file");
}

GDALDatasetUniquePtr open_outlines(const std::filesystem::path& file, const OutlineOptions& options,
                                   const GdalErrors& errors) {
    std::error_code ignored;
    if (!std::filesystem::exists(file, ignored)) throw models::Error("there is no such file", file.string());
    const bool folder = std::filesystem::is_directory(file, ignored);
    const std::string kind = lower(file.extension().string());
    if (folder && kind != ".gdb") {  // a geodatabase is a folder that is meant as one file
        throw models::Error("this is a folder, not a file of outlines", file.string(),
                            "name the file in it; of a shapefile that is the one ending in .shp");
    }
    if (!folder && std::filesystem::file_size(file, ignored) == 0) {
        throw models::Error("the file is empty", file.string(), "copy or fetch it again");
    }
    if (!folder && !std::ifstream(file)) {
        throw models::Error("the file may not be read", file.string(), "ask for the right to read it");
    }
    const std::string name = kind == ".zip" ? inside_zip(file, options) : file.string();
    // Reading leaves nothing behind: the GML reader would write a table of what it saw beside the file.
    const char* const without_traces[] = {"WRITE_GFS=NO", nullptr};
    GDALDatasetUniquePtr opened(GDALDataset::Open(name.c_str(),
                                                  GDAL_OF_VECTOR | GDAL_OF_READONLY | GDAL_OF_VERBOSE_ERROR, nullptr,
                                                  kind == ".gml" ? without_traces : nullptr, nullptr));
    if (!opened) throw unreadable(file, errors);
    return opened;
}

OGRLayer* choose_layer(GDALDataset& opened, const std::filesystem::path& file, const OutlineOptions& options) {
    std::vector<OGRLayer*> with_outlines;
    std::vector<std::string> names, all_names;
    for (OGRLayer* layer : opened.GetLayers()) {
        all_names.emplace_back(layer->GetName());
        const OGRwkbGeometryType type = wkbFlatten(layer->GetGeomType());
        if (!options.layer.empty()) {
            if (lower(options.layer) == lower(layer->GetName())) return layer;
        } else if (type != wkbNone) {
            with_outlines.push_back(layer);
            names.emplace_back(layer->GetName());
        }
    }
    if (!options.layer.empty() && all_names.size() != 1) {
        throw models::Error(
            fmt::format("there is no layer \"{}\"{}", options.layer, did_you_mean(options.layer, all_names)),
            file.string(), "the layers are: " + list_of(all_names));
    }
    if (!options.layer.empty()) return opened.GetLayer(0);  // the layer named was the file in the archive
    if (with_outlines.empty()) {
        throw models::Error("the file holds no outlines", file.string(),
                            "give a file of areas with an attribute \"field\"; tables go in by their own kind");
    }
    if (with_outlines.size() > 1) {
        throw models::Error(fmt::format("the file has {} layers: {}", with_outlines.size(), list_of(names)),
                            file.string(), "name one of them as the layer");
    }
    return with_outlines.front();
}

// ---- attributes ----------------------------------------------------------------------------------------------------

constexpr int is_row_number = -2;
constexpr int is_missing = -1;

/// Where our four words stand among the file's attributes.
class AttributeTable {
 public:
    AttributeTable(OGRLayer& layer, const std::filesystem::path& file, const OutlineOptions& options)
        : definition_(*layer.GetLayerDefn()), row_number_name_(layer.GetFIDColumn()) {
        for (int i = 0; i < definition_.GetFieldCount(); ++i)
            names_.emplace_back(definition_.GetFieldDefn(i)->GetNameRef());
        for (const auto& [ours, theirs] : options.renamed) {
            if (std::find(words().begin(), words().end(), ours) != words().end()) continue;
            throw models::Error(fmt::format("outlines have no attribute \"{}\"{}", ours, did_you_mean(ours, words())),
                                file.string(), "rename to field, part, name or grower");
        }
        for (std::size_t word = 0; word < words().size(); ++word) {
            const auto renamed = options.renamed.find(words()[word]);
            const bool asked = renamed != options.renamed.end();
            const std::string wanted = asked ? renamed->second : words()[word];
            columns_[word] = find_all(wanted, asked);
            if (!columns_[word].empty() || (word != 0 && !asked)) continue;
            throw models::Error(
                fmt::format("the outlines have no attribute \"{}\"{}", wanted, did_you_mean(wanted, names_)),
                file.string(),
                names_.empty() ? std::string("give each outline its field's name as an attribute")
                               : advice_on(words()[word], layer));
        }
    }

    std::string field(const OGRFeature& feature) { return joined(feature, columns_[0]); }
    std::string part(const OGRFeature& feature) { return joined(feature, columns_[1]); }
    std::string name(const OGRFeature& feature) { return joined(feature, columns_[2]); }
    std::string grower(const OGRFeature& feature) { return joined(feature, columns_[3]); }
    std::vector<std::pair<std::string, std::string>> others(const OGRFeature& feature) {
        std::vector<std::pair<std::string, std::string>> notes;
        for (int i = 0; i < definition_.GetFieldCount(); ++i) {
            if (is_ours(i)) continue;
            std::string text = value(feature, i);
            if (!text.empty()) notes.emplace_back(names_[static_cast<std::size_t>(i)], std::move(text));
        }
        return notes;
    }
    /// The other attributes' names, for the closing note.
    std::vector<std::string> other_names() const {
        std::vector<std::string> out;
        for (int i = 0; i < definition_.GetFieldCount(); ++i) {
            if (!is_ours(i)) out.push_back(names_[static_cast<std::size_t>(i)]);
        }
        return out;
    }
    bool was_recoded() const { return was_recoded_; }
    std::string field_attribute() const {
        std::vector<std::string> parts;
        for (const int column : columns_[0]) {
            parts.push_back(column < 0 ? row_number_name_ : names_[static_cast<std::size_t>(column)]);
        }
        return fmt::format("{}", fmt::join(parts, "+"));
    }

 private:
    static const std::vector<std::string>& words() {
        static const std::vector<std::string> ours{"field", "part", "name", "grower"};
        return ours;
    }

    bool is_ours(int column) const {
        return std::any_of(columns_.begin(), columns_.end(), [&](const std::vector<int>& ours) {
            return std::find(ours.begin(), ours.end(), column) != ours.end();
        });
    }

    /// How to say in a column map which attribute is meant. For the name of a field those come first whose value no two
    /// outlines share.
    std::string advice_on(const std::string& word, OGRLayer& layer) {
        const std::vector<std::string> telling =
            word == words().front() ? names_that_tell_apart(layer) : std::vector<std::string>{};
        std::string text =
            fmt::format("say which one names the field in a column map (--columns MAP.toml): [columns] {} = \"{}\"",
                        word, telling.empty() ? names_.front() : telling.front());
        if (telling.size() > 1) text += fmt::format("; no two outlines share their {}", list_of(telling));
        if (telling.size() == 1) text += "; no two outlines share it";
        if (!telling.empty() && telling.back() == row_number_name_)
            text +=
                fmt::format(" ({} is the row number, which may change when the file is made anew)", row_number_name_);
        return text + "; the file has: " + list_of(names_);
    }

    /// Texts and whole numbers that differ in all outlines (of the first 20,000); where there are none the first two
    /// attributes that do so together; then the file's own row number, which lasts only as long as the file.
    std::vector<std::string> names_that_tell_apart(OGRLayer& layer) {
        std::vector<std::size_t> candidates;
        for (std::size_t i = 0; i < names_.size(); ++i) {
            const OGRFieldType type = definition_.GetFieldDefn(static_cast<int>(i))->GetType();
            if (type == OFTString || type == OFTInteger || type == OFTInteger64) candidates.push_back(i);
        }
        std::vector<std::vector<std::string>> rows;
        layer.ResetReading();
        while (const OGRFeatureUniquePtr feature{layer.GetNextFeature()}) {
            std::vector<std::string>& row = rows.emplace_back();
            for (const std::size_t i : candidates) row.push_back(value(*feature, static_cast<int>(i)));
            if (rows.size() == 20000) break;
        }
        layer.ResetReading();
        const auto differ = [&](std::size_t a, std::size_t b) {
            std::set<std::pair<std::string, std::string>> seen;
            return std::all_of(rows.begin(), rows.end(), [&](const std::vector<std::string>& row) {
                return !row[a].empty() && !row[b].empty() && seen.emplace(row[a], row[b]).second;
            });
        };
        std::vector<std::string> telling;
        for (std::size_t a = 0; a < candidates.size(); ++a) {
            if (differ(a, a)) telling.push_back(names_[candidates[a]]);
        }
        for (std::size_t a = 0; a < candidates.size() && telling.empty(); ++a) {
            for (std::size_t b = a + 1; b < candidates.size() && telling.empty(); ++b) {
                if (differ(a, b)) telling.push_back(names_[candidates[a]] + "+" + names_[candidates[b]]);
            }
        }
        if (!row_number_name_.empty()) telling.push_back(row_number_name_);
        return telling;
    }

    /// One attribute, or several joined by "+"; empty where one of them is missing.
    std::vector<int> find_all(const std::string& wanted, bool asked) const {
        if (const int whole = find(wanted, asked); whole != is_missing) return {whole};
        std::vector<int> found;
        for (std::size_t begin = 0; asked && begin <= wanted.size();) {
            const std::size_t end = std::min(wanted.find('+', begin), wanted.size());
            const int column = find(trimmed(std::string_view(wanted).substr(begin, end - begin)), asked);
            if (column == is_missing) return {};
            found.push_back(column);
            begin = end + 1;
        }
        return found;
    }

    std::string joined(const OGRFeature& feature, const std::vector<int>& columns) {
        std::string text;
        for (const int column : columns) {
            const std::string piece = value(feature, column);
            if (!piece.empty()) text += (text.empty() ? "" : " ") + piece;
        }
        return text;
    }

    int find(const std::string& wanted, bool asked) const {
        for (std::size_t i = 0; i < names_.size(); ++i) {
            if (names_[i] == wanted) return static_cast<int>(i);
        }
        for (std::size_t i = 0; i < names_.size(); ++i) {
            if (lower(names_[i]) == lower(wanted)) return static_cast<int>(i);
        }
        const bool row_number = !row_number_name_.empty() && lower(row_number_name_) == lower(wanted);
        return row_number || (asked && lower(wanted) == "fid") ? is_row_number : is_missing;
    }

    std::string value(const OGRFeature& feature, int column) {
        if (column == is_row_number) return shortest(static_cast<long long>(feature.GetFID()));
        if (!feature.IsFieldSetAndNotNull(column)) return {};
        const OGRFieldDefn& attribute = *definition_.GetFieldDefn(column);
        switch (attribute.GetType()) {
            case OFTInteger:
            case OFTInteger64:
                return shortest(static_cast<long long>(feature.GetFieldAsInteger64(column)));
            case OFTReal: {
                const double number = feature.GetFieldAsDouble(column);
                return attribute.GetSubType() == OFSTFloat32 ? shortest(static_cast<float>(number)) : shortest(number);
            }
            case OFTDate:
            case OFTDateTime:
                return day_and_time(feature, column, attribute.GetType() == OFTDateTime);
            default:
                return as_utf8(feature.GetFieldAsString(column));
        }
    }

    static std::string day_and_time(const OGRFeature& feature, int column, bool with_time) {
        int year = 0, month = 0, day = 0, hour = 0, minute = 0, zone = 0;
        float second = 0.0F;
        feature.GetFieldAsDateTime(column, &year, &month, &day, &hour, &minute, &second, &zone);
        std::string text = fmt::format("{:04}-{:02}-{:02}", year, month, day);
        if (with_time) text += fmt::format("T{:02}:{:02}:{:02}", hour, minute, static_cast<int>(second));
        return text;
    }

    std::string as_utf8(const char* text) {
        if (CPLIsUTF8(text, -1)) return trimmed(text);
        was_recoded_ = true;
        char* recoded = CPLRecode(text, CPL_ENC_ISO8859_1, CPL_ENC_UTF8);
        std::string out = trimmed(recoded);
        CPLFree(recoded);
        return out;
    }

    const OGRFeatureDefn& definition_;
    std::string row_number_name_;
    std::vector<std::string> names_;
    std::array<std::vector<int>, 4> columns_;
    bool was_recoded_ = false;
};

// ---- reference system ----------------------------------------------------------------------------------------------

ToDegrees system_of(OGRLayer& layer, const std::filesystem::path& file, const OutlineOptions& options,
                    std::vector<std::string>& notes) {
    const OGRSpatialReference* own = layer.GetSpatialRef();
    if (own == nullptr) {
        if (options.reference_system.empty()) {
            throw models::Error("the outlines have no reference system, so nobody can say where they are",
                                file.string(),
                                "put the .prj part beside the shapefile, or name the system in a column map (--columns "
                                "MAP.toml): reference_system = \"EPSG:25832\"");
        }
        return ToDegrees(options.reference_system);
    }
    char* text = nullptr;
    const char* const form[] = {"FORMAT=WKT2_2019", nullptr};
    own->exportToWkt(&text, form);
    const std::string wkt = text == nullptr ? "" : text;
    CPLFree(text);
    try {
        ToDegrees system(wkt);
        if (!options.reference_system.empty()) {
            notes.push_back(
                fmt::format("the file names its own reference system, {}; the one given is not used", system.name()));
        }
        return system;
    } catch (const models::Error& error) {
        throw models::Error(error.what_happened(), file.string(), error.how_to_mend());
    }
}

// ---- several features of one name ----------------------------------------------------------------------------------

std::string called(const std::string& field, const std::string& part) {
    return part.empty() ? fmt::format("field \"{}\"", field) : fmt::format("field \"{}\", part \"{}\"", field, part);
}

class Pieces {
 public:
    explicit Pieces(OutlinesRead& out, std::string file) : out_(out), file_(std::move(file)) {}

    void add(OutlineRead&& read) {
        const auto key = std::make_pair(read.field, read.part);
        const auto known = by_name_.find(key);
        if (known == by_name_.end()) {
            by_name_.emplace(key, out_.outlines.size());
            out_.outlines.push_back(std::move(read));
            return;
        }
        OutlineRead& first = out_.outlines[known->second];
        const std::string who = called(read.field, read.part);
        if (read.outline_deg == first.outline_deg) {
            out_.notes.push_back(fmt::format("{} comes twice with the same outline (features {} and {}); taken once",
                                             who, first.row, read.row));
            return;
        }
        GdalErrors errors;
        const std::unique_ptr<OGRGeometry> a = to_ogr(first.outline_deg), b = to_ogr(read.outline_deg);
        const std::unique_ptr<OGRGeometry> common(a->Intersection(b.get()));
        const double common_ha = common ? area_ha(from_ogr(*common)) : 0.0;
        const double apart_km = a->Distance(b.get()) * 111.2;  // a degree of latitude; of longitude it is less
        std::string why;
        if (common_ha > 0.01 * std::min(area_ha(first.outline_deg), area_ha(read.outline_deg))) {
            why = fmt::format("the two outlines overlap by {:.2f} ha", common_ha);
        } else if (read.grower != first.grower || read.name != first.name) {
            why = "their name or grower differs";
        } else if (apart_km > pieces_within_km) {
            why = fmt::format("they lie about {:.0f} km apart", std::max(apart_km, pieces_within_km + 1.0));
        }
        const std::unique_ptr<OGRGeometry> both(why.empty() ? a->Union(b.get()) : nullptr);
        if (!both) {
            if (why.empty()) why = "they cannot be joined";
            out_.refused.push_back(
                {file_, read.row, "field", fmt::format("{} is there already (feature {}) and {}", who, first.row, why),
                 "give it another field name (two attributes joined by + may name a field), or a part"});
            return;
        }
        first.outline_deg = from_ogr(*both);
        ++joined_[known->second];
    }

    void tell() {
        for (const auto& [index, count] : joined_) {
            const OutlineRead& outline = out_.outlines[index];
            out_.notes.push_back(fmt::format("{} comes in {} features, joined as pieces of one outline",
                                             called(outline.field, outline.part), count + 1));
        }
        for (const OutlineRead& part : out_.outlines) {
            if (part.part.empty()) continue;
            const auto whole = by_name_.find({part.field, ""});
            if (whole == by_name_.end()) continue;
            GdalErrors errors;
            const std::unique_ptr<OGRGeometry> a = to_ogr(part.outline_deg);
            const std::unique_ptr<OGRGeometry> outside(
                a->Difference(to_ogr(out_.outlines[whole->second].outline_deg).get()));
            const double outside_ha = outside ? area_ha(from_ogr(*outside)) : 0.0;
            if (outside_ha > 0.05 * area_ha(part.outline_deg)) {
                out_.notes.push_back(fmt::format("{} lies outside of its field with {:.2f} ha",
                                                 called(part.field, part.part), outside_ha));
            }
        }
    }

 private:
    OutlinesRead& out_;
    std::string file_;
    std::map<std::pair<std::string, std::string>, std::size_t> by_name_;
    std::map<std::size_t, int> joined_;
};

}  // namespace

OutlinesRead read_outlines(const std::filesystem::path& file, const OutlineOptions& options,
                           const models::Progress& progress) {
    register_gdal();
    GdalErrors errors;
    const GDALDatasetUniquePtr opened = open_outlines(file, options, errors);
    OGRLayer& layer = *choose_layer(*opened, file, options);
    if (layer.GetFeatureCount(1) == 0 && !errors.failed())
        throw models::Error("the file holds no outlines", file.string(), "give a file with at least one field");
    AttributeTable attributes(layer, file, options);

    OutlinesRead out;
    const ToDegrees system = system_of(layer, file, options, out.notes);
    const std::string short_name = file.filename().string();
    const auto expected = static_cast<double>(std::max<GIntBig>(1, layer.GetFeatureCount(0)));
    Pieces pieces(out, short_name);
    PlacingNotes where(system, options.near);
    long row = 0;
    errors.clear();
    layer.ResetReading();
    while (const OGRFeatureUniquePtr feature{layer.GetNextFeature()}) {
        ++row;
        if (row % 500 == 0)
            progress.step(fmt::format("reading {} outlines", row), std::min(1.0, static_cast<double>(row) / expected));
        if (errors.failed()) break;
        OutlineRead read;
        read.row = row;
        read.field = attributes.field(*feature);
        const auto refuse = [&](const char* column, const std::string& what, const std::string& mend) {
            out.refused.push_back({short_name, row, column, what, mend});
        };
        if (read.field.empty()) {
            refuse("field", "the outline has no field name",
                   fmt::format("fill in its attribute \"{}\"", attributes.field_attribute()));
            continue;
        }
        read.part = attributes.part(*feature);
        read.name = attributes.name(*feature);
        read.grower = attributes.grower(*feature);
        const std::string who = called(read.field, read.part);
        const OGRGeometry* geometry = feature->GetGeometryRef();
        if (geometry == nullptr) {
            refuse("outline", who + " has no outline", "draw it, or leave the row out");
            continue;
        }
        const MendedOutline mended = mend_outline(*geometry);
        if (!mended.polygons) {
            refuse("outline", who + " " + mended.refusal, mended.mend);
            continue;
        }
        PlacedOutline placed = place_outline(*mended.polygons, system, options.near);
        if (placed.outline.empty()) {
            refuse("outline", who + " " + placed.refusal, placed.mend);
            continue;
        }
        if (!mended.note.empty()) {
            out.notes.push_back(fmt::format("{} {} ({:.2f} ha)", who, mended.note, placed.area_ha));
        }
        where.look_at(who, placed);
        read.outline_deg = std::move(placed.outline);
        read.notes = attributes.others(*feature);
        pieces.add(std::move(read));
    }
    if (errors.failed()) throw unreadable(file, errors);
    if (row == 0)
        throw models::Error("the file holds no outlines", file.string(), "give a file with at least one field");
    pieces.tell();
    where.tell(out.notes);
    if (attributes.was_recoded()) out.notes.push_back("texts that are not UTF-8 were read as ISO 8859-1");
    const std::vector<std::string> others = attributes.other_names();
    constexpr std::size_t told = 5;
    if (!others.empty()) {
        const std::vector<std::string> first(
            others.begin(), others.begin() + static_cast<std::ptrdiff_t>(std::min(told, others.size())));
        out.notes.push_back("kept as notes: " + list_of(first) +
                            (others.size() > told ? fmt::format(" and {} more", others.size() - told) : ""));
    }
    return out;
}

}  // namespace geo
