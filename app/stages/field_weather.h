#pragma once

#include <cstddef>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "app/stages/season_data.h"
#include "models/weather/known_weather.h"
#include "models/weather/window.h"

namespace app {

/// Hours that a field may take for its own.
struct HoursSource {
    std::size_t index = 0;    ///< the same for all fields that share these hours
    std::string name;         ///< of the station
    double distance_m = 0.0;  ///< from the middle of the field
    std::string note;         ///< what to know beside a number that rests on it; empty where there is nothing
    models::WeatherSource kind = models::WeatherSource::on_site;
    int places = 1;                  ///< stations or cells that these hours are made of
    bool only_where_silent = false;  ///< asked only where the field's own source says nothing at all in the window
};

/// The source that is a field's own, or why there is none. Both empty: nothing is near.
struct WeatherChoice {
    std::optional<HoursSource> source;
    std::string none_because;
};

/// The days of a source as they were known on the day that is asked about: what was observed by then, and from there on
/// what the forecasts made by then said.
struct SourceDays {
    models::StationDays days;
    std::optional<models::KnownHours> forecasts;  ///< where there are any: which hours they gave
    std::vector<std::string> notes;               ///< what to know of these hours: sentences without their full stop
};
/// Known hours cut into days.
SourceDays days_of(models::KnownHours known);

/// A way of giving the fields of one season their weather. Hours of several sources are never mixed in one answer: who
/// asks takes one source, reads its days once for all fields that take it, and moves to the next where they do not
/// reach. A new way is one class. Threads: any number at once.
class FieldWeather {
 public:
    FieldWeather() = default;
    FieldWeather(const FieldWeather&) = delete;
    FieldWeather& operator=(const FieldWeather&) = delete;
    virtual ~FieldWeather() = default;

    virtual WeatherChoice choice_for(const models::CropRecord& crop) const = 0;
    /// Those that may answer where the field's own cannot, the best first.
    virtual std::vector<HoursSource> others_for(const models::CropRecord& crop) const = 0;
    /// Read and summarised anew at each call.
    virtual SourceDays days(const HoursSource& source, const models::DayWindow& window) const = 0;
};

/// The days in which a season's weather lies: its year and the year before.
models::DayWindow weather_days_of(int season);

/// The places that can speak of a season's weather: stations and cells with hours since the September before, and
/// places of which nothing but forecasts is there. Where none can, all stations, so that it can be said what they lack.
std::vector<models::Station> places_that_speak(const geo::Store& store, const SeasonData& data, int season);

struct StationDistances {
    double other_within_m = 15000.0;  ///< another station than the nearest serves from no farther
    double farthest_m = 100000.0;     ///< weather from farther away is none for a field (common practice, ours)
    double told_from_m = 25000.0;     ///< from here on the distance is named beside the risk
};
/// The nearest weather station to the middle of a field's outline that speaks in the season; where none stands within
/// `told_from_m` the nearest place of any kind, cells of a grid too, which is said (ours: a cell is a mean over many
/// kilometres). None where that lies farther away than `farthest_m`, and why. After it the three next ones within
/// `other_within_m`; beyond, the next one for a field whose own is silent in its window. Without an outline nothing is
/// near.
/// @param store, data  outlive it
/// @param as_of  what was known at the end of that day; none: all that the store has
std::unique_ptr<FieldWeather> nearest_stations(const geo::Store& store, const SeasonData& data, int season,
                                               const StationDistances& distances = {},
                                               const std::optional<models::LocalDay>& as_of = {});

}  // namespace app
