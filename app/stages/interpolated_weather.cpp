#include "app/stages/interpolated_weather.h"

#include <algorithm>
#include <cmath>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "geo/store/known_weather.h"
#include "geo/store/store.h"
#include "models/counted.h"
#include "models/weather/weather_source.h"

namespace app {

namespace {

class InterpolatedWeather : public FieldWeather {
 public:
    InterpolatedWeather(const geo::Store& store, const SeasonData& data, const models::InterpolationSettings& settings,
                        const std::optional<models::LocalDay>& as_of)
        : store_(store), data_(data), settings_(settings), as_of_(as_of) {
        models::check(settings_);
    }

    WeatherChoice choice_for(const models::CropRecord& crop) const override {
        WeatherChoice choice;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return choice;
        const models::StationNetwork& network = network_of(crop.season);
        const std::vector<models::Station>& stations = network.stations();
        const auto nearest = models::nearest_station(outline->centroid_m, stations);
        if (!nearest) return choice;
        if (nearest->distance_m > settings_.within_m) {
            choice.none_because = fmt::format(
                "the nearest station, {}, stands {:.0f} km away, and no station speaks for a field from "
                "more than {:.0f} km away",
                stations[nearest->index].station, nearest->distance_m / 1000.0, settings_.within_m / 1000.0);
            return choice;
        }
        const auto around = models::stations_by_distance(outline->centroid_m, stations, settings_.within_m);
        const auto count = std::min(around.size(), static_cast<std::size_t>(settings_.most_stations));
        const std::string speaking = models::counted(static_cast<long>(count), "station");
        choice.source = WeatherSource{
            static_cast<std::size_t>(outline - data_.fields.data()), speaking + ", the nearest", nearest->distance_m,
            fmt::format("weather from {} around it, by {}{}", speaking, models::name_of(network.settings().way),
                        with_forecasts_ ? ", with hours that are forecast" : ""),
            with_forecasts_};
        return choice;
    }

    std::vector<WeatherSource> others_for(const models::CropRecord&) const override { return {}; }

    SourceDays days(const WeatherSource& source, const models::DayWindow& window) const override {
        const models::Field& field = data_.fields[source.index];
        const models::StationNetwork& network = network_of(models::year_of(window.last));
        return {models::StationDays(network.at(field.centroid_m, field.elevation_m, window).hours), std::nullopt};
    }

 private:
    const models::StationNetwork& network_of(int year) const {
        const auto ready = networks_.find(year);
        if (ready != networks_.end()) return ready->second;
        std::vector<models::StationWeather> stations;
        std::vector<models::Station> with_hours;
        with_forecasts_ = false;
        for (const models::Station& station : data_.stations) {
            models::KnownHours known = geo::known_weather(
                store_, station, data_.forecasts, models::day_of(year - 1, 1, 1), models::day_of(year, 12, 31), as_of_);
            const auto said = [](double degc) { return !std::isnan(degc); };
            const std::vector<double>& degc = known.hours.temperature_degc;
            if (std::none_of(degc.begin(), degc.end(), said)) continue;
            with_forecasts_ = with_forecasts_ || !known.forecasts.empty();
            with_hours.push_back(station);
            stations.push_back({station, std::move(known.hours)});
        }
        const std::vector<models::Station> speaking = models::of_one_kind(std::move(with_hours));
        std::erase_if(stations, [&](const models::StationWeather& one) {
            return std::none_of(speaking.begin(), speaking.end(),
                                [&](const models::Station& station) { return station.station == one.station.station; });
        });
        // One station speaks alone, whatever the way.
        models::InterpolationSettings settings = settings_;
        if (stations.size() < 2) settings.way = models::WeatherWay::distance;
        networks_.clear();  // seasons are asked for one after the other, and the stations of one fill much memory
        return networks_.emplace(year, models::StationNetwork(stations, settings)).first->second;
    }

    const geo::Store& store_;
    const SeasonData& data_;
    models::InterpolationSettings settings_;
    std::optional<models::LocalDay> as_of_;
    mutable std::map<int, models::StationNetwork> networks_;
    mutable bool with_forecasts_ = false;  ///< of the network that is kept
};

}  // namespace

std::unique_ptr<FieldWeather> interpolated_weather(const geo::Store& store, const SeasonData& data,
                                                   const models::InterpolationSettings& settings,
                                                   const std::optional<models::LocalDay>& as_of) {
    return std::make_unique<InterpolatedWeather>(store, data, settings, as_of);
}

}  // namespace app
