#include "app/stages/interpolated_weather.h"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "geo/store/store.h"
#include "models/counted.h"

namespace app {

namespace {

class InterpolatedWeather : public FieldWeather {
 public:
    InterpolatedWeather(const geo::Store& store, const SeasonData& data, const models::InterpolationSettings& settings)
        : store_(store), data_(data), settings_(settings) {
        models::check(settings_);
    }

    WeatherChoice choice_for(const models::CropRecord& crop) const override {
        WeatherChoice choice;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return choice;
        const auto nearest = models::nearest_station(outline->centroid_m, data_.stations);
        if (!nearest) return choice;
        if (nearest->distance_m > settings_.within_m) {
            choice.none_because = fmt::format(
                "the nearest station, {}, stands {:.0f} km away, and no station speaks for a field from "
                "more than {:.0f} km away",
                data_.stations[nearest->index].station, nearest->distance_m / 1000.0, settings_.within_m / 1000.0);
            return choice;
        }
        const auto around = models::stations_by_distance(outline->centroid_m, data_.stations, settings_.within_m);
        const auto count = std::min(around.size(), static_cast<std::size_t>(settings_.most_stations));
        choice.source = WeatherSource{
            static_cast<std::size_t>(outline - data_.fields.data()),
            fmt::format("{}, the nearest", models::counted(static_cast<long>(count), "station")), nearest->distance_m,
            fmt::format("weather from {} around it, by {}", models::counted(static_cast<long>(count), "station"),
                        models::name_of(settings_.way))};
        return choice;
    }

    std::vector<WeatherSource> others_for(const models::CropRecord&) const override { return {}; }

    models::StationDays days(const WeatherSource& source, const models::DayWindow& window) const override {
        const models::Field& field = data_.fields[source.index];
        const models::StationNetwork& network = network_of(models::year_of(window.last));
        return models::StationDays(network.at(field.centroid_m, field.elevation_m, window).hours);
    }

 private:
    const models::StationNetwork& network_of(int year) const {
        const auto known = networks_.find(year);
        if (known != networks_.end()) return known->second;
        std::vector<models::StationWeather> stations;
        for (const models::Station& station : data_.stations) {
            stations.push_back({station, store_.weather(station.station, models::day_of(year - 1, 1, 1),
                                                        models::day_of(year, 12, 31))});
        }
        networks_
            .clear();  // one season after the other is asked for: its stations alone fill a good part of a gigabyte
        return networks_.emplace(year, models::StationNetwork(stations, settings_)).first->second;
    }

    const geo::Store& store_;
    const SeasonData& data_;
    models::InterpolationSettings settings_;
    mutable std::map<int, models::StationNetwork> networks_;
};

}  // namespace

std::unique_ptr<FieldWeather> interpolated_weather(const geo::Store& store, const SeasonData& data,
                                                   const models::InterpolationSettings& settings) {
    return std::make_unique<InterpolatedWeather>(store, data, settings);
}

}  // namespace app
