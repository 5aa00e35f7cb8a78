#pragma once

#include <map>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <utility>
#include <vector>

#include "geo/import.h"
#include "geo/join.h"
#include "geo/outlines.h"
#include "geo/store/records.h"
#include "geo/tables/column_map.h"
#include "geo/tables/csv.h"
#include "geo/tables/kind.h"
#include "models/assay/strip_clock.h"
#include "models/assay/strip_reading.h"
#include "models/decision/bin_content.h"
#include "models/season_of_day.h"

/// What the parts of the import share; geo/import.h is what everyone else uses.
namespace geo {
struct WeatherTable;
}

namespace geo::importing {

struct Target;

/// Why one row stays out. Thrown while a row is read, caught by the loop over the rows.
struct RowRefusal {
    std::string column, what, mend;
    bool names_its_own_kind = false;  ///< a test that supersedes one, a sample split from one, which is not there (yet)
};

/// The cells of one record under their names, for the rules that look at several columns.
class Cells {
 public:
    Cells(const tables::Kind& kind, Record& record);
    bool has(const char* column) const;
    std::string text(const char* column) const;  ///< empty where there is nothing
    double number(const char* column) const;     ///< only where has()
    std::int64_t whole(const char* column) const;
    void set(const char* column, Value value);

 private:
    std::size_t place(const char* column) const;
    std::vector<const tables::Column*> columns_;
    Record& record_;
};

/// What is in the store already, as far as rows refer to it; filled when first asked, kept up as rows go in.
class Known {
 public:
    explicit Known(const Store& store);
    ~Known();
    Known(Known&&) noexcept;

    const std::set<std::string>& names(const std::string& kind);
    bool has_part(const std::string& field, const std::string& part);
    void add(const tables::Kind& kind, const Record& record);

    const std::vector<models::SeasonDates>& seasons_of(const std::string& field);
    bool any_crops();
    /// What later rows are held against; a name that is not there gives an empty one.
    struct SampleTold {
        std::string sample, field, stage;
        std::optional<models::Stamp> taken;
        std::optional<double> mass_g;
        std::string parent;
    };
    const SampleTold& sample_told(const std::string& sample);
    /// Since when there is grain of a sample, by its own record and those that it was split from.
    models::GrainThere grain_there(const std::string& sample);
    /// A sample that goes in together with the test that is checked next.
    void expect_sample(SampleTold sample);
    /// The earliest valid or void test of a sample that is there, by the time it was read.
    struct TestTold {
        std::string test;
        models::Stamp time;
    };
    std::optional<TestTold> first_test_of(const std::string& sample);
    /// The test of a sample whose portion weighs most; an empty name where none says its portion.
    struct PortionTold {
        std::string test;
        double portion_g = 0.0;
    };
    PortionTold heaviest_portion_of(const std::string& sample);
    /// A sample that was split from this one; empty where there is none.
    std::string split_from(const std::string& sample);
    /// Of which fields a load holds grain, as far as that is said; an empty name is bought grain.
    std::set<std::string> fields_of_load(const std::string& load);
    /// The range that strips of a kit lot read, the widest of its dilutions, for this grain where there is one for it.
    struct KitLotTold {
        double low_mg_per_kg = 0.0, high_mg_per_kg = 0.0;
        std::optional<models::LocalDay> expires;
    };
    std::optional<KitLotTold> kit_lot_told(const std::string& kit_lot, const std::string& commodity);
    /// The curve of a kit lot in words, empty where it has none; nullopt where there is no such lot.
    std::optional<std::string> curve_told(const std::string& kit_lot, const std::string& commodity, double dilution);
    long calibrators_told(const std::string& kit_lot, const std::string& commodity, double dilution);
    std::optional<models::LocalDay> last_day_of_control(const std::string& control);
    bool has(const std::string& kind, const std::string& name);
    std::string superseded_by(const std::string& test);
    struct Centre {
        double longitude_deg = 0.0, latitude_deg = 0.0;
    };
    std::optional<Centre> centre();
    /// Where the sample's position lies, among the outlines that were there when it was first asked; nullopt where it
    /// has none or the store has no outlines.
    std::optional<SampleJoin> place_of(const Cells& sample);

