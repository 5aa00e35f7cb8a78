#include <fmt/format.h>

#include "geo/import_rows.h"
#include "geo/store/store.h"
#include "geo/weather_grid.h"
#include "models/error.h"
#include "models/weather/weather_source.h"

namespace geo::importing {

namespace {

/// A grid that reaches days beyond the moment it was made is a forecast, and says so or is not read.
void require_forecast_to_be_said(const WeatherGrid& grid, Target& target) {
    if (!grid.made_utc) return;
    constexpr std::chrono::hours of_a_reanalysis{24};  // which may be put together from short forecasts
    const std::string made = models::utc_in_words(*grid.made_utc);
    const auto& said = target.options.forecast_made_utc;
    if (!said && grid.reach > of_a_reanalysis) {
        throw models::Error(
            fmt::format("the file is a forecast: it was made {} and reaches {} hours on", made, grid.reach.count()),
            target.report.file, fmt::format("say so: --forecast-made {}", models::to_text(*grid.made_utc)));
    }
    if (said && *said != *grid.made_utc) {
        target.report.notes.push_back(
            fmt::format("the file says that it was made {}; it is kept as made {}", made, models::utc_in_words(*said)));
    }
}

}  // namespace

void import_weather_grid(Target& target, const Store& store, const std::filesystem::path& file,
                         const tables::ColumnMap& map) {
    GridForms forms;
    forms.variables = map.theirs;
    forms.units = map.units;
    forms.clock = map.offset;
    forms.zone = map.zone;
    forms.rain_accumulates = map.rain_accumulates;
    if (const auto name = map.fixed.find("station"); name != map.fixed.end()) forms.name = name->second;
    const WeatherGrid grid = read_weather_grid(file, store.fields(), forms, target.progress);
    require_forecast_to_be_said(grid, target);
    target.report.rows = grid.table.rows;
    target.report.notes.insert(target.report.notes.end(), grid.table.notes.begin(), grid.table.notes.end());
    put_weather(target, grid.table, map);
}

}  // namespace geo::importing
