#pragma once

#include <filesystem>
#include <memory>
#include <optional>
#include <set>
#include <string>
#include <vector>

#include "geo/work_system.h"
#include "models/records.h"
#include "models/weather/hourly_series.h"

namespace models {
struct KitLot;        // models/assay/kit_lot.h
struct StripReading;  // models/assay/strip_reading.h
}  // namespace models

namespace geo {

/// A record that was taken back: what it was, who took it back, when and why.
struct Withdrawal {
    std::string kind, name;  ///< "moves", "M43"
    std::string reason, actor, utc;
};
std::string in_words(const Withdrawal& withdrawal);  ///< one sentence, without its full stop

class Database;  // geo/store/database.h: the thin layer over SQLite
class Statement;

/// One file that holds everything of any number of seasons, and a chain of records that nobody can alter unseen.
/// Reading gives the current version of each record, ordered by its key; changing is done by geo/import and by the
/// functions of geo/store that append to the chain. One object a thread.
/// @throws models::Error  on everything that SQLite, SpatiaLite or the file system refuses, in words
class Store {
 public:
    enum class Access { read_write, read_only };

    /// @throws models::Error  when the file is there already
    static Store create(const std::filesystem::path& file);
    /// Upgrades an older schema (after a backup beside it), to read it too; refuses a newer one, an empty file and any
    /// other file.
    static Store open(const std::filesystem::path& file, Access access = Access::read_write);
    Store(Store&&) noexcept;
    Store& operator=(Store&&) noexcept;
    ~Store();

    const std::filesystem::path& file() const;
    Database& database() const;
    /// nullopt until the first outlines are imported.
    std::optional<WorkSystem> work_system() const;

    std::vector<int> seasons() const;               ///< that have crop records, ascending
    std::vector<models::Field> fields() const;      ///< parts listed after their field
    std::vector<models::CropRecord> crops() const;  ///< all seasons
    std::vector<models::CropRecord> crops(int season) const;
    std::vector<models::Scouting> scouting() const;
    std::vector<models::Station> stations() const;   ///< with hours of their own, and cells of grids
    std::vector<models::Station> forecasts() const;  ///< one a place and time of issue; no stations() of these
    /// Names of the stations, cells and forecasts that have hours in the months of [from, to].
    std::set<std::string> with_hours(models::LocalDay from, models::LocalDay to) const;
    /// The station's hours whose local day lies in [from, to]; hours never reported are NaN.
    models::HourlySeries weather(const std::string& station, models::LocalDay from, models::LocalDay to) const;
    std::vector<models::Sample> samples() const;
    /// Superseded ones left out, voids kept. Each is what counts of it (models/assay/strip_reading.h): one that has
    /// only signals is read by the curve of its kit lot.
    std::vector<models::Test> tests() const;
    /// The same with what is odd about each, one a test.
    std::vector<models::StripReading> strip_readings() const;
    /// Those with calibrators have the curve that is fitted to them.
    std::vector<models::KitLot> kit_lots() const;
    std::vector<models::Load> loads() const;  ///< by time, with their parts
    std::vector<models::Bin> bins() const;
    std::vector<models::Move> moves() const;  ///< by time
    std::vector<models::Limit> limits() const;
    std::vector<models::Contract> contracts() const;  ///< by name, all steps of one together
    std::vector<models::Cost> costs() const;
    /// Records that are withdrawn and did not come back, in the order in which they were withdrawn.
    std::vector<Withdrawal> withdrawals() const;

 private:
    explicit Store(std::unique_ptr<Database> database, std::filesystem::path file);
    std::unique_ptr<Database> database_;
    std::filesystem::path file_;
    mutable std::unique_ptr<Statement> weather_query_;  ///< prepared once: it is run for every station of every season
};

}  // namespace geo
