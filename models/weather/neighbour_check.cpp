#include "models/weather/neighbour_check.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <optional>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spatial/parallel.h"
#include "models/weather/humidity.h"
#include "models/weather/nearest_station.h"

namespace models {

namespace {

constexpr std::size_t least_common_h = 240;
constexpr double mad_to_sd = 1.4826;

/// The middle of what the neighbours say: of two the smaller where both lie on one side, else none; fewer say nothing.
double middle_of_neighbours(std::vector<double>& told) {
    if (told.size() < 2) return HourlySeries::missing;
    if (told.size() > 2) return median_of(told);
    if (told[0] * told[1] <= 0.0) return 0.0;
    return std::abs(told[0]) < std::abs(told[1]) ? told[0] : told[1];
}

/// What three quarters of the neighbours say at least, where they lie on one side; else nothing.
double agreed_by_neighbours(std::vector<double>& told) {
    if (told.size() < 2) return HourlySeries::missing;
    std::sort(told.begin(), told.end());
    const std::size_t quarter = told.size() / 4;
    return std::max(told[quarter], 0.0) + std::min(told[told.size() - 1 - quarter], 0.0);
}

/// How far each hour lies from where the neighbours put it: by the middle one of them, and as far as they agree.
struct RestOfHours {
    std::vector<double> middle, agreed;
};

/// What is asked about one of the quantities.
struct ComparedQuantity {
    const char* quantity;
    const char* words;
    double degc_per_m;
};
constexpr ComparedQuantity compared_temperature = {"temperature_degc", "temperature", -0.0065};
constexpr ComparedQuantity compared_dew_point = {"dew_point_degc", "dew point", -0.002};

/// One station among its neighbours.
class AmongNeighbours {
 public:
    AmongNeighbours(const std::vector<StationWeather>& stations, const AlignedHours& hours, std::size_t station,
                    const NeighbourSettings& settings)
        : stations_(stations), hours_(hours), s_(station) {
        std::vector<Station> others;
        for (const StationWeather& given : stations) others.push_back(given.station);
        for (const StationAt& at : stations_by_distance(others[s_].place_m, others, settings.within_m)) {
            if (at.index == s_ || static_cast<int>(around_.size()) >= settings.most) continue;
            std::size_t common = 0;
            for (std::size_t i = own_begin(); i < own_end(); ++i) {
                const bool both = !std::isnan(hours_.temperature_degc[s_][i] + hours_.temperature_degc[at.index][i]);
                common += both ? 1 : 0;
            }
            if (common >= least_common_h) around_.push_back(at);
        }
        out_.neighbours = static_cast<int>(around_.size());
    }

    NeighbourFlags judged(const NeighbourSettings& settings) {
        if (around_.size() < 2) {
            out_.not_judged = fmt::format(
                "{} within {:.0f} km with ten days of hours in common: two are needed to tell which one is wrong",
                around_.empty() ? std::string("no neighbour") : "only one neighbour", settings.within_m / 1000.0);
            return std::move(out_);
        }
        compare(hours_.temperature_degc, compared_temperature);
        compare(hours_.dew_point_degc, compared_dew_point);
        look_at_gauge();
        look_at_clock();
        std::stable_sort(out_.flags.begin(), out_.flags.end(),
                         [](const WeatherFlag& a, const WeatherFlag& b) { return a.first_hour < b.first_hour; });
        return std::move(out_);
    }

 private:
    std::size_t own_begin() const { return hours_.first_of[s_]; }
    std::size_t own_end() const { return own_begin() + hours_.hours_of[s_]; }
    Stamp stamp(std::size_t i) const { return stations_[s_].hours.stamp(i - own_begin()); }
    std::string neighbours_in_words() const { return fmt::format("its {} neighbours", around_.size()); }

    void flag(FlagKind kind, const char* quantity, std::size_t first, std::size_t last, std::string reason) {
        out_.flags.push_back({first - own_begin(), last - own_begin(), quantity, std::move(reason), kind});
    }

    /// First and end of each local day of the station's series.
    std::vector<std::pair<std::size_t, std::size_t>> days() const {
        std::vector<std::pair<std::size_t, std::size_t>> all;
        for (std::size_t first = own_begin(); first < own_end();) {
            std::size_t end = first + 1;
            while (end < own_end() && stamp(end).local_day() <= stamp(first).local_day()) ++end;
            all.emplace_back(first, end);
            first = end;
        }
        return all;
    }

    void compare(const std::vector<std::vector<double>>& values, const ComparedQuantity& about) {
        const RestOfHours rest = residuals(values);
        const std::vector<bool> odd_days = look_at_days(rest, about);
        look_at_hours(rest, odd_days, about);
        look_at_level(values, about);
    }

