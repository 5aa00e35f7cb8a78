#include "app/commands/weather_command.h"

#include <algorithm>
#include <chrono>
#include <memory>

#include <fmt/format.h>
#include <nlohmann/json.hpp>

#include "app/commands/season_options.h"
#include "app/commands/terminal_progress.h"
#include "app/stages/station_stage.h"
#include "app/table_text.h"
#include "geo/store/store.h"
#include "models/counted.h"
#include "models/error.h"

namespace app::commands {

namespace {

using Json = nlohmann::ordered_json;

struct WeatherCommand {
    SeasonOptions season;
    std::string model;
    bool include_unconfirmed = false, all = false;
    double power = 2.0, within_km = 100.0;
    int most_stations = 8;
};

/// One line of the table of ways: which error, in what unit.
struct ErrorLine {
    const char* quantity;
    const char* words;
    const char* unit;
    models::ErrorOf models::WayErrors::*error;
};
constexpr ErrorLine error_lines[] = {
    {"daily_mean_temperature", "mean temperature of a day", "degC", &models::WayErrors::daily_mean_degc},
    {"temperature", "temperature of an hour", "degC", &models::WayErrors::temperature_degc},
    {"dew_point", "dew point of an hour", "degC", &models::WayErrors::dew_point_degc},
    {"warm_wet_hours", "warm wet hours of {} days", "h", &models::WayErrors::warm_wet_hours},
    {"dew_point_depression", "temperature less dew point, {} days", "degC", &models::WayErrors::depression_degc},
    {"daily_rain", "rain of a day", "mm", &models::WayErrors::daily_rain_mm},
    {"rain", "rain of an hour", "mm", &models::WayErrors::rain_mm},
};

Json json_or_null(const std::optional<double>& value) {
    return value ? Json(*value) : Json();
}

Json json_of_station(const models::StationWeather& given, const StationReport& report) {
    Json row;
    row["station"] = given.station.station;
    row["longitude_deg"] = given.station.longitude_deg;
    row["latitude_deg"] = given.station.latitude_deg;
    row["elevation_m"] = json_or_null(given.station.elevation_m);
    row["hours"] = report.hours;
    row["coverage"] = json_or_null(report.coverage);
    row["nearest_km"] = report.nearest_m ? Json(*report.nearest_m / 1000.0) : Json();
    row["neighbours"] = report.neighbours;
    row["not_judged"] = report.not_judged;
    row["flags"] = Json::array();
    for (const models::WeatherFlag& flag : report.flags) {
        row["flags"].push_back({{"kind", std::string(models::name_of(flag.kind))},
                                {"quantity", flag.quantity},
                                {"from", models::to_text(given.hours.stamp(flag.first_hour))},
                                {"to", models::to_text(given.hours.stamp(flag.last_hour))},
                                {"reason", flag.reason}});
    }
    return row;
}

Json json_of_stations(const StationsView& view) {
    Json out;
    out["season"] = view.season;
    out["model"] = view.model;
    out["weeks"] = Json();
    if (view.weeks)
        out["weeks"] = {{"first", models::to_text(view.weeks->first)}, {"last", models::to_text(view.weeks->last)}};
    out["stations"] = Json::array();
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        out["stations"].push_back(json_of_station(view.stations[s], view.reports[s]));
    }
    out["window_days"] = view.errors.window_days;
    out["elevation_used"] = view.elevation.known;
    out["ways"] = Json::array();
    for (const models::WayErrors& way : view.errors.ways) {
        Json row;
        row["way"] = std::string(models::name_of(way.way));
        row["stations"] = way.stations;
        row["errors"] = Json::array();
        for (const ErrorLine& line : error_lines) {
            const models::ErrorOf& error = way.*line.error;
            const bool known = error.counted > 0;
            row["errors"].push_back({{"quantity", line.quantity},
                                     {"unit", line.unit},
                                     {"counted", error.counted},
                                     {"mean_error", known ? Json(error.mean_error) : Json()},
                                     {"rmse", known ? Json(error.rmse) : Json()}});
        }
        out["ways"].push_back(std::move(row));
    }
    out["notes"] = view.notes;
    return out;
}

void print_stations(const StationsView& view) {
    std::string weeks = "no flowering date is known, so no weeks matter more than others";
    if (view.weeks) {
        weeks = fmt::format("the weeks that matter are {} to {} (model: {})", models::to_text(view.weeks->first),
                            models::to_text(view.weeks->last), view.model_title);
    }
    print(fmt::format("Weather stations, season {}", view.season));
    print(wrapped_text(weeks + "."));
    TextTable table(
        {"station", ">latitude", ">longitude", ">elevation", ">hours", ">of the weeks", ">next station", ">flags"});
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        const models::Station& station = view.stations[s].station;
        const StationReport& report = view.reports[s];
        table.row(
            {station.station, fmt::format("{:.4f}", station.latitude_deg), fmt::format("{:.4f}", station.longitude_deg),
             station.elevation_m ? fmt::format("{:.0f} m", *station.elevation_m) : "–", std::to_string(report.hours),
             report.coverage ? fmt::format("{:.0f} %", 100.0 * *report.coverage) : "–",
             report.nearest_m ? fmt::format("{:.1f} km", *report.nearest_m / 1000.0) : "–",
             std::to_string(report.flags.size())});
    }
    print(table.text_within());
}

