#include "app/stages/field_weather.h"

#include <fmt/format.h>

#include "geo/store/known_weather.h"
#include "geo/store/store.h"
#include "models/weather/nearest_station.h"

namespace app {

namespace {

constexpr std::size_t most_other_stations = 3;

class NearestStations : public FieldWeather {
 public:
    NearestStations(const geo::Store& store, const SeasonData& data, const StationDistances& distances,
                    const std::optional<models::LocalDay>& as_of)
        : store_(store), data_(data), distances_(distances), as_of_(as_of) {}

    WeatherChoice choice_for(const models::CropRecord& crop) const override {
        WeatherChoice choice;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return choice;
        const auto nearest = models::nearest_station(outline->centroid_m, data_.stations);
        if (!nearest) return choice;
        if (nearest->distance_m > distances_.farthest_m) {
            choice.none_because = fmt::format(
                "the nearest station, {}, stands {:.0f} km away, and weather from more than {:.0f} km away is none of "
                "this field's",
                data_.stations[nearest->index].station, nearest->distance_m / 1000.0, distances_.farthest_m / 1000.0);
            return choice;
        }
        choice.source = source_of(*nearest);
        return choice;
    }

    std::vector<WeatherSource> others_for(const models::CropRecord& crop) const override {
        std::vector<WeatherSource> others;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return others;
        const auto near = models::stations_by_distance(outline->centroid_m, data_.stations, distances_.other_within_m);
        for (std::size_t k = 1; k < near.size() && k <= most_other_stations; ++k) others.push_back(source_of(near[k]));
        return others;
    }

    SourceDays days(const WeatherSource& source, const models::DayWindow& window) const override {
        return days_of(geo::known_weather(store_, data_.stations[source.index], data_.forecasts, window.first,
                                          window.last, as_of_));
    }

 private:
    WeatherSource source_of(const models::StationAt& at) const {
        WeatherSource source{at.index, data_.stations[at.index].station, at.distance_m, "", false};
        if (at.distance_m > distances_.told_from_m) {
            source.note = fmt::format("weather from {:.0f} km away", at.distance_m / 1000.0);
        }
        return source;
    }

    const geo::Store& store_;
    const SeasonData& data_;
    StationDistances distances_;
    std::optional<models::LocalDay> as_of_;
};

}  // namespace

std::unique_ptr<FieldWeather> nearest_stations(const geo::Store& store, const SeasonData& data,
                                               const StationDistances& distances,
                                               const std::optional<models::LocalDay>& as_of) {
    return std::make_unique<NearestStations>(store, data, distances, as_of);
}

SourceDays days_of(models::KnownHours known) {
    if (known.forecasts.empty()) return {models::StationDays(std::move(known.hours)), std::nullopt};
    models::StationDays days(known.hours);
    return {std::move(days), std::move(known)};
}

}  // namespace app
