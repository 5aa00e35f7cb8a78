#pragma once

#include <filesystem>
#include <functional>

#include "app/command_line.h"
#include "geo/import.h"
#include "models/progress.h"

namespace app::commands {

/// Writes the invented demo seasons (demo-data/README.md) into a folder and builds folder/demo.lodicule from them, by
/// the same imports that a user calls, file by file in the order of the scenario. Then it keeps what the program would
/// have said on past days (demo::forecast_days), as `lodicule map --keep --as-of` does, marked as made afterwards. The
/// records carry the scenario's own clock ($SOURCE_DATE_EPOCH where that is set), so the same store comes out every
/// time.
/// @param said  called with the report of each file as it went in
/// @returns  how many forecasts it keeps
/// @throws models::Error  a demo store, or another file of a scenario's name, is there already; the folder cannot be
///                        written. Nothing that was not there before is left then.
/// @throws models::Cancelled  the same, on request
int make_demo(const std::filesystem::path& folder, const std::function<void(const geo::ImportReport&)>& said,
              const models::Progress& progress = {});

Command make_demo_command();

}  // namespace app::commands