 private:
    const Store& store_;
    Database& database_;
    bool looked_for_outlines_ = false;
    std::unique_ptr<SampleJoiner> joiner_;
    std::map<std::string, std::set<std::string>> names_;
    std::optional<std::set<std::pair<std::string, std::string>>> parts_;
    std::optional<std::map<std::string, std::vector<models::SeasonDates>>> seasons_;
    SampleTold expected_, told_;
    std::optional<std::map<std::string, TestTold>> first_tests_;
    std::map<std::pair<std::string, std::string>, std::optional<KitLotTold>> kit_lots_;
};

/// Notes of one sort: the first few are told, the others counted.
class FewNotes {
 public:
    FewNotes(std::vector<std::string>& notes, std::string of_the_others)
        : notes_(notes), others_(std::move(of_the_others)) {}
    ~FewNotes();  ///< "and 295 more columns are kept as notes"
    FewNotes(const FewNotes&) = delete;
    FewNotes& operator=(const FewNotes&) = delete;
    void add(std::string note) {
        if (++count_ <= told) notes_.push_back(std::move(note));
    }

 private:
    static constexpr long told = 5;
    std::vector<std::string>& notes_;
    std::string others_;
    long count_ = 0;
};

/// The moment a sample was taken, the moment a test of it was read: clocks of two devices may differ by as much (ours).
inline constexpr std::chrono::hours clocks_differ_by{2};

/// What is odd in rows that go in all the same: a clock that is behind, a strip that runs since before there was grain,
/// a reading that its kit lot cannot give, a kit lot that is not there or past its day. Told once a kit lot, and of
/// readings the first few.
class Oddities {
 public:
    explicit Oddities(ImportReport& report)
        : readings_(report.cautions, "tests read outside the range of their kit lot"),
          days_(report.cautions, "tests were read on odd days"),
          starts_(report.cautions, "strips were started before there was grain for them"),
          cautions_(report.cautions) {}
    void look_at(const tables::Kind& kind, const Cells& cells, Known& known);

 private:
    void look_at_start(const std::string& what, const std::string& sample, const models::Stamp& started, Known& known);

    FewNotes readings_, days_, starts_;
    std::vector<std::string>& cautions_;
    std::set<std::string> lots_told_;
};

/// Rules that look at several columns of one row, and at what the row refers to.
/// @param as_written  contents that look like another unit are meant as they stand
/// @throws RowRefusal
void check_record(const tables::Kind& kind, Record& record, Known& known, bool as_written = false);

/// Of those, the rules of curves: of a kit lot's parameters, of calibrators, of a strip that has only signals.
void check_kit_lot_curve(const Cells& cells, Known& known);
void check_calibrator(const Cells& cells, Known& known);
void check_signals(const Cells& cells);

/// What the strips of the store read before kit lots or calibrators go in, for a curve belongs to tests that were read
/// long ago. Afterwards: results that change are named, and without a reason for a correction nothing goes in; nor do
/// calibrators of which no curve comes, unless more of them may follow (fewer than four; typed one by one, fewer than
/// four contents).
class ReadingsBefore {
 public:
    explicit ReadingsBefore(const Store& store);
    /// @throws models::Error  and then the whole table is to stay out
    void require_kept(Target& target, const Store& store) const;

 private:
    std::map<std::string, models::StripReading> by_curve_;  ///< by the test's name
};

/// @throws RowRefusal  the station stands far from all fields, and near when longitude and latitude are swapped
void check_station_place(const std::string& station, double longitude_deg, double latitude_deg, Known& known);

/// @throws RowRefusal  the cell is longer than any may be
void require_short(const std::string& column, std::string_view cell);

/// A tests table that has the sample's columns: each row makes its sample, too. Known by its column `stage`.
bool carries_samples(const tables::Csv& csv, const tables::ColumnMap& map);

/// How rows are taken.
struct Reading {
    bool columns_may_lack = false;  ///< required ones, too: a correction by hand, which keeps what it does not name
    bool as_written = false;        ///< a result that looks like another unit is meant as it stands
};

/// The rows of a CSV file as records of one kind.
class RowReader {
 public:
    /// @param beside  another kind that reads the same rows: its columns are no notes of this one's records, and this
    ///                one alone keeps the notes when `keep_notes`
    /// @throws models::Error  a required column is missing
    RowReader(const tables::Kind& kind, const tables::Csv& csv, const tables::ColumnMap& map, const std::string& file,
              const Reading& reading = {}, const tables::Kind* beside = nullptr, bool keep_notes = true);

