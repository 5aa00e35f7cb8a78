#include "app/stages/field_weather.h"

#include <algorithm>
#include <mutex>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "geo/store/known_weather.h"
#include "geo/store/store.h"
#include "models/spoken.h"
#include "models/weather/nearest_station.h"
#include "models/weather/weather_source.h"

namespace app {

namespace {

constexpr std::size_t most_other_stations = 3;

class NearestStations : public FieldWeather {
 public:
    NearestStations(const geo::Store& store, const SeasonData& data, int season, const StationDistances& distances,
                    const std::optional<models::LocalDay>& as_of)
        : store_(store),
          data_(data),
          distances_(distances),
          as_of_(as_of),
          places_(places_that_speak(store, data, season)) {
        // Weather stations first, so that their indices are those of a list of them alone.
        const auto cells = std::stable_partition(places_.begin(), places_.end(), [](const models::Station& place) {
            return place.source == models::WeatherSource::on_site;
        });
        stations_.assign(places_.begin(), cells);
    }

    WeatherChoice choice_for(const models::CropRecord& crop) const override {
        WeatherChoice choice;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return choice;
        const auto nearest = nearest_to(outline->centroid_m);
        if (!nearest) return choice;
        if (nearest->distance_m > distances_.farthest_m) {
            choice.none_because = models::phrase(
                "the nearest station, {}, stands {:.0f} km away, and weather from more than {:.0f} km away is none of "
                "this field's",
                places_[nearest->index].station, nearest->distance_m / 1000.0, distances_.farthest_m / 1000.0);
            return choice;
        }
        choice.source = source_of(*nearest);
        return choice;
    }

    std::vector<HoursSource> others_for(const models::CropRecord& crop) const override {
        std::vector<HoursSource> others;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return others;
        const auto nearest = nearest_to(outline->centroid_m);
        for (const models::StationAt& at :
             models::stations_by_distance(outline->centroid_m, places_, distances_.farthest_m)) {
            if (!nearest || at.index == nearest->index) continue;
            const bool beyond = at.distance_m > distances_.other_within_m || others.size() == most_other_stations;
            others.push_back(source_of(at));
            others.back().only_where_silent = beyond;
            if (beyond) break;
        }
        return others;
    }

    SourceDays days(const HoursSource& source, const models::DayWindow& window) const override {
        models::KnownHours known;
        {
            const std::lock_guard<std::mutex> one_reader(store_is_read_);
            known =
                geo::known_weather(store_, places_[source.index], data_.forecasts, window.first, window.last, as_of_);
        }
        return days_of(std::move(known));
    }

 private:
    std::optional<models::StationAt> nearest_to(const models::PointM& place) const {
        const auto station = models::nearest_station(place, stations_);
        if (station && station->distance_m <= distances_.told_from_m) return station;
        return models::nearest_station(place, places_);
    }

    HoursSource source_of(const models::StationAt& at) const {
        const models::Station& place = places_[at.index];
        HoursSource source{at.index, place.station, at.distance_m, "", place.source};
        const bool cell = place.source == models::WeatherSource::grid;
        if (at.distance_m > distances_.told_from_m) {
            source.note =
                fmt::format("weather from {}{:.0f} km away", cell ? "a grid cell " : "", at.distance_m / 1000.0);
        } else if (cell) {
            source.note = "weather from a grid cell, not from a station";
        }
        return source;
    }

    const geo::Store& store_;
    mutable std::mutex store_is_read_;
    const SeasonData& data_;
    StationDistances distances_;
    std::optional<models::LocalDay> as_of_;
    std::vector<models::Station> places_, stations_;
};

}  // namespace

models::DayWindow weather_days_of(int season) {
    return {models::day_of(season - 1, 1, 1), models::day_of(season, 12, 31)};
}

std::vector<models::Station> places_that_speak(const geo::Store& store, const SeasonData& data, int season) {
    // From the autumn before on: whoever fell silent earlier tells nothing of this crop.
    const std::set<std::string> with_hours =
        store.with_hours(models::day_of(season - 1, 9, 1), weather_days_of(season).last);
    std::vector<models::Station> places;
    for (const models::Station& station : data.stations) {
        if (with_hours.contains(station.station)) places.push_back(station);
    }
    std::set<std::string> foretold;  // places of forecasts that no station stands near
    for (const models::Station& forecast : data.forecasts) {
        if (!with_hours.contains(forecast.station) || foretold.contains(forecast.forecast_of)) continue;
        const bool heard = std::any_of(places.begin(), places.end(), [&](const models::Station& place) {
            return !models::forecasts_for(place, {forecast}).empty();
        });
        if (heard) continue;
        foretold.insert(forecast.forecast_of);
        models::Station place = forecast;
        place.station = forecast.forecast_of;
        place.made_utc.reset();
        places.push_back(std::move(place));
    }
    return places.empty() ? data.stations : places;
}

std::unique_ptr<FieldWeather> nearest_stations(const geo::Store& store, const SeasonData& data, int season,
                                               const StationDistances& distances,
                                               const std::optional<models::LocalDay>& as_of) {
    return std::make_unique<NearestStations>(store, data, season, distances, as_of);
}

SourceDays days_of(models::KnownHours known) {
    if (known.forecasts.empty()) return {models::StationDays(std::move(known.hours)), std::nullopt, {}};
    models::StationDays days(known.hours);
    return {std::move(days), std::move(known), {}};
}

}  // namespace app