    RestOfHours residuals(const std::vector<std::vector<double>>& values) const {
        std::vector<std::array<double, 24>> usual(around_.size());
        for (std::size_t k = 0; k < around_.size(); ++k) {
            std::array<std::vector<double>, 24> apart;
            for (std::size_t i = own_begin(); i < own_end(); ++i) {
                const double d = values[s_][i] - values[around_[k].index][i];
                if (!std::isnan(d)) apart[hours_.clock_utc(i)].push_back(d);
            }
            for (std::size_t c = 0; c < 24; ++c) usual[k][c] = median_of(std::move(apart[c]));
        }
        const std::vector<double> none(hours_.hours, HourlySeries::missing);
        RestOfHours rest{none, none};
        std::vector<double> told;
        for (std::size_t i = own_begin(); i < own_end(); ++i) {
            told.clear();
            for (std::size_t k = 0; k < around_.size(); ++k) {
                const double r = values[s_][i] - values[around_[k].index][i] - usual[k][hours_.clock_utc(i)];
                if (!std::isnan(r)) told.push_back(r);
            }
            rest.middle[i] = middle_of_neighbours(told);
            rest.agreed[i] = agreed_by_neighbours(told);
        }
        return rest;
    }

    static double spread_of_rest(const std::vector<double>& rest) {
        std::vector<double> sizes;
        for (const double r : rest) {
            if (!std::isnan(r)) sizes.push_back(std::abs(r));
        }
        return mad_to_sd * median_of(std::move(sizes));
    }

    std::vector<bool> look_at_days(const RestOfHours& rest, const ComparedQuantity& about) {
        constexpr double least_degc = 4.0, least_spreads = 6.0;
        constexpr std::size_t least_hours_of_day = 18;
        const auto all = days();
        const auto mean_of = [](const std::vector<double>& values, std::size_t first, std::size_t end) {
            double sum = 0.0;
            std::size_t seen = 0;
            for (std::size_t i = first; i < end; ++i) {
                if (std::isnan(values[i])) continue;
                sum += values[i];
                ++seen;
            }
            return seen >= least_hours_of_day ? sum / static_cast<double>(seen) : HourlySeries::missing;
        };
        std::vector<double> means, agreed;
        for (const auto& [first, end] : all) {
            means.push_back(mean_of(rest.middle, first, end));
            agreed.push_back(mean_of(rest.agreed, first, end));
        }
        const double bound = std::max(least_degc, least_spreads * spread_of_rest(means));
        const auto is_odd = [&](std::size_t d) {
            return std::abs(means[d]) > bound && std::abs(agreed[d]) > 0.5 * bound;
        };
        std::vector<bool> odd(hours_.hours, false);
        for (std::size_t d = 0; d < all.size();) {
            if (!is_odd(d)) {
                ++d;
                continue;
            }
            std::size_t end = d;
            double worst = 0.0;
            while (end < all.size() && is_odd(end) && means[end] * means[d] > 0.0) {
                if (std::abs(means[end]) > std::abs(worst)) worst = means[end];
                for (std::size_t i = all[end].first; i < all[end].second; ++i) odd[i] = true;
                ++end;
            }
            const std::string when =
                end - d == 1 ? "on " + to_text(stamp(all[d].first).local_day())
                             : fmt::format("on {} days from {}", end - d, to_text(stamp(all[d].first).local_day()));
            flag(FlagKind::day, about.quantity, all[d].first, all[end - 1].second - 1,
                 fmt::format("the daily mean of the {} lies {}{:.1f} degC {} where {} put it {}", about.words,
                             end - d == 1 ? "" : "up to ", std::abs(worst), worst > 0.0 ? "above" : "below",
                             neighbours_in_words(), when));
            d = end;
        }
        return odd;
    }

    /// What a dew point that is off by so much makes of the humidity; in dry air a little humidity is many degrees.
    double points_of_humidity(std::size_t i, double off_degc) const {
        const double temperature = hours_.temperature_degc[s_][i], dew_point = hours_.dew_point_degc[s_][i];
        const double by_neighbours = std::min(relative_humidity_pct(temperature, dew_point - off_degc), 100.0);
        return std::abs(relative_humidity_pct(temperature, dew_point) - by_neighbours);
    }

