#include "models/weather/weather_source.h"

#include <algorithm>
#include <map>
#include <set>

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
    std::map<WeatherSource, std::set<int>> of_source;
    for (const SourceOfSeason& one : seasons) of_source[one.source].insert(one.season);
    if (of_source.size() < 2) return "";
    std::string note;
    for (const auto& [source, found] : of_source) {
        note +=
            (note.empty() ? "the weather of " : ", that of ") + listed_seasons(found) + " is from " + in_words(source);
    }
    return note +
           ": counts of wet hours from different sources can lie far apart, so these seasons are not "
           "compared like with like";
}

}  // namespace models
