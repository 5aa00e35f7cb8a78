#include "geo/outlines.h"

#include <algorithm>
#include <array>
#include <set>

#include <fmt/format.h>
#include <fmt/ranges.h>
#include <gdal_priv.h>
#include <ogrsf_frmts.h>

#include "geo/gdal_errors.h"
#include "geo/outline_placing.h"
#include "geo/outline_shapes.h"
#include "geo/reference_system.h"
#include "geo/vector_source.h"
#include "models/error.h"

namespace geo {

namespace {

constexpr double pieces_within_km = 2.0;

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
            const int column = find(without_blanks(std::string_view(wanted).substr(begin, end - begin)), asked);
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
            if (lower_case(names_[i]) == lower_case(wanted)) return static_cast<int>(i);
        }
        const bool row_number = !row_number_name_.empty() && lower_case(row_number_name_) == lower_case(wanted);
        return row_number || (asked && lower_case(wanted) == "fid") ? is_row_number : is_missing;
    }

    std::string value(const OGRFeature& feature, int column) {
        if (column == is_row_number) return shortest_text(static_cast<long long>(feature.GetFID()));
        return attribute_text(feature, column, was_recoded_);
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
    try {
        ToDegrees system(well_known_text(*own));
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
    const VectorSource source{file, options.layer};
    GdalErrors errors;
    const std::shared_ptr<GDALDataset> opened = open_vector_file(source, errors);
    OGRLayer& layer = *choose_layer(*opened, source);
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
    if (errors.failed()) throw unreadable_vector_file(source, errors);
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
