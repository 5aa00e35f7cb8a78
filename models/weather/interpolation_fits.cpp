// What the stations of a season say together: how temperature changes with elevation, and the variograms.
#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/weather/interpolation.h"

namespace models {

namespace {

constexpr std::size_t least_stations_of_a_fit = 4;
constexpr double least_height_between_m = 100.0;

/// Pooled slope of one hour of the clock.
struct SlopeSums {
    double covariance = 0.0, variance = 0.0;
    double slope() const { return variance > 0.0 ? covariance / variance : 0.0; }
};

struct PairOfStations {
    double distance_m = 0.0, gamma = 0.0;
};

}  // namespace

void StationNetwork::find_elevation_course() {
    if (!settings_.by_elevation) {
        elevation_.why_not = "elevations were left out";
        return;
    }
    std::vector<std::size_t> placed;
    double lowest_m = INFINITY, highest_m = -INFINITY;
    for (std::size_t s = 0; s < stations_.size(); ++s) {
        if (!stations_[s].elevation_m || known_before_[s].back() == 0) continue;
        placed.push_back(s);
        lowest_m = std::min(lowest_m, *stations_[s].elevation_m);
        highest_m = std::max(highest_m, *stations_[s].elevation_m);
    }
    if (placed.size() < least_stations_of_a_fit) {
        elevation_.why_not = fmt::format(
            "the elevation is known of {} with hours, and {} tell how temperature changes "
            "with it",
            counted(placed.size(), "station"), least_stations_of_a_fit);
        return;
    }
    if (highest_m - lowest_m < least_height_between_m) {
        elevation_.why_not = fmt::format(
            "the stations lie within {:.0f} m of height, and {:.0f} m tell how temperature "
            "changes with elevation",
            highest_m - lowest_m, least_height_between_m);
        return;
    }
    const auto slopes = [&](const std::vector<std::vector<double>>& values) {
        std::array<SlopeSums, 24> sums{};
        for (std::size_t i = 0; i < hours_.hours; ++i) {
            double mean = 0.0, mean_m = 0.0, n = 0.0;
            for (const std::size_t s : placed) {
                if (std::isnan(values[s][i])) continue;
                mean += values[s][i];
                mean_m += *stations_[s].elevation_m;
                n += 1.0;
            }
            if (n < 2.0) continue;
            mean /= n;
            mean_m /= n;
            SlopeSums& of_clock = sums[hours_.clock_utc(i)];
            for (const std::size_t s : placed) {
                if (std::isnan(values[s][i])) continue;
                const double up_m = *stations_[s].elevation_m - mean_m;
                of_clock.covariance += up_m * (values[s][i] - mean);
                of_clock.variance += up_m * up_m;
            }
        }
        std::array<double, 24> out{};
        std::transform(sums.begin(), sums.end(), out.begin(), [](const SlopeSums& sum) { return sum.slope(); });
        return out;
    };
    elevation_.temperature_per_m = slopes(hours_.temperature_degc);
    elevation_.dew_point_per_m = slopes(hours_.dew_point_degc);
    elevation_.known = true;
}

void StationNetwork::find_variograms() {
    // Of many stations every so-maniest hour is enough; the step runs through all hours of the clock.
    constexpr double most_differences = 4e7;
    std::vector<std::size_t> speaking;
    for (std::size_t s = 0; s < stations_.size(); ++s) {
        if (known_before_[s].back() > 0) speaking.push_back(s);
    }
    const double reach_m = 2.0 * settings_.within_m;  // two stations of one field are never farther apart
    std::vector<std::pair<std::size_t, std::size_t>> pairs;
    for (std::size_t a = 0; a < speaking.size(); ++a) {
        for (std::size_t b = a + 1; b < speaking.size(); ++b) {
            const double away_m = distance_m(stations_[speaking[a]].place_m, stations_[speaking[b]].place_m);
            if (away_m > 0.0 && away_m <= reach_m) pairs.emplace_back(speaking[a], speaking[b]);
        }
    }
    const double wanted = static_cast<double>(pairs.size()) * static_cast<double>(hours_.hours) / most_differences;
    std::size_t step = 1;
    while (static_cast<double>(step) < wanted || (step > 1 && (step % 2 == 0 || step % 3 == 0))) ++step;

    const auto fitted = [&](const std::vector<std::vector<double>>& values, const std::array<double, 24>& per_m,
                            const char* words) {
        const VariogramModel straight({{VariogramShape::linear, 1.0}});
        std::vector<PairOfStations> found;
        for (const auto& [a, b] : pairs) {
            const bool lifted = elevation_.known && stations_[a].elevation_m && stations_[b].elevation_m;
            const double up_m = lifted ? *stations_[a].elevation_m - *stations_[b].elevation_m : 0.0;
            double squares = 0.0, n = 0.0;
            for (std::size_t i = 0; i < hours_.hours; i += step) {
                double apart = values[a][i] - values[b][i];
                if (std::isnan(apart)) continue;
                if (up_m != 0.0) apart -= per_m[hours_.clock_utc(i)] * up_m;
                squares += apart * apart;
                n += 1.0;
            }
            if (n == 0.0) continue;
            found.push_back({distance_m(stations_[a].place_m, stations_[b].place_m), 0.5 * squares / n});
        }
        if (speaking.size() < least_stations_of_a_fit || found.size() < least_stations_of_a_fit) {
            notes_.push_back(fmt::format("{} tell no variogram of {}: a straight line takes its place",
                                         counted(speaking.size(), "station"), words));
            return straight;
        }
        std::stable_sort(found.begin(), found.end(),
                         [](const PairOfStations& a, const PairOfStations& b) { return a.distance_m < b.distance_m; });
        const std::size_t classes = std::clamp<std::size_t>(found.size() / 4, 3, 15);
        std::vector<VariogramClass> out;
        for (std::size_t c = 0; c < classes; ++c) {
            const std::size_t begin = found.size() * c / classes, end = found.size() * (c + 1) / classes;
            VariogramClass entry;
            for (std::size_t p = begin; p < end; ++p) {
                entry.distance_m += found[p].distance_m;
                entry.gamma += found[p].gamma;
                ++entry.pairs;
            }
            if (entry.pairs == 0) continue;
            entry.distance_m /= static_cast<double>(entry.pairs);
            entry.gamma /= static_cast<double>(entry.pairs);
            out.push_back(entry);
        }
        VariogramFit fit = fit_variogram(out);
        if (!fit.found || !(fit.model.sill() > 0.0)) {
            notes_.push_back(
                fmt::format("the {} of the stations shows no variogram: a straight line takes its place", words));
            return straight;
        }
        return fit.model;
    };
    variograms_[static_cast<std::size_t>(Interpolated::temperature)] =
        fitted(hours_.temperature_degc, elevation_.temperature_per_m, "temperature");
    variograms_[static_cast<std::size_t>(Interpolated::dew_point)] =
        fitted(hours_.dew_point_degc, elevation_.dew_point_per_m, "dew point");
    variograms_[static_cast<std::size_t>(Interpolated::rain)] =
        fitted(hours_.rain_mm, std::array<double, 24>{}, "rain");
}

}  // namespace models