    /// @throws RowRefusal
    Record read(std::size_t row) const;
    /// Header names that are none of ours.
    const std::vector<std::string>& unknown_columns() const { return unknown_; }
    bool has_column(const char* column) const;
    /// Whether the table speaks of a stored column; what a test read comes from `don`.
    bool speaks_of(const tables::Column& column) const;

 private:
    struct Bound {
        const tables::Column* column = nullptr;
        int place = -1;          ///< in the file
        std::string fixed;       ///< or the same text in every row
        std::string their_name;  ///< what refusals name
    };
    std::string_view text_of(const Bound& bound, std::size_t row) const;
    void read_don(std::size_t row, Cells& cells) const;

    const tables::Kind& kind_;
    const tables::Csv& csv_;
    const tables::ColumnMap& map_;
    const Reading reading_;
    std::vector<Bound> bound_;
    std::vector<std::pair<int, std::string>> note_columns_;
    std::vector<std::string> unknown_;
    Spoken spoken_;
};

/// What one import writes into: the transaction's writer, what is known, the report.
struct Target {
    Database& database;
    RecordWriter writer;
    Known known;
    const ImportOptions& options;
    ImportReport& report;
    const models::Progress& progress;
    bool typed_by_hand = false;

    void refuse(long row, const RowRefusal& refusal) {
        report.refused.push_back({report.file, row, refusal.column, refusal.what, refusal.mend});
    }
    /// @throws RowRefusal  where something else is there under its key and no reason for a correction is given
    Put put(const tables::Kind& kind, const Record& record, bool may_correct = true);
    void count(Put put);
};

/// The key in words: "F12, 2026".
std::string key_of(const tables::Kind& kind, const Record& record);

/// A correction keeps what it does not speak of: fills the columns that the table does not have from the record that
/// stands under the same key.
/// @returns  that record; nullopt where nothing is corrected
/// @throws RowRefusal  typed by hand, and there is no such record
std::optional<Record> keep_the_rest(Target& target, const tables::Kind& kind, const RowReader& reader, Record& record);
/// Tells in the report what became of each column.
void tell_correction(ImportReport& report, const tables::Kind& kind, const RowReader& reader, const Record& before,
                     const Record& after);

/// Which rows of a table of moves cannot have happened, played in the order of time together with all moves of the
/// store; or would leave a move that is there already without its grain.
std::map<std::size_t, RowRefusal> impossible_moves(Target& target, const Store& store, const RowReader& reader,
                                                   std::size_t rows);
/// The move of a row; its other words are left out.
models::Move move_in(const Cells& cells);
/// Those of the moves that cannot have happened between these bins and loads, by name.
std::map<std::string, models::ImpossibleMove> impossible_of(const std::vector<models::Bin>& bins,
                                                            const std::vector<models::Load>& loads,
                                                            const std::vector<models::Move>& moves);

void import_table(Target& target, const Store& store, const tables::Kind& kind, const tables::Csv& csv,
                  const tables::ColumnMap& map);

OutlinesRead read_fields(Store& store, const std::filesystem::path& file, const tables::ColumnMap& map,
                         const models::Progress& progress);
void import_outlines(Target& target, const OutlinesRead& outlines);
void import_weather(Target& target, std::string text, const tables::ColumnMap& map);
/// The cells of a grid that the store's fields lie in.
void import_weather_grid(Target& target, const Store& store, const std::filesystem::path& file,
                         const tables::ColumnMap& map);
/// The stations of a weather table and their hours; what does not fit is refused in the report.
void put_weather(Target& target, const WeatherTable& table, const tables::ColumnMap& map);

/// A table that ships with the program.
ImportReport import_own_table(Store& store, const tables::Kind& kind, std::string text, const std::string& name);

/// All bytes of the file, of a shapefile its .shp, .shx, .dbf and .prj; what an import is known by.
std::string bytes_of(const std::filesystem::path& file);

}  // namespace geo::importing
