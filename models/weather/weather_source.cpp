#include "models/weather/weather_source.h"

#include <algorithm>
#include <map>
#include <set>

#include <fmt/format.h>

#include "models/calendar.h"

namespace models {

namespace {

/// "2022, 2023 and 2025".
std::string listed_seasons(const std::set<int>& seasons) {
    std::string list;
    std::size_t done = 0;
    for (const int season : seasons) {
        if (done > 0) list += done + 1 == seasons.size() ? " and " : ", ";
        list += std::to_string(season);
        ++done;
    }
    return list;
}

}  // namespace

std::string in_words(WeatherSource source) {
    switch (source) {
        case WeatherSource::on_site:
            return "a weather station";
        case WeatherSource::grid:
            return "a grid cell";
        case WeatherSource::forecast:
            return "a forecast";
    }
    return "";
}

std::string in_words(const Station& station) {
    std::string words = in_words(station.source);
    if (station.source == WeatherSource::forecast && station.made_utc) {
        words += " made " + utc_in_words(*station.made_utc);
    }
    return words;
}

std::string utc_in_words(std::chrono::sys_seconds utc) {
    const std::string text = to_text(utc);  // 2026-06-01T00:00:00Z
    return text.substr(0, 10) + " " + text.substr(11, 5) + " UTC";
}

std::vector<Station> of_one_kind(std::vector<Station> stations) {
    const auto is_no_station = [](const Station& one) { return one.source != WeatherSource::on_site; };
    if (!std::all_of(stations.begin(), stations.end(), is_no_station)) std::erase_if(stations, is_no_station);
    return stations;
}

std::string note_of_changed_source(std::vector<SourceOfSeason> seasons) {
    std::map<int, std::set<WeatherSource>> of_season;
    for (const SourceOfSeason& one : seasons) of_season[one.season].insert(one.source);
    std::map<std::set<WeatherSource>, std::set<int>> alike;
    for (const auto& [season, sources] : of_season) alike[sources].insert(season);
    if (alike.empty() || (alike.size() == 1 && alike.begin()->first.size() == 1)) return "";
    std::string note;
    for (const auto& [sources, found] : alike) {
        std::string from;
        for (const WeatherSource source : sources) from += (from.empty() ? "" : ", of others from ") + in_words(source);
        note += fmt::format("{}{} is {}from {}", note.empty() ? "the weather of " : ", that of ", listed_seasons(found),
                            sources.size() > 1 ? "of some fields " : "", from);
    }
    return note + ": counts of wet hours from different sources can lie far apart, so these " +
           (of_season.size() > 1 ? "seasons" : "fields") + " are not compared like with like";
}

}  // namespace models
