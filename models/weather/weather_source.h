#pragma once

#include <chrono>
#include <string>
#include <vector>

#include "models/records.h"

namespace models {

/// Where hours come from, for people. A logger in the crop and the cell of a grid tens of kilometres wide can count
/// very different wet hours (common practice, no source), so a source is named wherever another stands beside it.
std::string in_words(WeatherSource source);  ///< "a weather station", "a grid cell", "a forecast"
/// "a weather station", "a grid cell", "a forecast made 2026-06-01 00:00 UTC".
std::string in_words(const Station& station);
std::string utc_in_words(std::chrono::sys_seconds utc);  ///< "2026-06-01 00:00 UTC"

/// Those that may be averaged or held against one another: weather stations where there are any, else cells of a grid.
std::vector<Station> of_one_kind(std::vector<Station> stations);

/// What one season's numbers rest on.
struct SourceOfSeason {
    int season = 0;
    WeatherSource source = WeatherSource::on_site;
};

/// Tells when seasons that are compared, or the fields of one, rest on different sources, in one sentence without its
/// full stop; empty where they all rest on the same. The seasons may come in any order and more than once (once a
/// field).
std::string note_of_changed_source(std::vector<SourceOfSeason> seasons);

}  // namespace models
