#pragma once

#include <chrono>
#include <filesystem>
#include <string>
#include <vector>

#include "models/calendar.h"

/// Invented seasons of an invented district, made by a generator that knows the truth: demo-data/README.md tells the
/// story. No place, firm or person in it is real.
namespace demo {

/// One file of the scenario. `kind` is the word that `lodicule import` takes; it is empty for the files of truth/,
/// which say what the generator knew and are never imported.
struct ScenarioFile {
    std::string kind;
    std::string name;  ///< below the scenario's folder: "crops.csv", "truth/fields.csv"
    std::string text;
};

/// All files in the order in which they are imported, truth last; the same bytes every time.
std::vector<ScenarioFile> scenario_files();

struct WrittenScenario {
    std::vector<ScenarioFile> files;          ///< in the order in which they are imported
    std::vector<std::filesystem::path> made;  ///< files and folders that were not there before, in the order they came
};

/// Writes the files below the folder, which is made where it is missing. A file that is there already with the same
/// content is left; one with other content is not overwritten.
/// @throws models::Error  a file of that name with other content is there, or the folder cannot be written; nothing
///                        that was not there before is left then
WrittenScenario write_scenario(const std::filesystem::path& folder);

/// Removes what was made, the last first; a folder only where nothing else came into it.
void take_back(const std::vector<std::filesystem::path>& made);

/// Past days of which the demo store keeps what the program would have said of every field then, over this limit: after
/// the first results of a season and before most of them, and once more in the harvest of the last.
struct ForecastDay {
    int season = 0;
    models::LocalDay as_of{};
};
std::vector<ForecastDay> forecast_days();
inline constexpr const char* forecast_limit = "1.0";  ///< mg/kg

/// The evening on which the scenario stands still: everything before it has happened. Records of a store built from
/// it carry this moment, so that the same store comes out every time.
std::chrono::sys_seconds scenario_clock();

}  // namespace demo
