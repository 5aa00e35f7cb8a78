#include "app/stages/interpolated_weather.h"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "geo/store/known_weather.h"
#include "geo/store/store.h"
#include "models/counted.h"

namespace app {

namespace {

class InterpolatedWeather : public FieldWeather {
 public:
    InterpolatedWeather(const geo::Store& store, const SeasonData& data, const models::InterpolationSettings& settings,
                        const std::optional<models::LocalDay>& as_of)
        : store_(store), data_(data), settings_(settings), as_of_(as_of), stations_(data.stations) {
        models::check(settings_);
        const auto is_cell = [](const models::Station& s) { return s.source != models::WeatherSource::on_site; };
        if (!std::all_of(stations_.begin(), stations_.end(), is_cell)) std::erase_if(stations_, is_cell);
    }

    WeatherChoice choice_for(const models::CropRecord& crop) const override {
        WeatherChoice choice;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return choice;
        const auto nearest = models::nearest_station(outline->centroid_m, stations_);
        if (!nearest) return choice;
        if (nearest->distance_m > settings_.within_m) {
            choice.none_because = fmt::format(
                "the nearest station, {}, stands {:.0f} km away, and no station speaks for a field from "
                "more than {:.0f} km away",
                stations_[nearest->index].station, nearest->distance_m / 1000.0, settings_.within_m / 1000.0);
            return choice;
        }
        const auto around = models::stations_by_distance(outline->centroid_m, stations_, settings_.within_m);
        const auto count = std::min(around.size(), static_cast<std::size_t>(settings_.most_stations));
        choice.source = WeatherSource{
            static_cast<std::size_t>(outline - data_.fields.data()),
            fmt::format("{}, the nearest", models::counted(static_cast<long>(count), "station")), nearest->distance_m,
            fmt::format("weather from {} around it, by {}", models::counted(static_cast<long>(count), "station"),
                        models::name_of(settings_.way))};
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
        for (const models::Station& station : stations_) {
            models::KnownHours known = geo::known_weather(
                store_, station, data_.forecasts, models::day_of(year - 1, 1, 1), models::day_of(year, 12, 31), as_of_);
            stations.push_back({station, std::move(known.hours)});
        }
        networks_.clear();  // seasons are asked for one after the other, and the stations of one fill much memory
        return networks_.emplace(year, models::StationNetwork(stations, settings_)).first->second;
    }

    const geo::Store& store_;
    const SeasonData& data_;
    models::InterpolationSettings settings_;
    std::optional<models::LocalDay> as_of_;
    std::vector<models::Station> stations_;  ///< of one kind of source
    mutable std::map<int, models::StationNetwork> networks_;
};

}  // namespace

std::unique_ptr<FieldWeather> interpolated_weather(const geo::Store& store, const SeasonData& data,
                                                   const models::InterpolationSettings& settings,
                                                   const std::optional<models::LocalDay>& as_of) {
    return std::make_unique<InterpolatedWeather>(store, data, settings, as_of);
}

}  // namespace app
