#include <algorithm>
#include <cmath>

#include <nlohmann/json.hpp>

#include "geo/import_rows.h"
#include "geo/outlines.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "geo/work_system.h"
#include "models/error.h"

namespace geo::importing {

namespace {

Value text_or_nothing(const std::string& text) {
    if (text.empty()) return std::monostate{};
    return text;
}

/// Outlines that lie on a field which is there under another name: one refusal for all of them.
class SameGround {
 public:
    explicit SameGround(Database& database)
        : there_(database,
                 "SELECT field, ST_Area(ST_Intersection(outline, given.shape)), ST_Area(outline), ST_Area(given.shape) "
                 "FROM (SELECT ST_GeomFromWKB(?1, 4326) AS shape) AS given, current_field_outline "
                 "WHERE part = '' AND field <> ?2 AND record IN (SELECT pkid FROM idx_field_outline_outline "
                 "WHERE xmin <= MbrMaxX(given.shape) AND xmax >= MbrMinX(given.shape) "
                 "AND ymin <= MbrMaxY(given.shape) AND ymax >= MbrMinY(given.shape)) ORDER BY field") {}

    /// @returns  whether the outline is one of those
    bool takes(const OutlineRead& outline, const std::vector<unsigned char>& wkb) {
        if (!outline.part.empty()) return false;  // a part lies on its field
        there_.with(Blob{std::string(wkb.begin(), wkb.end())}, outline.field);
        while (there_.step()) {
            const double larger = std::max(there_.number(2), there_.number(3));
            if (!(there_.number(1) > same_share * larger)) continue;
            if (++count_ <= named) {
                pairs_ += (pairs_.empty() ? "" : ", ") + outline.field + " on " + there_.text(0);
            }
            return true;
        }
        return false;
    }

    void tell(ImportReport& report) const {
        if (count_ == 0) return;
        std::string what = count_ == 1
                               ? "the outline lies on a field that is there under another name: "
                               : std::to_string(count_) + " outlines lie on fields that are there under other names: ";
        what += pairs_;
        if (count_ > named) what += " and " + std::to_string(count_ - named) + " more";
        report.refused.push_back({report.file, 0, "field", what,
                                  "give the ground one name; if these are fields of their own, say --as-written",
                                  count_});
    }

