// How fast 500 stations are held against one another, and 10,000 fields get the weather of a season from them.
#include <chrono>
#include <cmath>
#include <random>

#include <fmt/format.h>

#include "models/weather/interpolation.h"
#include "models/weather/leave_one_out.h"
#include "models/weather/neighbour_check.h"

namespace {

double seconds_from(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

constexpr double country_m = 600000.0;

/// Sixteen weeks; one hour in fifty is missing.
std::vector<models::StationWeather> stations_of_a_country(std::size_t stations) {
    std::mt19937_64 random(1);
    const auto share = [&] { return static_cast<double>(random() % 1000000) / 1e6; };
    std::vector<models::StationWeather> all(stations);
    for (models::StationWeather& made : all) {
        made.station.place_m = {country_m * share(), country_m * share()};
        made.station.elevation_m = 800.0 * share();
        made.hours.first_utc = models::parse_stamp("2026-04-01T00:00:00+02:00")->utc;
        for (int h = 0; h < 16 * 7 * 24; ++h) {
            const bool missing = random() % 50 == 0;
            const double front = 3.0 * std::sin(0.01 * h + made.station.place_m.x_m / 200000.0);
            const double temperature = 15.0 - 0.0065 * *made.station.elevation_m +
                                       6.0 * std::sin(0.2617993877991494 * (h - 9)) + front + share();
            made.hours.temperature_degc.push_back(missing ? models::HourlySeries::missing : temperature);
            made.hours.dew_point_degc.push_back(missing ? models::HourlySeries::missing : temperature - 3.0 - share());
            made.hours.relative_humidity_pct.push_back(models::HourlySeries::missing);
            made.hours.rain_mm.push_back(random() % 10 == 0 ? 2.0 * share() : 0.0);
            made.hours.offset_min.push_back(120);
        }
    }
    return all;
}

}  // namespace

int main() {
    const auto stations = stations_of_a_country(500);
    auto start = std::chrono::steady_clock::now();
    std::size_t flags = 0;
    for (const auto& station : models::check_against_neighbours(stations)) flags += station.flags.size();
    fmt::print("500 stations against their neighbours  {:.2f} s, {} flags\n", seconds_from(start), flags);
    for (const models::WeatherWay way :
         {models::WeatherWay::nearest, models::WeatherWay::distance, models::WeatherWay::kriging}) {
        start = std::chrono::steady_clock::now();
        models::InterpolationSettings settings;
        settings.way = way;
        const models::StationNetwork network(stations, settings);
        const double made_ready_s = seconds_from(start);
        start = std::chrono::steady_clock::now();
        constexpr int fields = 10000;
        std::mt19937_64 random(2);
        const models::DayWindow days{models::day_of(2026, 5, 16), models::day_of(2026, 6, 11)};
        std::size_t hours = 0;
        for (int field = 0; field < fields; ++field) {
            const models::PointM place{static_cast<double>(random() % 600000), static_cast<double>(random() % 600000)};
            hours += network.at(place, 300.0, days).hours.size();
        }
        fmt::print("{:<9} made ready {:.2f} s, 27 days of 10,000 fields {:.2f} s on one thread ({} hours)\n",
                   models::name_of(way), made_ready_s, seconds_from(start), hours);
        if (way != models::WeatherWay::kriging) continue;
        start = std::chrono::steady_clock::now();
        models::leave_stations_out(network, 21);
        fmt::print("each station left out, three ways  {:.2f} s\n", seconds_from(start));
    }
}
