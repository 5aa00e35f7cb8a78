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
struct WeatherSource {
    std::size_t index = 0;    ///< the same for all fields that share these hours
    std::string name;         ///< of the station
    double distance_m = 0.0;  ///< from the middle of the field
    std::string note;         ///< what to know beside a number that rests on it; empty where there is nothing
    bool forecast = false;    ///< some of its hours are forecast, and the note says so
};

/// The source that is a field's own, or why there is none. Both empty: nothing is near.
struct WeatherChoice {
    std::optional<WeatherSource> source;
    std::string none_because;
};

/// The days of a source as they were known on the day that is asked about: what was observed by then, and from there on
/// what the forecasts made by then said.
struct SourceDays {
    models::StationDays days;
    std::optional<models::KnownHours> forecasts;  ///< where there are any: which hours they gave
};

/// A way of giving fields their weather. Hours of several sources are never mixed in one answer: who asks takes one
/// source, reads its days once for all fields that take it, and moves to the next where they do not reach.
class FieldWeather {
 public:
    FieldWeather() = default;
    FieldWeather(const FieldWeather&) = delete;
    FieldWeather& operator=(const FieldWeather&) = delete;
    virtual ~FieldWeather() = default;

    virtual WeatherChoice choice_for(const models::CropRecord& crop) const = 0;
    /// Those that may answer where the field's own cannot, the best first.
    virtual std::vector<WeatherSource> others_for(const models::CropRecord& crop) const = 0;
    /// Read and summarised anew at each call.
    virtual SourceDays days(const WeatherSource& source, const models::DayWindow& window) const = 0;
};

struct StationDistances {
    double other_within_m = 15000.0;  ///< another station than the nearest serves from no farther
    double farthest_m = 100000.0;     ///< weather from farther away is none for a field (common practice, ours)
    double told_from_m = 25000.0;     ///< from here on the distance is named beside the risk
};
/// The nearest station to the middle of a field's outline, unless it stands farther away than `farthest_m`: then there
/// is none, and why. After it the three next ones within `other_within_m`. Without an outline nothing is near.
/// @param store, data  outlive it
/// @param as_of  what was known at the end of that day; none: all that the store has
std::unique_ptr<FieldWeather> nearest_stations(const geo::Store& store, const SeasonData& data,
                                               const StationDistances& distances = {},
                                               const std::optional<models::LocalDay>& as_of = {});
/// Known hours cut into days.
SourceDays days_of(models::KnownHours known);

}  // namespace app
