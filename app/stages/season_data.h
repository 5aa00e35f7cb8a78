#pragma once

#include <map>
#include <optional>
#include <string>
#include <unordered_map>
#include <utility>
#include <vector>

#include "geo/join.h"
#include "geo/work_system.h"
#include "models/assay/control_check.h"
#include "models/assay/kit_lot.h"
#include "models/assay/strip_reading.h"
#include "models/records.h"

namespace geo {
class Store;
}

namespace app {

/// Everything of the store but the weather, read once: what the stages of the work draw on.
struct SeasonData {
    std::optional<geo::WorkSystem> work;
    std::vector<int> seasons;  ///< with crop records; where there are none at all, with loads
    std::vector<models::Field> fields;
    std::vector<models::CropRecord> crops;   ///< all seasons
    std::vector<models::Station> stations;   ///< with hours of their own, and cells of grids
    std::vector<models::Station> forecasts;  ///< of stations and cells, one a time of issue
    std::vector<models::Sample> samples;
    std::vector<models::Test> tests;
    std::map<std::string, models::StripReading> strips;  ///< by test: those that flags or a curve's error go with
    std::vector<models::Load> loads;
    std::vector<models::Bin> bins;
    std::vector<models::Move> moves;
    std::vector<models::Limit> limits;
    std::vector<models::Cost> costs;
    std::vector<models::ControlMaterial> controls;
    std::vector<models::KitLot> kit_lots;
    geo::JoinReport joined;  ///< one entry a sample, in the order of `samples`

    // Where a name stands in the lists above.
    std::map<std::pair<std::string, std::string>, std::size_t> outline_by_ground;  ///< field and part
    std::map<std::string, std::vector<std::size_t>> crops_by_field;
    std::unordered_map<std::string, std::size_t> load_by_name;

    std::vector<models::Contract> contracts;
    std::map<std::string, std::string> directed_bins;  ///< by load of that state; empty: nobody wrote which
};
SeasonData read_season_data(const geo::Store& store);
/// Leaves out what was not known at the end of a day: tests, loads and moves of later days, by their own clocks. Crop
/// records stay, for their dates are looked at one by one (models::as_known), and so do corrections that came later.
void leave_out_later(SeasonData& data, models::LocalDay day);

/// What a person calls the ground of a crop record or field: "Long Acre" or "Long Acre, headland".
std::string ground_name(const std::string& field, const std::string& part);

/// The outline of a crop record: of its part where that is drawn, else of its field; null where neither is.
const models::Field* outline_of(const SeasonData& data, const std::string& field, const std::string& part);

/// The crop record that speaks for ground of a field: of the part, or of the whole field. nullopt where the season has
/// none, or only parts and none is named.
std::optional<std::size_t> crop_of_ground(const SeasonData& data, const std::string& field, const std::string& part,
                                          int season);

/// The season that something of a field belongs to, by its crop records (models/season_of_day.h).
int season_of(const SeasonData& data, const std::string& field, models::LocalDay day);
/// The season of a test: by the field that its sample or the load of it came from, else the year of its stamp.
int season_of_test(const SeasonData& data, const models::Test& test);
int season_of_load(const SeasonData& data, const models::Load& load);

/// Index of a sample by its name; nullopt where there is none.
std::optional<std::size_t> sample_index(const SeasonData& data, const std::string& sample);

/// The sample that was taken: of one that was split off, what it was split from; else the sample itself.
std::size_t taken_sample(const SeasonData& data, std::size_t sample);

/// The grain that a sample speaks for: a load, a bin or a field, or nothing that is recorded. What was taken decides,
/// so that everything split from one sample is of the same grain; where that says nothing, the sample itself does. The
/// field is where the sample lies (geo/join.h), else the one it names.
struct GrainOfSample {
    std::size_t taken = 0;  ///< the sample that was taken
    std::string load, bin;
    std::string field, part;  ///< of a sample of neither load nor bin
};
GrainOfSample grain_of_sample(const SeasonData& data, std::size_t sample);

/// The load with this name; null where there is none.
const models::Load* load_named(const SeasonData& data, const std::string& load);

/// The sample with the moisture of its grain: its own, else that of the sample it was split from, else its load's.
models::Sample with_moisture(const SeasonData& data, std::size_t sample);

/// Controls that read outside what they accept or break a rule of their chart, and share a run with results of the
/// season, or were read in its year.
std::vector<models::FailedControl> failed_controls(const SeasonData& data, int season);

/// The newest of the seasons.
/// @throws models::Error  the store has neither crop records nor loads
int newest_season(const SeasonData& data);

/// The limit that the user names (a limit_id or a number), in force at the harvest of the season.
models::Limit limit_for_season(const SeasonData& data, const std::string& text, int season);
/// A day of the season's harvest: of its last test, else 1 September, in the south two months after flowering.
models::LocalDay harvest_day(const SeasonData& data, int season);

/// Tonnes that a crop record is going to deliver; where its yield is not known the median yield of the season's
/// records stands in, where none is known one tonne a hectare, and `assumed` says so.
struct ExpectedTonnes {
    double tonnes = 0.0;
    bool assumed = false;
};
ExpectedTonnes expected_tonnes(const SeasonData& data, const models::CropRecord& crop);

}  // namespace app
