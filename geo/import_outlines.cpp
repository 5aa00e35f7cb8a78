#include <nlohmann/json.hpp>

#include "geo/import_rows.h"
#include "geo/outlines.h"
#include "geo/store/store.h"
#include "geo/work_system.h"
#include "models/error.h"

namespace geo::importing {

namespace {

Value text_or_nothing(const std::string& text) {
    if (text.empty()) return std::monostate{};
    return text;
}

std::string notes_of(const OutlineRead& outline) {
    nlohmann::json notes = nlohmann::json::object();
    for (const auto& [name, value] : outline.notes) {
        if (!tables::is_utf8(name) || !tables::is_utf8(value)) {
            throw RowRefusal{name, "a letter that is no UTF-8", "save the file with its letters in UTF-8"};
        }
        require_short(name, value);
        notes[name] = value;
    }
    return notes.dump();
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
    options.layer = map.layer;
    options.reference_system = map.reference_system;
    if (const auto work = store.work_system()) {
        options.near = PointDeg{work->centre_longitude_deg(), work->centre_latitude_deg()};
    }
    return read_outlines(file, options, progress);
}

void import_outlines(Target& target, const OutlinesRead& read) {
    ImportReport& report = target.report;
    const tables::Kind& kind = tables::kind_named("fields");
    report.rows = static_cast<long>(read.outlines.size() + read.refused.size());
    report.refused = read.refused;
    report.notes = read.notes;
    fix_work_system(target, read.outlines);
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
            const auto wkb = to_wkb(outline.outline_deg);
            Record record;
            record.blob.bytes.assign(reinterpret_cast<const char*>(wkb.data()), wkb.size());
            record.notes = notes_of(outline);
            record.cells = {outline.field, outline.part, text_or_nothing(outline.name), text_or_nothing(outline.grower),
                            sha256_of(record.blob.bytes)};
            target.count(target.put(kind, record));
            target.known.add(kind, record);
        } catch (const RowRefusal& refusal) {
            target.refuse(outline.row, refusal);
        }
    }
}

}  // namespace geo::importing
