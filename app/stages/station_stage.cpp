#include "app/stages/station_stage.h"

#include <algorithm>
#include <cmath>
#include <iterator>

#include <fmt/format.h>

#include "geo/store/store.h"
#include "models/counted.h"
#include "models/disease/catalogue.h"
#include "models/disease/disease_risk.h"
#include "models/weather/nearest_station.h"
#include "models/weather/weather_source.h"

namespace app {

namespace {

/// The days that a model asks of the weather, over all crops of a season.
std::optional<models::DayWindow> weeks_that_matter(const SeasonData& data, int season,
                                                   const models::DiseaseModel& model) {
    std::optional<models::DayWindow> weeks;
    for (const models::CropRecord& crop : data.crops) {
        if (crop.season != season) continue;
        if (const auto day = models::day_zero_of(model, crop))
            models::widen(weeks, models::weather_needed(model, *day));
    }
    return weeks;
}

int longest_window_of(const models::DiseaseModel& model) {
    int days = 0;
    for (const models::WeatherTerm& term : model.weather) days = std::max(days, term.to_day - term.from_day + 1);
    return days == 0 ? 21 : days;  // a model without weather: that of the default one
}

StationReport report_of(const models::HourlySeries& hours, const std::optional<models::DayWindow>& weeks) {
    StationReport report;
    long long in_weeks = 0;
    for (std::size_t i = 0; i < hours.size(); ++i) {
        if (std::isnan(hours.temperature_degc[i])) continue;
        ++report.hours;
        if (!weeks) continue;
        const models::LocalDay day = hours.local_day(i);
        in_weeks += day >= weeks->first && day <= weeks->last ? 1 : 0;
    }
    if (weeks) report.coverage = std::min(1.0, static_cast<double>(in_weeks) / (24.0 * weeks->days()));
    report.flags = models::check_quality(hours);
    return report;
}

/// What two stations or fewer leave open, and stations out of one another's reach.
void say_what_cannot_be_told(StationsView& view, std::size_t with_hours, double within_m) {
    if (with_hours == 0) {
        view.notes.push_back(fmt::format("no station has an hour of {}", view.season));
    } else if (with_hours == 1) {
        view.notes.push_back(
            "with one station nothing can be held against neighbours, and no way of bringing weather to a field can be "
            "tried");
    } else if (with_hours == 2) {
        view.notes.push_back(
            "with two stations each is told from the other one alone, whatever the way: the ways cannot be compared; "
            "and where the two differ nobody can tell which one is wrong");
    } else if (!view.errors.ways.empty() && view.errors.ways.front().stations == 0) {
        view.notes.push_back(fmt::format("no two stations stand within {:.0f} km of one another: no way can be tried",
                                         within_m / 1000.0));
    }
}

}  // namespace

std::vector<models::StationWeather> weather_of_stations(const geo::Store& store, const SeasonData& data,
                                                        const models::DayWindow& days,
                                                        const models::Progress& progress) {
    std::vector<models::StationWeather> all;
    std::optional<geo::WorkSystem> work = data.work;
    if (!work && !data.stations.empty()) {
        work = geo::WorkSystem::around(data.stations.front().longitude_deg, data.stations.front().latitude_deg);
    }
    for (const models::Station& station : models::of_one_kind(data.stations)) {
        all.push_back({station, store.weather(station.station, days.first, days.last)});
        models::Station& placed = all.back().station;
        placed.place_m = work->from_degrees(placed.longitude_deg, placed.latitude_deg);
        progress.step("hours of the stations",
                      static_cast<double>(all.size()) / static_cast<double>(data.stations.size()));
    }
    return all;
}

StationsView stations_of_season(const geo::Store& store, const SeasonData& data, int season,
                                const StationSettings& settings, const models::Progress& progress) {
    const models::DiseaseModel& model = settings.model.empty()
                                            ? models::default_model()
                                            : models::find_model(settings.model, settings.include_unconfirmed);
    StationsView view;
    view.season = season;
    view.model = model.name;
    view.model_title = model.title;
    view.weeks = weeks_that_matter(data, season, model);
    // Where wheat is cut in January it flowered in the year before.
    models::DayWindow year{models::day_of(season, 1, 1), models::day_of(season, 12, 31)};
    if (view.weeks) year.first = std::min(year.first, view.weeks->first);
    view.stations = weather_of_stations(store, data, year, progress);

    models::NeighbourSettings around;
    around.threads = settings.threads;
    std::vector<models::NeighbourFlags> judged = models::check_against_neighbours(view.stations, around, progress);
    std::vector<models::Station> with_hours;
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        StationReport report = report_of(view.stations[s].hours, view.weeks);
        report.neighbours = judged[s].neighbours;
        report.not_judged = std::move(judged[s].not_judged);
        std::move(judged[s].flags.begin(), judged[s].flags.end(), std::back_inserter(report.flags));
        std::stable_sort(report.flags.begin(), report.flags.end(),
                         [](const auto& a, const auto& b) { return a.first_hour < b.first_hour; });
        for (const models::WeatherFlag& flag : report.flags) ++report.of_kind[static_cast<std::size_t>(flag.kind)];
        if (report.hours > 0) with_hours.push_back(view.stations[s].station);
        view.reports.push_back(std::move(report));
    }
    for (std::size_t s = 0; s < view.stations.size(); ++s) {
        for (const models::Station& other : with_hours) {
            if (other.station == view.stations[s].station.station) continue;
            const double away_m = models::distance_m(other.place_m, view.stations[s].station.place_m);
            std::optional<double>& nearest = view.reports[s].nearest_m;
            if (!nearest || away_m < *nearest) nearest = away_m;
        }
    }
    if (with_hours.size() >= 2) {
        models::InterpolationSettings ways = settings.ways;
        ways.way = models::WeatherWay::kriging;
        const models::StationNetwork network(view.stations, ways);
        view.errors = models::leave_stations_out(network, longest_window_of(model), settings.threads, progress);
        view.elevation = network.elevation();
        view.notes = network.notes();
        if (!view.elevation.known) {
            view.notes.push_back("temperatures are not carried to another elevation: " + view.elevation.why_not);
        }
    }
    view.errors.window_days = longest_window_of(model);
    if (const auto cells = data.stations.size() - view.stations.size(); cells > 0) {
        view.notes.push_back(
            fmt::format("{} of a grid {} not among the stations: a cell is no neighbour of a gauge, and --weather-by "
                        "leaves it out too",
                        models::counted(static_cast<long>(cells), "cell"),
                        models::by_number(static_cast<long>(cells), "is", "are")));
    }
    say_what_cannot_be_told(view, with_hours.size(), settings.ways.within_m);
    return view;
}

}  // namespace app