    void look_at_hours(const RestOfHours& both, const std::vector<bool>& odd_days, const ComparedQuantity& about) {
        constexpr double least_degc = 8.0, least_spreads = 8.0, least_points = 20.0;
        const std::vector<double>& rest = both.middle;
        const double bound = std::max(least_degc, least_spreads * spread_of_rest(rest));
        const auto is_odd = [&](std::size_t i) {
            if (!(std::abs(rest[i]) > bound) || std::abs(both.agreed[i]) < 0.5 * bound || odd_days[i]) return false;
            return &about != &compared_dew_point || points_of_humidity(i, rest[i]) >= least_points;
        };
        for (std::size_t i = own_begin(); i < own_end();) {
            if (!is_odd(i)) {
                ++i;
                continue;
            }
            std::size_t end = i;
            double worst = 0.0;
            while (end < own_end() && is_odd(end) && rest[end] * rest[i] > 0.0) {
                if (std::abs(rest[end]) > std::abs(worst)) worst = rest[end];
                ++end;
            }
            const std::string when = end - i == 1 ? "at " + to_text(stamp(i))
                                                  : fmt::format("for {} hours from {}", end - i, to_text(stamp(i)));
            flag(FlagKind::hour, about.quantity, i, end - 1,
                 fmt::format("the {} lies {}{:.1f} degC {} where {} put it {}", about.words,
                             end - i == 1 ? "" : "up to ", std::abs(worst), worst > 0.0 ? "above" : "below",
                             neighbours_in_words(), when));
            i = end;
        }
    }

    void look_at_level(const std::vector<std::vector<double>>& values, const ComparedQuantity& about) {
        constexpr double least_degc = 3.0, more_per_m = 1.0 / 100000.0, without_elevation = 2.0;
        std::vector<double> levels, distances;
        bool elevations = true;
        for (const StationAt& at : around_) {
            std::vector<double> apart;
            for (std::size_t i = own_begin(); i < own_end(); ++i) {
                const double d = values[s_][i] - values[at.index][i];
                if (!std::isnan(d)) apart.push_back(d);
            }
            if (apart.size() < least_common_h) continue;
            const auto& here = stations_[s_].station.elevation_m;
            const auto& there = stations_[at.index].station.elevation_m;
            const double expected = here && there ? about.degc_per_m * (*here - *there) : 0.0;
            elevations = elevations && here && there;
            levels.push_back(median_of(std::move(apart)) - expected);
            distances.push_back(at.distance_m);
        }
        const double level = middle_of_neighbours(levels);
        const double bound = (least_degc + more_per_m * median_of(distances)) * (elevations ? 1.0 : without_elevation);
        if (!(std::abs(level) > bound)) return;
        flag(FlagKind::level, about.quantity, own_begin(), own_end() - 1,
             fmt::format("the {} reads {:.1f} degC {} {} throughout{}", about.words, std::abs(level),
                         level > 0.0 ? "above" : "below", neighbours_in_words(),
                         elevations ? ", elevations allowed for" : "; elevations are not known"));
    }

    void look_at_gauge() {
        constexpr double wet_day_mm = 1.0;
        constexpr std::size_t least_hours_of_day = 20, least_days = 5, least_wet_days = 3;
        const auto all = days();
        const auto rain_of = [&](std::size_t station, std::size_t day) -> std::optional<double> {
            double sum = 0.0;
            std::size_t seen = 0;
            for (std::size_t i = all[day].first; i < all[day].second; ++i) {
                const double mm = hours_.rain_mm[station][i];
                if (std::isnan(mm)) continue;
                sum += mm;
                ++seen;
            }
            if (seen < least_hours_of_day) return std::nullopt;
            return sum;
        };
        const auto is_dry = [&](std::size_t day) { return rain_of(s_, day).value_or(1.0) == 0.0; };
        for (std::size_t d = 0; d < all.size();) {
            if (!is_dry(d)) {
                ++d;
                continue;
            }
            std::size_t end = d, wet_days = 0;
            double least_mm = INFINITY, most_mm = 0.0;
            for (; end < all.size() && is_dry(end); ++end) {
                std::size_t gauges = 0;
                double least_of_day = INFINITY, most_of_day = 0.0;
                for (const StationAt& at : around_) {
                    const auto mm = rain_of(at.index, end);
                    if (!mm) continue;
                    ++gauges;
                    least_of_day = std::min(least_of_day, *mm);
                    most_of_day = std::max(most_of_day, *mm);
                }
                if (gauges < 2 || least_of_day < wet_day_mm) continue;
                ++wet_days;
                least_mm = std::min(least_mm, least_of_day);
                most_mm = std::max(most_mm, most_of_day);
            }
            if (end - d >= least_days && wet_days >= least_wet_days) {
                flag(FlagKind::gauge, "rain_mm", all[d].first, all[end - 1].second - 1,
                     fmt::format("no rain in {} days from {}, and on {} of them every neighbour with a gauge had some "
                                 "({:.1f} to {:.1f} mm a day): a blocked gauge",
                                 end - d, to_text(stamp(all[d].first).local_day()), wet_days, least_mm, most_mm));
            }
            d = end;
        }
    }

