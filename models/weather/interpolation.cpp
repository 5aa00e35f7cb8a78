#include "models/weather/interpolation.h"

#include <algorithm>
#include <cmath>
#include <map>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/error.h"
#include "models/weather/humidity.h"

namespace models {

namespace {

const std::vector<std::string>& weather_way_names() {
    static const std::vector<std::string> names = {"nearest", "distance", "kriging"};
    return names;
}

void require_stations(const InterpolationSettings& settings, std::size_t with_hours) {
    if (settings.way != WeatherWay::kriging || with_hours >= 2) return;
    const auto number = static_cast<long long>(with_hours);
    throw Error(fmt::format("kriging needs the hours of two stations or more, and {} {}", counted(number, "station"),
                            by_number(number, "has hours", "have hours")),
                "", "choose the nearest station");
}

/// Temperature, dew point and rain of an hour as a mean under one set of weights each.
struct HourWeights {
    std::vector<double> temperature, dew_point, rain;  ///< one a speaker; 0 where it has not the hour
    double temperature_lift_m = 0.0, dew_point_lift_m = 0.0;
    std::uint8_t stations = 0;
};

}  // namespace

std::string_view name_of(WeatherWay way) {
    return weather_way_names()[static_cast<std::size_t>(way)];
}

WeatherWay weather_way_named(std::string_view name) {
    const auto& names = weather_way_names();
    const auto found = std::find(names.begin(), names.end(), name);
    if (found != names.end()) return static_cast<WeatherWay>(found - names.begin());
    const std::string near = nearest_name(name, names);
    throw Error("there is no way \"" + std::string(name) + "\" of bringing weather to a field" +
                    (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
                "", "write nearest, distance or kriging");
}

void check(const InterpolationSettings& settings) {
    if (!(settings.power > 0.0) || !std::isfinite(settings.power)) {
        throw Error(fmt::format("a power of {} makes no weights", settings.power), "inverse distance",
                    "give one over 0; 2 is usual");
    }
    if (settings.most_stations < 1 || settings.most_stations > 16) {
        throw Error(fmt::format("{} for a place cannot be", counted(settings.most_stations, "station")), "",
                    "give 1 to 16");
    }
    if (!(settings.within_m > 0.0)) {
        throw Error(fmt::format("no station stands within {} km", settings.within_m / 1000.0), "",
                    "give a length over 0");
    }
}

StationNetwork::StationNetwork(const std::vector<StationWeather>& stations, const InterpolationSettings& settings)
    : settings_(settings), hours_(align(stations)) {
    check(settings_);
    std::size_t with_hours = 0;
    for (std::size_t s = 0; s < stations.size(); ++s) {
        stations_.push_back(stations[s].station);
        const auto first = stations[s].hours.first_utc;
        phase_.push_back(first - std::chrono::floor<std::chrono::hours>(first));
        std::vector<std::uint32_t> known(hours_.hours + 1, 0);
        for (std::size_t i = 0; i < hours_.hours; ++i) {
            const bool has = !std::isnan(hours_.temperature_degc[s][i]) || !std::isnan(hours_.rain_mm[s][i]);
            known[i + 1] = known[i] + (has ? 1 : 0);
        }
        with_hours += known.back() > 0 ? 1 : 0;
        known_before_.push_back(std::move(known));
    }
    require_stations(settings_, with_hours);
    if (settings_.way == WeatherWay::nearest) return;
    find_elevation_course();
    if (settings_.way == WeatherWay::kriging) find_variograms();
}

/// The weights among the speakers of a field, for every set of those that have an hour.
class StationNetwork::Weights {
 public:
    Weights(const StationNetwork& network, const Asked& asked, const FieldSeries& out)
        : network_(network), asked_(asked), out_(out) {}

    const HourWeights& of(std::uint32_t speaking) {
        if (latest_ != nullptr && speaking == latest_speaking_) return *latest_;
        auto found = all_.find(speaking);
        if (found == all_.end()) found = all_.emplace(speaking, worked_out(speaking)).first;
        latest_speaking_ = speaking;
        latest_ = &found->second;
        return *latest_;
    }

 private:
    HourWeights worked_out(std::uint32_t speaking) const {
        std::vector<std::size_t> speakers;
        std::vector<PointM> places;
        for (std::size_t k = 0; k < out_.stations.size(); ++k) {
            if ((speaking >> k & 1U) == 0) continue;
            speakers.push_back(k);
            places.push_back(network_.stations_[out_.stations[k].index].place_m);
        }
        HourWeights weights;
        weights.stations = static_cast<std::uint8_t>(speakers.size());
        const auto fill = [&](Interpolated quantity, std::vector<double>& into, double* lift_m) {
            const std::vector<double> among =
                asked_.way == WeatherWay::kriging
                    ? ordinary_kriging_weights(network_.variogram(quantity), places, asked_.place)
                    : inverse_distance_weights(network_.settings_.power, places, asked_.place);
            into.assign(out_.stations.size(), 0.0);
            double mean_elevation_m = 0.0;
            for (std::size_t a = 0; a < speakers.size(); ++a) {
                into[speakers[a]] = among[a];
                const Station& station = network_.stations_[out_.stations[speakers[a]].index];
                mean_elevation_m += among[a] * station.elevation_m.value_or(0.0);
            }
            if (lift_m != nullptr && out_.by_elevation) *lift_m = *asked_.elevation_m - mean_elevation_m;
        };
        fill(Interpolated::temperature, weights.temperature, &weights.temperature_lift_m);
        fill(Interpolated::dew_point, weights.dew_point, &weights.dew_point_lift_m);
        fill(Interpolated::rain, weights.rain, nullptr);
        return weights;
    }

    const StationNetwork& network_;
    const Asked& asked_;
    const FieldSeries& out_;
    std::map<std::uint32_t, HourWeights> all_;
    std::uint32_t latest_speaking_ = 0;
    const HourWeights* latest_ = nullptr;
};

std::vector<StationAt> StationNetwork::speakers(const Asked& asked, std::size_t first, std::size_t end) const {
    std::vector<StationAt> all = stations_by_distance(asked.place, stations_, settings_.within_m);
    std::erase_if(all, [&](const StationAt& at) {
        return at.index == asked.but_not || known_before_[at.index][end] == known_before_[at.index][first];
    });
    const std::size_t most = asked.way == WeatherWay::nearest ? 1 : static_cast<std::size_t>(settings_.most_stations);
    if (all.size() > most) all.resize(most);
    return all;
}

void StationNetwork::copy_nearest(FieldSeries& out, std::size_t first, std::size_t end) const {
    const std::size_t s = out.stations.front().index;
    out.hours.station = stations_[s].station;
    out.hours.first_utc = hours_.utc(first) + phase_[s];
    const auto part = [&](const auto& row) {
        using Row = std::decay_t<decltype(row)>;
        return Row(row.begin() + static_cast<std::ptrdiff_t>(first), row.begin() + static_cast<std::ptrdiff_t>(end));
    };
    out.hours.temperature_degc = part(hours_.temperature_degc[s]);
    out.hours.relative_humidity_pct = part(hours_.relative_humidity_pct[s]);
    out.hours.dew_point_degc = part(hours_.dew_point_degc[s]);
    out.hours.rain_mm = part(hours_.rain_mm[s]);
    for (std::size_t i = 0; i < end - first; ++i) {
        out.temperature_behind.push_back(std::isnan(out.hours.temperature_degc[i]) ? 0 : 1);
        out.rain_behind.push_back(std::isnan(out.hours.rain_mm[i]) ? 0 : 1);
    }
}

void StationNetwork::average(const Asked& asked, FieldSeries& out, std::size_t first, std::size_t end) const {
    const std::size_t n = out.stations.size();
    std::vector<const double*> temperatures(n), dew_points(n), rains(n);
    for (std::size_t k = 0; k < n; ++k) {
        temperatures[k] = hours_.temperature_degc[out.stations[k].index].data();
        dew_points[k] = hours_.dew_point_degc[out.stations[k].index].data();
        rains[k] = hours_.rain_mm[out.stations[k].index].data();
    }
    Weights weights(*this, asked, out);
    Weights weights_of_rain(*this, asked, out);  // its sets of stations are others: each keeps its latest at hand
    const auto everyone = static_cast<std::uint32_t>((1ULL << n) - 1);
    const HourWeights& of_everyone = weights.of(everyone);
    // Most hours have all stations: those are summed station by station over all hours, and what a gap spoils is done
    // again.
    const auto means_of_everyone = [&](const std::vector<double>& weight, const std::vector<const double*>& rows) {
        std::vector<double> means(end - first, 0.0);
        for (std::size_t k = 0; k < n; ++k) {
            const double w = weight[k];
            const double* row = rows[k] + first;
            for (std::size_t i = 0; i < means.size(); ++i) means[i] += w * row[i];
        }
        return means;
    };
    const auto mean = [n](const std::vector<double>& weight, const std::vector<const double*>& rows, std::size_t i) {
        double sum = 0.0;
        for (std::size_t k = 0; k < n; ++k) {
            if (weight[k] != 0.0) sum += weight[k] * rows[k][i];
        }
        return sum;
    };
    const auto having = [n](const std::vector<const double*>& rows, std::size_t i) {
        std::uint32_t stations = 0;
        for (std::size_t k = 0; k < n; ++k) stations |= static_cast<std::uint32_t>(!std::isnan(rows[k][i])) << k;
        return stations;
    };
    std::vector<double> temperature = means_of_everyone(of_everyone.temperature, temperatures);
    std::vector<double> dew_point = means_of_everyone(of_everyone.dew_point, dew_points);
    std::vector<double> rain = means_of_everyone(of_everyone.rain, rains);
    std::vector<double> humidity(end - first, HourlySeries::missing);
    out.temperature_behind.assign(end - first, static_cast<std::uint8_t>(n));
    out.rain_behind.assign(end - first, static_cast<std::uint8_t>(n));
    std::size_t clock = hours_.clock_utc(first);
    for (std::size_t i = first; i < end; ++i, clock = (clock + 1) % 24) {
        const std::size_t h = i - first;
        const HourWeights* of = &of_everyone;
        bool has_dew_point = true;
        if (std::isnan(temperature[h] + dew_point[h])) {
            const std::uint32_t warm = having(temperatures, i), both = warm & having(dew_points, i);
            has_dew_point = both != 0;
            of = warm == 0 ? nullptr : &weights.of(has_dew_point ? both : warm);
            temperature[h] = of == nullptr ? HourlySeries::missing : mean(of->temperature, temperatures, i);
            dew_point[h] = has_dew_point ? mean(of->dew_point, dew_points, i) : HourlySeries::missing;
            out.temperature_behind[h] = of == nullptr ? std::uint8_t{0} : of->stations;
        }
        if (of != nullptr) temperature[h] += elevation_.temperature_per_m[clock] * of->temperature_lift_m;
        if (of != nullptr && has_dew_point) {
            dew_point[h] += elevation_.dew_point_per_m[clock] * of->dew_point_lift_m;
            dew_point[h] = std::min(dew_point[h], temperature[h]);
            humidity[h] = std::min(relative_humidity_pct(temperature[h], dew_point[h]), 100.0);
        }
        if (std::isnan(rain[h])) {
            const std::uint32_t wet = having(rains, i);
            if (wet != 0) rain[h] = mean(weights_of_rain.of(wet).rain, rains, i);
            out.rain_behind[h] = wet == 0 ? std::uint8_t{0} : weights_of_rain.of(wet).stations;
        }
        if (rain[h] < 0.0) rain[h] = 0.0;
    }
    out.hours.first_utc = hours_.utc(first);
    out.hours.temperature_degc = std::move(temperature);
    out.hours.dew_point_degc = std::move(dew_point);
    out.hours.relative_humidity_pct = std::move(humidity);
    out.hours.rain_mm = std::move(rain);
}

FieldSeries StationNetwork::answer(const Asked& asked) const {
    if (!std::isfinite(asked.place.x_m) || !std::isfinite(asked.place.y_m)) {
        throw Error("the weather of no place cannot be told", "", "give the field an outline");
    }
    // No clock is farther than 14 hours from UTC.
    std::size_t first = 0, end = hours_.hours;
    const auto hour_at = [&](LocalDay day, int hours) {
        const std::chrono::sys_seconds moment{day.time_since_epoch() + std::chrono::hours(hours)};
        const auto after = std::chrono::floor<std::chrono::hours>(moment - hours_.first_utc).count();
        return static_cast<std::size_t>(std::clamp<long long>(after, 0, static_cast<long long>(hours_.hours)));
    };
    if (asked.days) {
        first = hour_at(asked.days->first, -14);
        end = std::max(first, hour_at(asked.days->last, 24 + 14));
    }
    FieldSeries out;
    out.stations = speakers(asked, first, end);
    if (out.stations.empty()) {
        out.notes.push_back(fmt::format("no {}station within {:.0f} km has hours then", asked.but_not ? "other " : "",
                                        settings_.within_m / 1000.0));
        return out;
    }
    std::size_t begin_known = end, end_known = first;
    for (const StationAt& at : out.stations) {
        begin_known = std::min(begin_known, std::max(first, hours_.first_of[at.index]));
        end_known = std::max(end_known, std::min(end, hours_.first_of[at.index] + hours_.hours_of[at.index]));
    }
    first = begin_known;
    end = end_known;
    // The clock of an hour is that of the nearest station whose series holds it.
    std::vector<std::int16_t> clock;
    for (std::size_t i = first; i < end; ++i) {
        std::size_t teller = out.stations.front().index;
        for (const StationAt& at : out.stations) {
            const std::size_t from = hours_.first_of[at.index];
            if (i < from || i >= from + hours_.hours_of[at.index]) continue;
            teller = at.index;
            break;
        }
        clock.push_back(hours_.offset_min[teller][i]);
    }
    if (asked.days) {
        const auto day_of_hour = [&](std::size_t i) {
            return Stamp{hours_.utc(i), std::chrono::minutes(clock[i - first])}.local_day();
        };
        std::size_t from = first, to = end;
        while (from < to && day_of_hour(from) < asked.days->first) ++from;
        while (to > from && day_of_hour(to - 1) > asked.days->last) --to;
        clock.assign(clock.begin() + static_cast<std::ptrdiff_t>(from - first),
                     clock.begin() + static_cast<std::ptrdiff_t>(to - first));
        first = from;
        end = to;
    }
    if (asked.way == WeatherWay::nearest) {
        copy_nearest(out, first, end);
    } else {
        const auto without = std::find_if(out.stations.begin(), out.stations.end(), [&](const StationAt& at) {
            return !stations_[at.index].elevation_m.has_value();
        });
        out.by_elevation = elevation_.known && asked.elevation_m && without == out.stations.end();
        if (elevation_.known && asked.elevation_m && without != out.stations.end()) {
            out.notes.push_back("no elevation is known of station " + stations_[without->index].station +
                                ", so temperatures were not carried to the field's");
        }
        average(asked, out, first, end);
    }
    out.hours.offset_min = std::move(clock);
    return out;
}

FieldSeries StationNetwork::at(const PointM& place, std::optional<double> elevation_m,
                               const std::optional<DayWindow>& days) const {
    return answer({settings_.way, place, elevation_m, days, {}});
}

FieldSeries StationNetwork::without_station(std::size_t station, WeatherWay way) const {
    const Station& left_out = stations_.at(station);
    return answer({way, left_out.place_m, left_out.elevation_m, {}, station});
}

FieldSeries weather_at(const PointM& place, std::optional<double> elevation_m,
                       const std::vector<StationWeather>& stations, WeatherWay way) {
    InterpolationSettings settings;
    settings.way = way;
    return StationNetwork(stations, settings).at(place, elevation_m);
}

}  // namespace models