/// How many flags of each kind, a station with any in a row; kinds that nowhere occur have no column.
TextTable flags_by_kind(const StationsView& view) {
    std::vector<std::size_t> kinds;
    std::vector<std::string> columns = {"station"};
    for (std::size_t k = 0; k < models::flag_kinds; ++k) {
        if (std::any_of(view.reports.begin(), view.reports.end(),
                        [&](const StationReport& report) { return report.of_kind[k] > 0; })) {
            kinds.push_back(k);
            columns.push_back(fmt::format(">{}", models::name_of(static_cast<models::FlagKind>(k))));
        }
    }
    TextTable table(columns);
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        if (view.reports[s].flags.empty()) continue;
        std::vector<std::string> cells = {view.stations[s].station.station};
        for (const std::size_t k : kinds) cells.push_back(std::to_string(view.reports[s].of_kind[k]));
        table.row(std::move(cells));
    }
    return table;
}

/// Why the neighbours of some stations say nothing, each reason once.
void print_not_judged(const StationsView& view) {
    std::vector<std::pair<std::string, std::string>> reasons;  // and the stations
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        const std::string& reason = view.reports[s].not_judged;
        if (reason.empty()) continue;
        auto found =
            std::find_if(reasons.begin(), reasons.end(), [&](const auto& told) { return told.first == reason; });
        if (found == reasons.end()) found = reasons.insert(reasons.end(), {reason, ""});
        found->second += (found->second.empty() ? "" : ", ") + view.stations[s].station.station;
    }
    for (const auto& [reason, stations] : reasons) {
        print(wrapped_text(fmt::format("Not held against neighbours: {} ({}).", stations, reason)));
    }
}

void print_flags(const StationsView& view, bool all) {
    constexpr std::size_t told_without_all = 10;
    std::size_t flags = 0;
    for (const StationReport& report : view.reports) flags += report.flags.size();
    if (flags == 0) return;
    print("Flags: what a working sensor at its place would hardly have written. Nothing is left out for them.");
    print(flags_by_kind(view).text_within());
    std::size_t told = 0;
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        for (const models::WeatherFlag& flag : view.reports[s].flags) {
            if (!all && told == told_without_all) {
                print(fmt::format("  and {} more; --all lists them", flags - told));
                return;
            }
            print(wrapped_text(
                fmt::format("{}: {}: {}.", view.stations[s].station.station, models::name_of(flag.kind), flag.reason),
                100, "  "));
            ++told;
        }
    }
}