    /// By how many hours the station's course comes after a neighbour's in [first, end); nullopt where too few hours
    /// are common or the two do not go together.
    std::optional<double> lag_behind(std::size_t neighbour, std::size_t first, std::size_t end) const {
        constexpr int farthest = 12;
        constexpr double least_correlation = 0.4;
        const auto change = [&](std::size_t station, std::size_t i) {
            const std::vector<double>& values = hours_.temperature_degc[station];
            return values[i] - values[i - 1];
        };
        std::array<double, 2 * farthest + 1> together{};
        std::size_t best = 0;
        for (int lag = -farthest; lag <= farthest; ++lag) {
            double n = 0.0, x = 0.0, y = 0.0, xx = 0.0, yy = 0.0, xy = 0.0;
            for (std::size_t i = std::max<std::size_t>(first, 1); i < end; ++i) {
                const auto there = static_cast<std::ptrdiff_t>(i) - lag;
                if (there < 1 || there >= static_cast<std::ptrdiff_t>(hours_.hours)) continue;
                const double a = change(s_, i), b = change(neighbour, static_cast<std::size_t>(there));
                if (std::isnan(a + b)) continue;
                n += 1.0;
                x += a;
                y += b;
                xx += a * a;
                yy += b * b;
                xy += a * b;
            }
            if (lag == 0 && n < static_cast<double>(least_common_h)) return std::nullopt;
            const double spread = (xx - x * x / n) * (yy - y * y / n);
            const auto at = static_cast<std::size_t>(lag + farthest);
            together[at] = n > 1.0 && spread > 0.0 ? (xy - x * y / n) / std::sqrt(spread) : 0.0;
            if (together[at] > together[best]) best = at;
        }
        if (together[best] < least_correlation || best == 0 || best + 1 == together.size()) return std::nullopt;
        const double before = together[best - 1], after = together[best + 1];
        const double bend = before - 2.0 * together[best] + after;
        return static_cast<double>(best) - farthest + (bend < 0.0 ? 0.5 * (before - after) / bend : 0.0);
    }

    void look_at_clock() {
        constexpr std::size_t stretch_h = 14 * 24;
        constexpr double least_lag_h = 0.75, agreeing_h = 0.5;
        struct Shift {
            std::size_t first, end;
            int hours;
        };
        std::vector<Shift> shifts;
        for (std::size_t first = own_begin(); first + least_common_h <= own_end(); first += stretch_h) {
            // What is left at the end and makes no stretch of its own belongs to the last one.
            const bool is_last = own_end() - first < stretch_h + least_common_h;
            const std::size_t end = is_last ? own_end() : first + stretch_h;
            std::vector<double> lags;
            for (const StationAt& at : around_) {
                if (const auto lag = lag_behind(at.index, first, end)) lags.push_back(*lag);
            }
            const bool told = lags.size() > 2 || (lags.size() == 2 && std::abs(lags[0] - lags[1]) <= agreeing_h);
            const double lag = told ? median_of(lags) : 0.0;
            if (std::abs(lag) >= least_lag_h) {
                const int hours = static_cast<int>(std::lround(lag));
                if (!shifts.empty() && shifts.back().end == first && shifts.back().hours == hours) {
                    shifts.back().end = end;
                } else {
                    shifts.push_back({first, end, hours});
                }
            }
            if (is_last) break;
        }
        for (const Shift& shift : shifts) {
            flag(FlagKind::clock, "time", shift.first, shift.end - 1,
                 fmt::format(
                     "from {} to {} the course of temperature comes {} {} than at {}: a wrong time zone, a clock "
                     "change that was missed, or stamps at the other end of the hour",
                     to_text(stamp(shift.first).local_day()), to_text(stamp(shift.end - 1).local_day()),
                     counted(std::abs(shift.hours), "hour"), shift.hours > 0 ? "later" : "earlier",
                     neighbours_in_words()));
        }
    }

    const std::vector<StationWeather>& stations_;
    const AlignedHours& hours_;
    std::size_t s_;
    std::vector<StationAt> around_;
    NeighbourFlags out_;
};

}  // namespace

std::vector<NeighbourFlags> check_against_neighbours(const std::vector<StationWeather>& stations,
                                                     const NeighbourSettings& settings, const Progress& progress) {
    const AlignedHours hours = align(stations);
    std::vector<NeighbourFlags> all(stations.size());
    parallel_blocks(
        static_cast<long long>(stations.size()), settings.threads,
        [&](long long block) {
            const auto s = static_cast<std::size_t>(block);
            all[s] = AmongNeighbours(stations, hours, s, settings).judged(settings);
        },
        progress, "stations against their neighbours");
    return all;
}

}  // namespace models