 private:
    static constexpr double same_share = 0.9;  // of the larger of two outlines; ours
    static constexpr long named = 3;
    Statement there_;
    std::string pairs_;
    long count_ = 0;
};

/// The attribute of our name, whatever its capitals; its value is held against what the column may hold.
std::string note_name(const std::string& name, const std::string& value) {
    std::string small = name;
    for (char& letter : small) letter = letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
    const tables::Column* column = tables::kind_named("fields").find(small);
    if (column == nullptr || column->place != tables::Place::note) return name;
    std::optional<tables::CellRefusal> refusal;
    tables::read_cell(*column, value, {}, refusal);
    if (refusal) throw RowRefusal{name, refusal->what, refusal->mend};
    return small;
}

std::string notes_of(const OutlineRead& outline) {
    nlohmann::json notes = nlohmann::json::object();
    for (const auto& [name, value] : outline.notes) {
        if (!tables::is_utf8(name) || !tables::is_utf8(value)) {
            throw RowRefusal{name, "a letter that is no UTF-8", "save the file with its letters in UTF-8"};
        }
        require_short(name, value);
        notes[note_name(name, value)] = value;
    }
    return notes.dump();
}

/// What a file tells of one outline: a name, a grower or an attribute that it does not have is no difference.
Spoken told_of(const OutlineRead& outline, const std::string& notes) {
    Spoken told{{true, true, !outline.name.empty(), !outline.grower.empty(), true}, {}};
    const auto attributes = nlohmann::json::parse(notes);
    for (const auto& [name, value] : attributes.items()) told.notes.insert(name);
    return told;
}

/// A corrected outline keeps what its file does not tell.
void keep_what_is_not_told(Target& target, const tables::Kind& kind, Record& record) {
    if (target.options.correct_because.empty()) return;
    const auto standing = standing_record(target.database, kind, record);
    if (standing) record.notes = notes_together(standing->notes, record);
    constexpr std::size_t name = 2, grower = 3;
    for (const std::size_t cell : {name, grower}) {
        if (standing && std::holds_alternative<std::monostate>(record.cells[cell])) {
            record.cells[cell] = standing->cells[cell];
        }
    }
}

using Corner = std::pair<long long, long long>;

/// The ring in steps of 1e-7 degree (1 cm), from its smallest corner on, the smaller way round.
std::vector<Corner> plain_ring(const RingDeg& ring) {
    std::vector<Corner> corners;
    for (const PointDeg& place : ring) {
        corners.emplace_back(std::llround(place.longitude_deg * 1e7), std::llround(place.latitude_deg * 1e7));
    }
    std::rotate(corners.begin(), std::min_element(corners.begin(), corners.end()), corners.end());
    std::vector<Corner> turned = corners;
    if (!turned.empty()) std::reverse(turned.begin() + 1, turned.end());
    return std::min(corners, turned);
}

/// GeoJSON rounds to 1 cm and turns rings its own way: an outline that differs by no more is the same outline.
bool same_on_the_ground(const OutlineDeg& a, const OutlineDeg& b) {
    const auto plain = [](const OutlineDeg& outline) {
        std::vector<std::vector<std::vector<Corner>>> polygons;
        for (const PolygonDeg& piece : outline) {
            std::vector<std::vector<Corner>> rings = {plain_ring(piece.outer)};
            for (const RingDeg& hole : piece.holes) rings.push_back(plain_ring(hole));
            std::sort(rings.begin() + 1, rings.end());
            polygons.push_back(std::move(rings));
        }
        std::sort(polygons.begin(), polygons.end());
        return polygons;
    };
    return plain(a) == plain(b);
}

/// The outline that the store has under this name.
std::optional<std::vector<unsigned char>> kept_outline(Database& database, const std::string& field,
                                                       const std::string& part) {
    Statement row(database, "SELECT outline_wkb(outline) FROM current_field_outline WHERE field = ? AND part = ?");
    row.with(field, part);
    if (!row.step()) return std::nullopt;
    const std::string bytes = row.bytes(0);
    return std::vector<unsigned char>(bytes.begin(), bytes.end());
}

/// The system of distances and areas is fixed by the first outlines that go in, and kept.
void fix_work_system(Target& target, const std::vector<OutlineRead>& outlines) {
    if (outlines.empty() || target.known.centre()) return;
    const PointDeg middle = middle_of(outlines);
    const WorkSystem work = WorkSystem::around(middle.longitude_deg, middle.latitude_deg);
    target.writer.put(tables::kind_named("work-system"),
                      {{std::string("store"), work.centre_longitude_deg(), work.centre_latitude_deg()}, "{}", {}});
}

}  // namespace

std::string bytes_of(const std::filesystem::path& file) {
    std::error_code error;
    std::string bytes;
    if (std::filesystem::is_directory(file, error)) return bytes;
    bytes = tables::read_text_file(file.string());
    if (file.extension() == ".shp") {
        for (const char* ending : {".shx", ".dbf", ".prj"}) {
            std::filesystem::path beside = file;
            beside.replace_extension(ending);
            if (std::filesystem::is_regular_file(beside, error)) bytes += tables::read_text_file(beside.string());
        }
    }
    return bytes;
}

OutlinesRead read_fields(Store& store, const std::filesystem::path& file, const tables::ColumnMap& map,
                         const models::Progress& progress) {
    OutlineOptions options;
    for (const auto& [ours, where] : map.places) {
        const tables::Kind& kind = tables::kind_named("fields");
        const tables::Column* column = kind.find(ours);
        if (column != nullptr && column->place != tables::Place::store) continue;
        const std::string near = models::nearest_name(ours, kind.file_columns());
        throw models::Error("the column map speaks of \"" + ours + "\", which is no attribute of outlines" +
                                (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                            where, "rename to field, part, name or grower, as in field = \"Number\"");
    }
    options.renamed = map.theirs;
    const auto heights = options.renamed.extract("elevation_m");
    options.layer = map.layer;
    options.reference_system = map.reference_system;
    if (const auto work = store.work_system()) {
        options.near = PointDeg{work->centre_longitude_deg(), work->centre_latitude_deg()};
    }
    OutlinesRead read = read_outlines(file, options, progress);
    for (OutlineRead& outline : read.outlines) {
        for (auto& [name, value] : outline.notes) {
            if (!heights.empty() && name == heights.mapped()) name = "elevation_m";
        }
    }
    return read;
}

void import_outlines(Target& target, const OutlinesRead& read) {
    ImportReport& report = target.report;
    const tables::Kind& kind = tables::kind_named("fields");
    report.rows = static_cast<long>(read.outlines.size() + read.refused.size());
    report.refused = read.refused;
    report.notes = read.notes;
    fix_work_system(target, read.outlines);
    SameGround same_ground(target.database);
    std::size_t done = 0;
    for (const OutlineRead& outline : read.outlines) {
        if (done++ % 64 == 0) {
            target.progress.step(report.file + ": storing outlines",
                                 static_cast<double>(done) / static_cast<double>(read.outlines.size()));
        }
        try {
            for (const std::string* text : {&outline.field, &outline.part, &outline.name, &outline.grower}) {
                if (!tables::is_utf8(*text)) {
                    throw RowRefusal{"", "a letter that is no UTF-8", "save the file with its letters in UTF-8"};
                }
                require_short("", *text);
            }
            auto wkb = to_wkb(outline.outline_deg);
            if (auto kept = kept_outline(target.database, outline.field, outline.part);
                kept && same_on_the_ground(from_wkb(*kept), outline.outline_deg)) {
                wkb = std::move(*kept);
            }
            if (!target.options.as_written && same_ground.takes(outline, wkb)) continue;
            Record record;
            record.blob.bytes.assign(reinterpret_cast<const char*>(wkb.data()), wkb.size());
            record.notes = notes_of(outline);
            record.cells = {outline.field, outline.part, text_or_nothing(outline.name), text_or_nothing(outline.grower),
                            sha256_of(record.blob.bytes)};
            const Spoken told = told_of(outline, record.notes);
            record.spoken = &told;
            keep_what_is_not_told(target, kind, record);
            target.count(target.put(kind, record));
            target.known.add(kind, record);
        } catch (const RowRefusal& refusal) {
            target.refuse(outline.row, refusal);
        }
    }
    same_ground.tell(report);
}

}  // namespace geo::importing