void print_ways(const StationsView& view) {
    if (view.errors.ways.empty() || view.errors.ways.front().stations == 0) return;
    print("\nEach station left out and told from the others: mean of estimate less measurement, and RMSE");
    std::vector<std::string> columns = {""};
    for (const models::WayErrors& way : view.errors.ways) {
        columns.push_back(fmt::format(">{}", models::name_of(way.way)));
        columns.push_back(">RMSE");
    }
    columns.emplace_back(">counted");
    TextTable table(columns);
    for (const ErrorLine& line : error_lines) {
        std::vector<std::string> row = {
            fmt::format("{}, {}", fmt::format(fmt::runtime(line.words), view.errors.window_days), line.unit)};
        long long most = 0;
        for (const models::WayErrors& way : view.errors.ways) {
            const models::ErrorOf& error = way.*line.error;
            row.push_back(error.counted > 0 ? fmt::format("{:+.2f}", error.mean_error) : "–");
            row.push_back(error.counted > 0 ? fmt::format("{:.2f}", error.rmse) : "–");
            most = std::max(most, error.counted);
        }
        row.push_back(std::to_string(most));
        table.row(std::move(row));
    }
    print(table.text_within());
    print(wrapped_text(
        "nearest: the nearest station's hours as they are. distance: the mean of the stations around, by 1 / distance "
        "to "
        "the power. kriging: by a variogram of the season. warm wet hours: 15 to 30 degC and at least 90 %. A mean "
        "over "
        "stations has more hours with a little rain than any gauge: trust it for sums. Fields stand nearer to stations "
        "than these to one another, so most are told better than this."));
}

int run_weather(const WeatherCommand& command) {
    const auto started = std::chrono::steady_clock::now();
    if (command.season.threads < 0)
        throw models::Error("a number of threads cannot be negative", "--threads", "0 is all");
    StationSettings settings;
    settings.model = command.model;
    settings.include_unconfirmed = command.include_unconfirmed;
    settings.threads = command.season.threads;
    settings.ways.power = command.power;
    settings.ways.most_stations = command.most_stations;
    settings.ways.within_m = 1000.0 * command.within_km;
    models::check(settings.ways);
    StationsView view;
    {
        const TerminalProgress shown;
        const geo::Store store = geo::Store::open(command.season.store, geo::Store::Access::read_only);
        const SeasonData data = read_season_data(store);
        const int season = command.season.season ? *command.season.season : newest_season(data);
        if (data.stations.empty()) {
            throw models::Error("the store has no weather station", store.file().filename().string(),
                                "import weather first: lodicule import STORE weather FILE");
        }
        view = stations_of_season(store, data, season, settings, shown.progress());
    }
    if (command.season.json) {
        print(json_of_stations(view).dump(2));
    } else {
        print_stations(view);
        print_not_judged(view);
        print_flags(view, command.all);
        print_ways(view);
        for (const std::string& note : view.notes) print(wrapped_text("Note: " + note + "."));
    }
    if (command.season.timing) {
        fmt::print(stderr, "{:.3f} s\n",
                   std::chrono::duration<double>(std::chrono::steady_clock::now() - started).count());
    }
    return 0;
}

}  // namespace

Command make_weather_command() {
    return {"weather", "Weather stations of a season: odd hours, and ways to bring weather to fields.",
            [](Options& options) {
                auto command = std::make_shared<WeatherCommand>();
                command->season.declare(options);
                options.option(command->model, "--model", "NAME",
                               "disease model whose weeks and windows count; the default one where it is not said");
                options.flag(command->include_unconfirmed, "--include-unconfirmed",
                             "--model may name one whose numbers nobody confirmed");
                options.flag(command->all, "--all", "lists every flag, not the first ten alone");
                options.option(command->power, "--power", "P", "of the distance, for the way `distance`");
                options.option(command->most_stations, "--stations", "N",
                               "the nearest so many stations tell a place, 1 to 16");
                options.option(command->within_km, "--within", "KM", "and none from farther away");
                options.footer(
                    "Example: lodicule weather season.lodicule --season 2026\n"
                    "Flags by the station alone: range, step, stuck. By two neighbours or more within 150 km: hours or "
                    "days\n"
                    "far from where they put them, the level of a sensor, a blocked gauge, a clock an hour off.\n"
                    "Nothing is left out for a flag: correct the table (import --correct REASON) where it is right.\n"
                    "Elevations (column elevation_m of stations and fields) carry temperatures up and down.");
                return [command] { return run_weather(*command); };
            }};
}

}  // namespace app::commands
