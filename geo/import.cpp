#include "geo/import.h"

#include <algorithm>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "geo/import_rows.h"
#include "geo/outlines.h"
#include "geo/store/store.h"
#include "geo/tables/cells.h"
#include "geo/weather_grid.h"
#include "models/error.h"
#include "models/nearest_names.h"

namespace geo {

namespace importing {

namespace {

namespace fs = std::filesystem;

void note_unknown_columns(ImportReport& report, const tables::Kind& kind, const RowReader& reader) {
    FewNotes notes(report.notes, "columns are kept as notes");
    for (const std::string& name : reader.unknown_columns()) {
        std::vector<std::string> free;
        for (const std::string& known : kind.file_columns()) {
            if (!reader.has_column(known.c_str())) free.push_back(known);
        }
        const std::string near = models::nearest_name(name, free);
        notes.add("column \"" + name + "\" is kept as a note" +
                  (near.empty() ? "" : "; did you mean \"" + near + "\"?"));
    }
}

/// A column map from a file, or one that the store keeps.
tables::ColumnMap find_map(Store& store, const std::string& wanted) {
    if (wanted.empty()) return {};
    std::error_code error;
    if (fs::is_regular_file(wanted, error)) {
        std::string text = tables::read_text_file(wanted);
        tables::require_utf8(text, wanted);
        tables::ColumnMap map = tables::ColumnMap::read(text, wanted);
        map.name = fs::path(wanted).stem().string();
        return map;
    }
    Statement row(store.database(), "SELECT content FROM current_column_map WHERE name = ?");
    row.with(wanted);
    if (row.step()) {
        tables::ColumnMap map = tables::ColumnMap::read(row.text(0), "column map \"" + wanted + "\" of the store");
        map.name = wanted;
        return map;
    }
    std::vector<std::string> kept;
    Statement names(store.database(), "SELECT name FROM current_column_map ORDER BY name");
    while (names.step()) kept.push_back(names.text(0));
    throw models::Error("there is no column map \"" + wanted + "\", neither a file nor kept in the store", "--columns",
                        kept.empty() ? "give the path of a TOML file; the store keeps none yet"
                                     : "give the path of a TOML file, or a name that the store keeps: " +
                                           models::mend_of_unknown_name(wanted, kept, "lodicule import --help"));
}

void keep_map(Target& target, const tables::ColumnMap& map) {
    if (map.name.empty() || target.report.added + target.report.corrected == 0) return;
    const Record record{{map.name, map.content}, "{}", {}};
    target.writer.put(tables::kind_named("column-maps"), record, "the column map was changed");
}

void refuse_all_when_strict(const ImportReport& report, const ImportOptions& options) {
    if (!options.strict || report.refused.empty()) return;
    const Refusal& first = report.refused.front();
    throw models::Error(fmt::format("{} of {} rows refused, and then --strict refuses the whole file; the first: {}",
                                    report.refused.size(), report.rows, to_text(first)),
                        report.file);
}

void require_words(const ImportOptions& options) {
    for (const std::string* text : {&options.actor, &options.correct_because}) {
        if (!tables::is_utf8(*text)) throw models::Error("the name or reason given is no UTF-8");
    }
}

/// What a file says of a load's parts makes up the load, or none of it goes in.
void require_shares(Target& target) {
    const std::set<std::string> said(target.report.names.begin(), target.report.names.end());
    Statement over(target.database,
                   "SELECT load, sum(coalesce(share, 1.0)) AS total FROM current_load_part GROUP BY load "
                   "HAVING total > 1.001 ORDER BY load");
    while (over.step()) {
        const std::string words =
            fmt::format("the shares of load {} add up to {}, more than the whole load", over.text(0), over.number(1));
        if (said.count(over.text(0)) == 0) {  // from an earlier version
            target.report.notes.push_back(words);
            continue;
        }
        throw RowError("share", words + ", and nothing went in", target.report.file,
                       "correct the shares: those of one load add up to 1, and a part without a share is all "
                       "of it");
    }
}

/// Moves what was committed from the log into the store's own file. Where the disk has no room for that, the records
/// are safe in the log, which then belongs to the store: that must be said.
void settle(Database& database, ImportReport& report) {
    if (database.in_transaction()) return;  // it ends with more than this
    try {
        database.run("PRAGMA wal_checkpoint(TRUNCATE)");
    } catch (const models::Error& error) {
        report.notes.push_back("part of the store still lies in " + database.file().filename().string() +
                               "-wal, which belongs to it: " + error.what_happened());
    }
}

/// Everything but outlines and weather: one text, one transaction.
ImportReport import_text(Store& store, const tables::Kind& kind, std::string text, const std::string& file,
                         const std::string& import_payload, const tables::ColumnMap& map, const ImportOptions& options,
                         const models::Progress& progress) {
    ImportReport report;
    report.kind = kind.name;
    report.file = file;
    const tables::Csv csv = tables::Csv::read(std::move(text), file, map.separator, progress);
    if (csv.separator() != ',' && !map.separator) {
        report.notes.push_back(std::string("columns are separated by ") +
                               (csv.separator() == '\t' ? "tabs" : "semicolons"));
    }
    Transaction all(store.database());
    Target target{store.database(), RecordWriter(store.database(), options.actor), Known(store), options, report,
                  progress};
    if (!import_payload.empty()) target.writer.begin_import(import_payload);
    target.typed_by_hand = file.empty();
    std::optional<ReadingsBefore> readings;
    if (kind.name == "kit-lots" || kind.name == "calibrators") readings.emplace(store);
    import_table(target, store, kind, csv, map);
    if (kind.name == "load-parts") require_shares(target);
    if (readings) readings->require_kept(target, store);
    refuse_all_when_strict(report, options);
    keep_map(target, map);
    all.commit();
    settle(store.database(), report);
    return report;
}

/// A position that does not fit what the sample says is kept as it came: the label was written by someone who stood
/// there. But it is told.
void note_place(Target& target, const Cells& sample, long row, FewNotes& notes) {
    const auto joined = target.known.place_of(sample);
    if (!joined || (joined->how != JoinHow::name_over_position && joined->how != JoinHow::outside)) return;
    notes.add((target.typed_by_hand ? std::string("kept, but ") : "row " + std::to_string(row) + " is kept, but ") +
              joined->sentence);
}

std::string payload_of(const tables::Kind& kind, const std::string& file, const std::string& sha256,
                       const tables::ColumnMap& map) {
    nlohmann::json payload = {{"kind", kind.name}, {"file", file}, {"sha256", sha256}};
    if (!map.name.empty()) payload["columns"] = map.name;
    return payload.dump(-1, ' ', false, nlohmann::json::error_handler_t::replace);
}

void require_weather_of_forecast(const tables::Kind& kind, const ImportOptions& options) {
    if (!options.forecast_made_utc || kind.name == "weather") return;
    throw models::Error("only weather is forecast, and these are " + kind.name, "--forecast-made", "leave it out");
}

const tables::Kind& importable_kind(const std::string& name) {
    const tables::Kind& kind = tables::kind_named(name);
    if (!kind.importable) {
        throw models::Error("\"" + name + "\" is kept by the program itself and is not imported");
    }
    return kind;
}

}  // namespace

std::string key_of_first(const tables::Kind& kind, const Record& record) {
    return tables::cell_text(*kind.stored().front(), record.cells.front());
}

std::string key_of(const tables::Kind& kind, const Record& record) {
    const auto columns = kind.stored();
    std::string key;
    for (std::size_t i = 0; i < columns.size(); ++i) {
        if (!columns[i]->is_key()) continue;
        const std::string part = tables::cell_text(*columns[i], record.cells[i]);
        if (!part.empty()) key += (key.empty() ? "" : ", ") + part;
    }
    return key;
}

Put Target::put(const tables::Kind& kind, const Record& record, bool may_correct) {
    PutResult result;
    try {
        const std::string reason = may_correct ? options.correct_because : "";
        result = writer.put(kind, record, reason, reason);
    } catch (const models::Error& error) {
        // A rule of the store that no check before it knew. Everything else (disk full) has a place and ends the
        // import.
        if (error.where().empty()) throw RowRefusal{"", error.what_happened(), error.how_to_mend()};
        throw;
    }
    if (result.put == Put::differs && result.only_adds && !result.was_withdrawn && kind.name == "stations") {
        // A station that came with its weather, and now its own table.
        Record complete = record;
        if (const auto standing = standing_record(database, kind, record)) {
            complete.notes = notes_together(standing->notes, record);
        }
        return writer.put(kind, complete, "more was said of the station").put;
    }
    if (result.put == Put::differs) {
        const std::string what = kind.columns.front().name;
        if (result.was_withdrawn && may_correct) {
            throw RowRefusal{what, what + " " + key_of(kind, record) + " was withdrawn (" + result.difference + ")",
                             "if it is to stand again, say why (--correct REASON)"};
        }
        if (may_correct && result.only_adds && !result.was_withdrawn) {
            throw RowRefusal{
                what,
                what + " " + key_of(kind, record) + " is there already and less was said of it: " + result.difference,
                "to add it, import the same file with a reason, such as --correct \"more is known\"; "
                "what the file does not tell stays as it is"};
        }
        throw RowRefusal{
            what,
            what + " " + key_of(kind, record) +
                (may_correct ? " is there already, with other content: " : " comes twice in this file: ") +
                result.difference,
            may_correct ? "if this is a correction, give its reason (--correct REASON)" : "keep one of the two rows"};
    }
    return result.put;
}

void Target::count(Put put) {
    if (put == Put::added) ++report.added;
    if (put == Put::unchanged) ++report.unchanged;
    if (put == Put::corrected) ++report.corrected;
}

void import_table(Target& target, const Store& store, const tables::Kind& kind, const tables::Csv& csv,
                  const tables::ColumnMap& map) {
    ImportReport& report = target.report;
    const tables::Kind& samples = tables::kind_named("samples");
    const bool with_samples = kind.name == "tests" && carries_samples(csv, map);
    const Reading reading{target.typed_by_hand && !target.options.correct_because.empty(), target.options.as_written};
    const RowReader reader(kind, csv, map, report.file, reading, with_samples ? &samples : nullptr);
    std::optional<RowReader> sample_reader;
    if (with_samples) sample_reader.emplace(samples, csv, map, report.file, reading, &kind, false);
    note_unknown_columns(report, kind, reader);
    if (csv.rows() == 0) {
        report.notes.push_back("there is a header and no row under it");
    }
    report.rows = static_cast<long>(csv.rows());
    std::set<std::string> seen;
    std::map<std::size_t, RowRefusal> impossible;
    if (kind.name == "moves") impossible = impossible_moves(target, store, reader, csv.rows());
    FewNotes far(report.notes, "samples lie elsewhere than they say");
    Oddities oddities(report);
    const auto take = [&](std::size_t row) {
        Record record = reader.read(row);
        std::optional<Record> sample;
        if (sample_reader) {
            sample = sample_reader->read(row);
            keep_the_rest(target, samples, *sample_reader, *sample);
            check_record(samples, *sample, target.known, reading.as_written);
            const Cells cells(samples, *sample);
            target.known.expect_sample({cells.text("sample"), cells.text("field"), cells.text("stage"),
                                        models::parse_stamp(cells.text("taken_time")),
                                        cells.has("mass_g") ? std::optional(cells.number("mass_g")) : std::nullopt,
                                        cells.text("parent")});
        }
        const std::optional<Record> before = keep_the_rest(target, kind, reader, record);
        check_record(kind, record, target.known, reading.as_written);
        if (const auto found = impossible.find(row); found != impossible.end()) throw found->second;
        const bool first_in_file = seen.insert(key_of(kind, record)).second;
        Put put = Put::unchanged;
        try {
            Savepoint both(target.database);
            if (sample) target.put(samples, *sample);
            put = target.put(kind, record, first_in_file);
            both.keep();
            target.count(put);
            if (put != Put::unchanged) report.names.push_back(key_of_first(kind, record));
            if (put == Put::corrected && before) tell_correction(report, kind, reader, *before, record);
        } catch (...) {
            target.writer.look_again();
            throw;
        }
        if (sample) target.known.add(samples, *sample);
        target.known.add(kind, record);
        if (put != Put::unchanged) oddities.look_at(kind, Cells(kind, record), target.known);
        if (sample || kind.name == "samples") {
            note_place(target, Cells(samples, sample ? *sample : record), csv.row_number(row), far);
        }
    };
    std::vector<std::pair<std::size_t, RowRefusal>> waiting;  // for another row of the same table
    const auto take_or_wait = [&](std::size_t row) {
        try {
            take(row);
        } catch (const RowRefusal& refusal) {
            if (refusal.names_its_own_kind)
                waiting.emplace_back(row, refusal);
            else
                target.refuse(csv.row_number(row), refusal);
        }
    };
    for (std::size_t row = 0; row < csv.rows(); ++row) {
        if (row % 256 == 0) {
            target.progress.step(fmt::format("{}: {} of {} rows", report.file, row, csv.rows()),
                                 static_cast<double>(row) / static_cast<double>(csv.rows()));
        }
        take_or_wait(row);
    }
    for (std::size_t before = waiting.size() + 1; waiting.size() < before;) {
        before = waiting.size();
        for (const auto& late : std::exchange(waiting, {})) take_or_wait(late.first);
    }
    for (const auto& [row, refusal] : waiting) target.refuse(csv.row_number(row), refusal);
    std::stable_sort(report.refused.begin(), report.refused.end(),
                     [](const Refusal& a, const Refusal& b) { return a.row < b.row; });
}

ImportReport import_own_table(Store& store, const tables::Kind& kind, std::string text, const std::string& name) {
    const std::string payload = payload_of(kind, name, sha256_of(text), {});
    return import_text(store, kind, std::move(text), name, payload, {}, {}, {});
}

}  // namespace importing

using importing::Target;

std::string to_text(const Refusal& refusal) {
    std::string where = refusal.file;
    if (refusal.row > 0) where += (where.empty() ? "row " : ", row ") + std::to_string(refusal.row);
    if (!refusal.column.empty()) where += (where.empty() ? "column " : ", column ") + refusal.column;
    return models::Error(refusal.what, where, refusal.mend).what();
}

long rows_refused(const std::vector<Refusal>& refusals) {
    long rows = 0;
    for (const Refusal& refusal : refusals) rows += refusal.rows;
    return rows;
}

ImportReport import_file(Store& store, const std::string& kind_name, const std::filesystem::path& file,
                         const ImportOptions& options, const models::Progress& progress) {
    const tables::Kind& kind = importing::importable_kind(kind_name);
    importing::require_words(options);
    const tables::ColumnMap map = importing::find_map(store, options.column_map);
    importing::require_weather_of_forecast(kind, options);
    const std::string name = file.filename().string();
    if (kind.name != "fields" && kind.name != "weather") {
        std::string text = tables::read_text_file(file.string());
        const std::string payload = importing::payload_of(kind, name, sha256_of(text), map);
        text = tables::utf8_of(std::move(text), map.encoding, name);
        return importing::import_text(store, kind, std::move(text), name, payload, map, options, progress);
    }
    ImportReport report;
    report.kind = kind.name;
    report.file = name;
    std::string text, payload;
    std::optional<OutlinesRead> outlines;
    const bool grid = kind.name == "weather" && is_weather_grid(file);
    if (kind.name == "fields") {
        outlines = importing::read_fields(store, file, map, progress);
        payload = importing::payload_of(kind, name, sha256_of(importing::bytes_of(file)), map);
    } else if (grid) {
        payload = importing::payload_of(kind, name, sha256_of_file(file), map);
    } else {
        text = tables::read_text_file(file.string());
        payload = importing::payload_of(kind, name, sha256_of(text), map);
        text = tables::utf8_of(std::move(text), map.encoding, name);
    }
    Transaction all(store.database());
    Target target{
        store.database(), RecordWriter(store.database(), options.actor), importing::Known(store), options, report,
        progress};
    target.writer.begin_import(payload);
    if (outlines)
        importing::import_outlines(target, *outlines);
    else if (grid)
        importing::import_weather_grid(target, store, file, map);
    else
        importing::import_weather(target, std::move(text), map);
    importing::refuse_all_when_strict(report, options);
    importing::keep_map(target, map);
    all.commit();
    importing::settle(store.database(), report);
    return report;
}

namespace {

/// Of weather some required columns may be left out, and steps of a price begin at 0: those are left to the import.
/// A correction names the record and what is other.
void require_values(const tables::Kind& kind, const std::vector<std::pair<std::string, std::string>>& values,
                    bool correction) {
    if (kind.name == "weather") return;
    for (const tables::Column& column : kind.columns) {
        const bool required =
            column.need == tables::Need::key || (column.need == tables::Need::required && !correction);
        if (!required || column.place != tables::Place::both || column.name == "from_mg_per_kg") continue;
        const bool given =
            std::any_of(values.begin(), values.end(), [&](const auto& value) { return value.first == column.name; });
        if (given) continue;
        throw models::Error(column.name + " is required and not given", "",
                            "add " + column.name + "=... (" + tables::what_it_holds(column) + ")");
    }
}

}  // namespace

namespace {

/// Advice for whoever types a row, who has no column map.
std::string for_a_typed_row(std::string mend) {
    const std::size_t map = mend.find("column map");
    if (map == std::string::npos) return mend;
    const std::size_t clause = mend.rfind(", ", map);
    if (clause == std::string::npos) return mend;
    if (mend.compare(clause, 5, ", or ") == 0) return mend.substr(0, clause);
    if (mend.compare(clause, 8, ", say so") == 0) return mend.substr(0, clause) + ", write it in the column's own unit";
    return mend.erase(clause, mend.find(',', map) - clause);
}

}  // namespace

ImportReport add_row(Store& store, const std::string& kind_name,
                     const std::vector<std::pair<std::string, std::string>>& values, const ImportOptions& options) {
    const tables::Kind& kind = importing::importable_kind(kind_name);
    importing::require_words(options);
    if (kind.name == "fields") {
        throw models::Error("an outline is not typed in by hand", "", "`lodicule import STORE fields FILE`");
    }
    const bool correction = !options.correct_because.empty();
    std::string header, row;
    for (const auto& [column, typed] : values) {
        const std::string value = correction && typed == "-" ? "" : typed;
        const bool of_the_sample = kind.name == "tests" && tables::kind_named("samples").find(column) != nullptr;
        if (kind.find(column) == nullptr && !of_the_sample) {
            const std::string near = models::nearest_name(column, kind.file_columns());
            throw models::Error("there is no column \"" + column + "\" in " + kind.name +
                                    (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                                "", "`lodicule import --help` lists the columns");
        }
        header += (header.empty() ? "" : ",") + tables::csv_cell(column);
        row += (&typed == &values.front().second ? "" : ",") + (value.empty() ? "\"\"" : tables::csv_cell(value));
    }
    if (values.empty()) throw models::Error("no value is given", "", "write them as column=value");
    require_values(kind, values, correction);
    if (kind.name == "tests" && !correction) {  // a void test has no result; of others the row itself says what lacks
        for (const char* column : {"don", "unit"}) {
            const bool given =
                std::any_of(values.begin(), values.end(), [&](const auto& value) { return value.first == column; });
            if (given) continue;
            header += std::string(",") + column;
            row += ",\"\"";
        }
    }
    const std::string text = header + "\n" + row + "\n";
    ImportOptions strict = options;
    strict.strict = false;
    const tables::ColumnMap map = importing::find_map(store, options.column_map);
    ImportReport report;
    if (kind.name == "weather") {
        report.kind = kind.name;
        Transaction all(store.database());
        Target target{store.database(),
                      RecordWriter(store.database(), options.actor),
                      importing::Known(store),
                      strict,
                      report,
                      {}};
        target.typed_by_hand = true;
        importing::import_weather(target, text, map);
        all.commit();
    } else {
        report = importing::import_text(store, kind, text, "", "", map, strict, {});
    }
    if (!report.refused.empty()) {
        const Refusal& refusal = report.refused.front();
        throw RowError(refusal.column, refusal.what, refusal.column.empty() ? "" : "column " + refusal.column,
                       for_a_typed_row(refusal.mend));
    }
    return report;
}

std::vector<ImportReport> write_rows(Store& store, const std::vector<RowToWrite>& rows, const std::string& actor) {
    ImportOptions options;
    options.actor = actor;
    std::vector<ImportReport> reports;
    Transaction together(store.database());
    for (const RowToWrite& row : rows) {
        options.correct_because = row.correct_because;
        if (row.withdraw_because.empty()) {
            reports.push_back(add_row(store, row.kind, row.values, options));
        } else {
            withdraw_row(store, row.kind, row.values, row.withdraw_because, actor);
            reports.emplace_back();
        }
    }
    together.commit();
    if (!reports.empty()) importing::settle(store.database(), reports.back());
    return reports;
}

std::vector<std::string> importable_kinds() {
    std::vector<std::string> names;
    for (const tables::Kind& kind : tables::all_kinds()) {
        if (kind.importable) names.push_back(kind.name);
    }
    return names;
}

}  // namespace geo
