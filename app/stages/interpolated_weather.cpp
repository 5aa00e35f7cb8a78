#include "app/stages/interpolated_weather.h"

#include <algorithm>
#include <map>
#include <utility>

#include <fmt/format.h>

#include "geo/store/known_weather.h"
#include "geo/store/store.h"
#include "models/counted.h"
#include "models/spoken.h"
#include "models/weather/weather_source.h"

namespace app {

namespace {

class InterpolatedWeather : public FieldWeather {
 public:
    InterpolatedWeather(const geo::Store& store, const SeasonData& data, int season,
                        const models::InterpolationSettings& settings, const std::optional<models::LocalDay>& as_of)
        : data_(data), network_(read(store, data, season, settings, as_of)) {}

    WeatherChoice choice_for(const models::CropRecord& crop) const override {
        WeatherChoice choice;
        const models::Field* outline = outline_of(data_, crop.field, crop.part);
        if (outline == nullptr) return choice;
        const models::InterpolationSettings& settings = network_.settings();
        const std::vector<models::Station>& stations = network_.stations();
        const auto nearest = models::nearest_station(outline->centroid_m, stations);
        if (!nearest) return choice;
        if (nearest->distance_m > settings.within_m) {
            choice.none_because = models::phrase(
                "the nearest station, {}, stands {:.0f} km away, and no station speaks for a field from "
                "more than {:.0f} km away",
                stations[nearest->index].station, nearest->distance_m / 1000.0, settings.within_m / 1000.0);
            return choice;
        }
        const auto around = models::stations_by_distance(outline->centroid_m, stations, settings.within_m);
        const models::WeatherSource kind = stations.front().source;
        using models::spoken, models::word;
        const std::string speaking = models::counted(
            static_cast<long>(std::min(around.size(), static_cast<std::size_t>(settings.most_stations))),
            kind == models::WeatherSource::grid ? spoken(word("grid cell")) : spoken(word("station")),
            kind == models::WeatherSource::grid ? spoken(word("grid cells")) : spoken(word("stations")));
        choice.source =
            HoursSource{static_cast<std::size_t>(outline - data_.fields.data()),
                        models::phrase("{}, the nearest", speaking),
                        nearest->distance_m,
                        fmt::format("weather from {} around it, by {}", speaking, models::name_of(settings.way)),
                        kind,
                        static_cast<int>(std::min(around.size(), static_cast<std::size_t>(settings.most_stations)))};
        return choice;
    }

    std::vector<HoursSource> others_for(const models::CropRecord&) const override { return {}; }

    SourceDays days(const HoursSource& source, const models::DayWindow& window) const override {
        const models::Field& field = data_.fields[source.index];
        models::FieldSeries series = network_.at(field.centroid_m, field.elevation_m, window);
        SourceDays days = days_of(with_origins(std::move(series.hours), series.stations));
        days.notes = std::move(series.notes);
        days.notes.insert(days.notes.end(), network_.notes().begin(), network_.notes().end());
        return days;
    }

 private:
    models::StationNetwork read(const geo::Store& store, const SeasonData& data, int season,
                                models::InterpolationSettings settings, const std::optional<models::LocalDay>& as_of) {
        models::check(settings);
        const models::DayWindow days = weather_days_of(season);
        std::vector<models::StationWeather> stations;
        for (const models::Station& place : models::of_one_kind(places_that_speak(store, data, season))) {
            models::KnownHours known = geo::known_weather(store, place, data.forecasts, days.first, days.last, as_of);
            stations.push_back({place, std::move(known.hours)});
            if (known.forecasts.empty()) continue;
            known.hours.first_utc = stations.back().hours.first_utc;
            foretold_[place.station] = std::move(known);
        }
        const auto speaking = std::count_if(stations.begin(), stations.end(),
                                            [](const models::StationWeather& one) { return one.hours.speaks(); });
        if (speaking < 2) settings.way = models::WeatherWay::distance;
        return models::StationNetwork(stations, settings);
    }

    /// An hour is forecast where that of any station behind it is.
    models::KnownHours with_origins(models::HourlySeries hours, const std::vector<models::StationAt>& behind) const {
        models::KnownHours known;
        known.hours = std::move(hours);
        known.origin.assign(known.hours.size(), models::KnownHours::observed);
        for (const models::StationAt& at : behind) {
            const auto found = foretold_.find(network_.stations()[at.index].station);
            if (found == foretold_.end()) continue;
            const models::KnownHours& told = found->second;
            std::map<std::int16_t, std::int16_t> here;  // which of `told` is which of `known`
            for (std::size_t i = 0; i < known.hours.size(); ++i) {
                const auto hour = std::chrono::floor<std::chrono::hours>(known.hours.utc(i) - told.hours.first_utc);
                if (hour.count() < 0 || hour.count() >= static_cast<std::int64_t>(told.origin.size())) continue;
                const std::int16_t issue = told.origin[static_cast<std::size_t>(hour.count())];
                if (issue == models::KnownHours::observed || known.origin[i] != models::KnownHours::observed) continue;
                const auto [place, is_new] = here.try_emplace(issue, static_cast<std::int16_t>(known.forecasts.size()));
                if (is_new) place->second = issue_of(known, told.forecasts[static_cast<std::size_t>(issue)]);
                known.origin[i] = place->second;
            }
        }
        return known;
    }

    /// Where an issue stands among those of a field; put there the first time. Whose stations' it is does not matter.
    static std::int16_t issue_of(models::KnownHours& known, const models::KnownHours::Forecast& issue) {
        const auto same = std::find_if(known.forecasts.begin(), known.forecasts.end(),
                                       [&](const auto& one) { return one.made_utc == issue.made_utc; });
        const auto at = static_cast<std::int16_t>(same - known.forecasts.begin());
        if (same == known.forecasts.end()) known.forecasts.push_back({issue.made_utc, ""});
        return at;
    }

    const SeasonData& data_;
    std::map<std::string, models::KnownHours> foretold_;  ///< by station, without the hours: which are forecast
    models::StationNetwork network_;
};

}  // namespace

std::unique_ptr<FieldWeather> interpolated_weather(const geo::Store& store, const SeasonData& data, int season,
                                                   const models::InterpolationSettings& settings,
                                                   const std::optional<models::LocalDay>& as_of) {
    return std::make_unique<InterpolatedWeather>(store, data, season, settings, as_of);
}

}  // namespace app
