#include <cmath>
#include <map>
#include <numbers>

#include <catch2/catch.hpp>

#include "models/spatial/kriging.h"
#include "models/weather/humidity.h"
#include "models/weather/interpolation.h"
#include "models/weather/leave_one_out.h"
#include "tests/support/made_stations.h"
#include "tests/support/shared_data.h"

using namespace models;
using Catch::Matchers::Contains;
using tests::made_station;

namespace {

/// Weather that changes with hour, day and a number of the station's own.
HourlyWeather weather_of_course(double level, int day, int hour) {
    const double temperature = 15.0 + level + 6.0 * std::sin(2.0 * std::numbers::pi * (hour - 9) / 24.0) + 0.2 * day;
    return {temperature, HourlySeries::missing, temperature - 3.0 - 0.1 * level, hour == 5 ? 0.4 + level : 0.0};
}

StationWeather station_of_course(const std::string& name, const PointM& place_m, double level,
                                 std::optional<double> elevation_m = std::nullopt) {
    return made_station(
        name, place_m, 12, [=](int day, int hour) { return weather_of_course(level, day, hour); }, elevation_m);
}

InterpolationSettings by_way(WeatherWay way) {
    InterpolationSettings settings;
    settings.way = way;
    return settings;
}

/// Eight stations over 60 km of hills.
std::vector<StationWeather> stations_of_hills(const std::function<double(const PointM&, double)>& level) {
    const std::vector<std::pair<PointM, double>> at = {
        {{0, 0}, 120},         {{21000, 4000}, 310},    {{-15000, 18000}, 480}, {{9000, -26000}, 60},
        {{33000, 30000}, 650}, {{-30000, -12000}, 205}, {{2000, 27000}, 390},   {{-8000, -9000}, 95}};
    std::vector<StationWeather> all;
    for (const auto& [place, elevation] : at) {
        all.push_back(station_of_course("S" + std::to_string(all.size()), place, level(place, elevation), elevation));
    }
    return all;
}

/// The six loggers on a flat map around them.
std::vector<StationWeather> loggers_on_a_flat_map(const std::filesystem::path& shared) {
    const tests::Table hourly(shared / "data/weather/snb_nc_2022_hourly.csv");
    const tests::Table sites(shared / "data/weather/snb_nc_2022_sites.csv");
    std::vector<StationWeather> all;
    for (std::size_t row = 0; row < sites.rows(); ++row) {
        StationWeather logger;
        logger.station.station = sites.text(row, "site");
        logger.station.place_m = {
            (sites.number(row, "lon") + 78.8) * 111195.0 * std::cos(35.3 * std::numbers::pi / 180.0),
            (sites.number(row, "lat") - 35.3) * 111195.0};
        logger.hours = tests::logger_hours(hourly, logger.station.station);
        all.push_back(std::move(logger));
    }
    return all;
}

}  // namespace

TEST_CASE("weights of inverse distance and of ordinary kriging are those of gstat") {
    // R 4.2, gstat 2.1.0: krige and idw of values that are 1 at one station and 0 at the others;
    // tests/reference/gstat_weather_weights.sh asks R again.
    const std::vector<PointM> places = {{0, 0}, {30, 10}, {-20, 25}, {5, -40}, {60, -15}};
    const PointM field = {12, 4};
    const auto kriged =
        ordinary_kriging_weights(VariogramModel::parse("nugget 0.3 + exponential 2 range 40"), places, field);
    CHECK(kriged[0] == Approx(0.4637968590).margin(1e-9).epsilon(0.0));
    CHECK(kriged[1] == Approx(0.3328440725).margin(1e-9).epsilon(0.0));
    CHECK(kriged[2] == Approx(0.0847657848).margin(1e-9).epsilon(0.0));
    CHECK(kriged[3] == Approx(0.0700651695).margin(1e-9).epsilon(0.0));
    CHECK(kriged[4] == Approx(0.0485281141).margin(1e-9).epsilon(0.0));
    const auto without_nugget = ordinary_kriging_weights(VariogramModel::parse("spherical 2 range 90"), places, field);
    CHECK(without_nugget[0] == Approx(0.5698870665).margin(1e-9).epsilon(0.0));
    CHECK(without_nugget[1] == Approx(0.3904272660).margin(1e-9).epsilon(0.0));
    CHECK(without_nugget[2] == Approx(0.0226365869).margin(1e-9).epsilon(0.0));
    CHECK(without_nugget[3] == Approx(0.0223511971).margin(1e-9).epsilon(0.0));
    CHECK(without_nugget[4] == Approx(-0.0053021164).margin(1e-9).epsilon(0.0));
    const auto by_distance = inverse_distance_weights(2.0, places, field);
    CHECK(by_distance[0] == Approx(0.5902137186).margin(1e-9).epsilon(0.0));
    CHECK(by_distance[1] == Approx(0.2623172083).margin(1e-9).epsilon(0.0));
    CHECK(by_distance[2] == Approx(0.0644602014).margin(1e-9).epsilon(0.0));
    CHECK(by_distance[3] == Approx(0.0475739018).margin(1e-9).epsilon(0.0));
    CHECK(by_distance[4] == Approx(0.0354349700).margin(1e-9).epsilon(0.0));
}

TEST_CASE("an hour kriged by weights is the hour kriged by the engine of the maps") {
    const auto stations =
        stations_of_hills([](const PointM& at, double) { return at.x_m / 9000.0 - at.y_m / 17000.0; });
    const StationNetwork network(stations, by_way(WeatherWay::kriging));
    const FieldSeries field = network.at({5000, 6000});
    SpatialData data;
    data.positions_m.resize(8, 2);
    data.values.resize(8);
    for (const std::size_t hour : {0U, 14U, 101U, 287U}) {
        for (Eigen::Index s = 0; s < 8; ++s) {
            const StationWeather& at = stations[static_cast<std::size_t>(s)];
            data.positions_m.row(s) << at.station.place_m.x_m, at.station.place_m.y_m;
            data.values[s] = at.hours.temperature_degc[hour];
        }
        const Kriging engine(data, network.variogram(Interpolated::temperature));
        Eigen::MatrixX2d target(1, 2);
        target << 5000, 6000;
        CHECK(field.hours.temperature_degc[hour] == Approx(engine.at(target).estimate[0]).margin(1e-9).epsilon(0.0));
    }
}

TEST_CASE("two stations equally far give the mean of both in every way but the nearest") {
    const std::vector<StationWeather> two = {station_of_course("west", {-9000, 0}, -1.0),
                                             station_of_course("east", {9000, 0}, 2.0)};
    for (const WeatherWay way : {WeatherWay::distance, WeatherWay::kriging}) {
        const FieldSeries field = weather_at({0, 0}, {}, two, way);
        REQUIRE(field.hours.size() == 288);
        for (std::size_t i = 0; i < 288; ++i) {
            const auto half = [&](auto quantity) {
                return 0.5 * ((two[0].hours.*quantity)[i] + (two[1].hours.*quantity)[i]);
            };
            CHECK(field.hours.temperature_degc[i] == Approx(half(&HourlySeries::temperature_degc)));
            CHECK(field.hours.dew_point_degc[i] == Approx(half(&HourlySeries::dew_point_degc)));
            CHECK(field.hours.rain_mm[i] == Approx(half(&HourlySeries::rain_mm)).margin(1e-12).epsilon(0.0));
            CHECK(field.hours.relative_humidity_pct[i] ==
                  Approx(relative_humidity_pct(field.hours.temperature_degc[i], field.hours.dew_point_degc[i])));
            CHECK(field.temperature_behind[i] == 2);
            CHECK(field.rain_behind[i] == 2);
        }
        CHECK(field.hours.offset_min == two[0].hours.offset_min);
    }
    const FieldSeries nearest = weather_at({1, 0}, {}, two, WeatherWay::nearest);
    CHECK(nearest.hours.station == "east");
    CHECK(nearest.hours.temperature_degc == two[1].hours.temperature_degc);
    CHECK(nearest.hours.rain_mm == two[1].hours.rain_mm);
    CHECK(nearest.hours.first_utc == two[1].hours.first_utc);
}

TEST_CASE("a station at the field gives itself and its gaps are bridged by the others") {
    auto stations = stations_of_hills([](const PointM& at, double) { return at.x_m / 9000.0; });
    for (std::size_t hour = 40; hour < 45; ++hour) tests::forget_hour(stations[1].hours, hour);
    const PointM place = stations[1].station.place_m;
    for (const WeatherWay way : {WeatherWay::distance, WeatherWay::kriging}) {
        const FieldSeries field = weather_at(place, {}, stations, way);
        CHECK(field.stations.front().index == 1);
        for (std::size_t i = 0; i < field.hours.size(); ++i) {
            const bool gap = i >= 40 && i < 45;
            CHECK(field.temperature_behind[i] == (gap ? 7 : 8));
            REQUIRE_FALSE(std::isnan(field.hours.temperature_degc[i]));
            if (gap) continue;
            CHECK(field.hours.temperature_degc[i] ==
                  Approx(stations[1].hours.temperature_degc[i]).margin(1e-9).epsilon(0.0));
            CHECK(field.hours.rain_mm[i] == Approx(stations[1].hours.rain_mm[i]).margin(1e-9).epsilon(0.0));
        }
    }
    const FieldSeries nearest = weather_at(place, {}, stations, WeatherWay::nearest);
    CHECK(std::isnan(nearest.hours.temperature_degc[42]));
    CHECK(nearest.temperature_behind[42] == 0);
    CHECK(nearest.temperature_behind[45] == 1);
}

TEST_CASE("an hour that no station has is missing and not dry") {
    auto stations = stations_of_hills([](const PointM&, double) { return 0.0; });
    for (StationWeather& station : stations) tests::forget_hour(station.hours, 100);
    for (StationWeather& station : stations) station.hours.dew_point_degc[101] = HourlySeries::missing;
    const FieldSeries field = weather_at({1000, 1000}, {}, stations, WeatherWay::distance);
    CHECK(field.temperature_behind[100] == 0);
    CHECK(field.rain_behind[100] == 0);
    CHECK(std::isnan(field.hours.temperature_degc[100]));
    CHECK(std::isnan(field.hours.relative_humidity_pct[100]));
    CHECK(std::isnan(field.hours.rain_mm[100]));
    CHECK(field.temperature_behind[101] == 8);  // temperature alone
    CHECK_FALSE(std::isnan(field.hours.temperature_degc[101]));
    CHECK(std::isnan(field.hours.relative_humidity_pct[101]));
}

TEST_CASE("a lapse rate that is exact at the stations is exact at the field") {
    const auto stations = stations_of_hills([](const PointM&, double elevation) { return -0.0065 * elevation; });
    for (const WeatherWay way : {WeatherWay::distance, WeatherWay::kriging}) {
        const StationNetwork network(stations, by_way(way));
        REQUIRE(network.elevation().known);
        for (const double slope : network.elevation().temperature_per_m) CHECK(slope == Approx(-0.0065));
        const FieldSeries field = network.at({4000, 11000}, 720.0);
        CHECK(field.by_elevation);
        for (const std::size_t hour : {3U, 77U, 200U}) {
            const HourlyWeather there =
                weather_of_course(-0.0065 * 720.0, static_cast<int>(hour / 24), static_cast<int>(hour % 24));
            CHECK(field.hours.temperature_degc[hour] == Approx(there.temperature_degc).margin(1e-9).epsilon(0.0));
            CHECK(field.hours.dew_point_degc[hour] == Approx(there.dew_point_degc).margin(1e-9).epsilon(0.0));
        }
        CHECK_FALSE(network.at({4000, 11000}).by_elevation);
    }
}

TEST_CASE("without enough elevations none is used and it is said why") {
    auto stations = stations_of_hills([](const PointM&, double elevation) { return -0.0065 * elevation; });
    stations[7].station.elevation_m.reset();
    const FieldSeries field = StationNetwork(stations, by_way(WeatherWay::distance)).at({4000, 11000}, 720.0);
    CHECK_FALSE(field.by_elevation);
    REQUIRE(field.notes.size() == 1);
    CHECK_THAT(field.notes[0], Contains("no elevation is known of station S7"));
    for (std::size_t s = 3; s < 8; ++s) stations[s].station.elevation_m.reset();
    CHECK_THAT(StationNetwork(stations, by_way(WeatherWay::distance)).elevation().why_not,
               Contains("known of 3 stations with hours"));
    for (StationWeather& station : stations)
        station.station.elevation_m = 100.0 + 5.0 * station.station.station.back() - 240.0;
    CHECK_THAT(StationNetwork(stations, by_way(WeatherWay::distance)).elevation().why_not,
               Contains("within 35 m of height"));
}

TEST_CASE("days asked for are local days and all of their hours") {
    const std::vector<StationWeather> two = {station_of_course("west", {-9000, 0}, -1.0),
                                             station_of_course("east", {9000, 0}, 2.0)};
    for (const WeatherWay way : {WeatherWay::nearest, WeatherWay::distance}) {
        const StationNetwork network(two, by_way(way));
        const FieldSeries field = network.at({0, 0}, {}, DayWindow{day_of(2026, 5, 22), day_of(2026, 5, 23)});
        REQUIRE(field.hours.size() == 48);
        CHECK(to_text(field.hours.stamp(0)) == "2026-05-22T00:00:00+02:00");
        CHECK(field.temperature_behind.size() == 48);
        CHECK(field.hours.temperature_degc[0] == Approx(network.at({0, 0}).hours.temperature_degc[48]));
        const FieldSeries none = network.at({0, 0}, {}, DayWindow{day_of(2027, 5, 22), day_of(2027, 5, 23)});
        CHECK(none.hours.empty());
        REQUIRE(none.notes.size() == 1);
        CHECK(none.notes[0] == "no station within 100 km has hours then");
    }
}

TEST_CASE("only the nearest stations within reach speak for a field") {
    const auto stations = stations_of_hills([](const PointM&, double) { return 0.0; });
    InterpolationSettings settings = by_way(WeatherWay::distance);
    settings.most_stations = 3;
    const FieldSeries three = StationNetwork(stations, settings).at({100, 0});
    REQUIRE(three.stations.size() == 3);
    CHECK(three.stations[0].index == 0);
    CHECK(three.stations[1].index == 7);
    settings.within_m = 13000.0;
    CHECK(StationNetwork(stations, settings).at({100, 0}).stations.size() == 2);
    settings.within_m = 10.0;
    CHECK(StationNetwork(stations, settings).at({100, 0}).hours.empty());
}

TEST_CASE("stations at one place share their weight") {
    const std::vector<PointM> places = {{0, 0}, {0, 0}, {10, 0}};
    const auto weights = ordinary_kriging_weights(VariogramModel::parse("spherical 1 range 30"), places, {5, 0});
    CHECK(weights[0] == Approx(0.25));
    CHECK(weights[1] == Approx(0.25));
    CHECK(weights[2] == Approx(0.5));
}

TEST_CASE("what no weather can be brought from is refused in words") {
    const auto one = station_of_course("lone", {0, 0}, 0.0);
    CHECK_THROWS_WITH(weather_at({0, 0}, {}, {one}, WeatherWay::kriging),
                      Contains("kriging needs the hours of two stations or more, and 1 station has hours") &&
                          Contains("choose the nearest station"));
    CHECK(weather_at({500, 0}, {}, {one}, WeatherWay::distance).hours.temperature_degc == one.hours.temperature_degc);
    auto nowhere = one;
    nowhere.station.place_m.x_m = HourlySeries::missing;
    CHECK_THROWS_WITH(weather_at({0, 0}, {}, {nowhere}, WeatherWay::nearest),
                      Contains("station lone: nothing says where the station stands"));
    auto ragged = one;
    ragged.hours.rain_mm.pop_back();
    CHECK_THROWS_WITH(weather_at({0, 0}, {}, {ragged}, WeatherWay::nearest), Contains("not equally many"));
    CHECK_THROWS_WITH(weather_at({HourlySeries::missing, 0}, {}, {one}, WeatherWay::nearest),
                      Contains("the weather of no place"));
    CHECK_THROWS_WITH(weather_way_named("krigging"), Contains("did you mean \"kriging\"?"));
    InterpolationSettings settings = by_way(WeatherWay::distance);
    settings.power = 0.0;
    CHECK_THROWS_WITH(StationNetwork({one}, settings), Contains("a power of 0 makes no weights"));
    settings.power = 2.0;
    settings.most_stations = 17;
    CHECK_THROWS_WITH(StationNetwork({one}, settings), Contains("17 stations for a place"));
}

TEST_CASE("leaving out a logger gives what a few lines of arithmetic give") {
    NEEDS_SHARED_DATA(shared);
    const auto stations = loggers_on_a_flat_map(shared);
    InterpolationSettings settings = by_way(WeatherWay::kriging);
    settings.within_m = 400000.0;
    const StationNetwork network(stations, settings);
    const LeaveOneOut found = leave_stations_out(network, 21, 2);
    REQUIRE(found.ways.size() == 3);
    // Inverse distance again, from the series themselves by their moments.
    std::map<std::chrono::sys_seconds, std::vector<std::pair<std::size_t, double>>> by_moment;
    for (std::size_t s = 0; s < stations.size(); ++s) {
        for (std::size_t i = 0; i < stations[s].hours.size(); ++i) {
            const double value = stations[s].hours.temperature_degc[i];
            const bool both = !std::isnan(value) && !std::isnan(stations[s].hours.dew_point_degc[i]);
            if (both) by_moment[stations[s].hours.utc(i)].emplace_back(s, value);
        }
    }
    double n = 0.0, errors = 0.0, squares = 0.0;
    for (const auto& [moment, values] : by_moment) {
        for (const auto& [left_out, measured] : values) {
            double weights = 0.0, sum = 0.0;
            for (const auto& [other, value] : values) {
                if (other == left_out) continue;
                const PointM &a = stations[left_out].station.place_m, &b = stations[other].station.place_m;
                const double weight = 1.0 / (std::pow(a.x_m - b.x_m, 2) + std::pow(a.y_m - b.y_m, 2));
                weights += weight;
                sum += weight * value;
            }
            if (weights == 0.0) continue;
            n += 1.0;
            errors += sum / weights - measured;
            squares += std::pow(sum / weights - measured, 2);
        }
    }
    const WayErrors& distance = found.ways[1];
    CHECK(distance.stations == 6);
    CHECK(static_cast<double>(distance.temperature_degc.counted) == n);
    CHECK(distance.temperature_degc.mean_error == Approx(errors / n));
    CHECK(distance.temperature_degc.rmse == Approx(std::sqrt(squares / n)));
    // Means of stations err less than the one that happens to be nearest.
    CHECK(distance.temperature_degc.rmse < found.ways[0].temperature_degc.rmse);
    CHECK(found.ways[2].temperature_degc.rmse < found.ways[0].temperature_degc.rmse);
    CHECK(found.ways[2].warm_wet_hours.counted > 10);
    // Threads change nothing.
    const LeaveOneOut alone = leave_stations_out(network, 21, 1);
    for (std::size_t w = 0; w < 3; ++w) {
        CHECK(alone.ways[w].temperature_degc.rmse == found.ways[w].temperature_degc.rmse);
        CHECK(alone.ways[w].daily_rain_mm.rmse == found.ways[w].daily_rain_mm.rmse);
        CHECK(alone.ways[w].warm_wet_hours.mean_error == found.ways[w].warm_wet_hours.mean_error);
    }
}

TEST_CASE("windows and days are counted from what both the station and its estimate have") {
    const std::vector<StationWeather> two = {
        made_station("warm", {0, 0}, 8,
                     [](int, int) {
                         return HourlyWeather{20.0, 95.0, HourlySeries::missing, 0.5};
                     }),
        made_station("cool", {5000, 0}, 8, [](int, int) {
            return HourlyWeather{10.0, 95.0, HourlySeries::missing, 0.1};
        })};
    const LeaveOneOut found = leave_stations_out(StationNetwork(two, by_way(WeatherWay::nearest)), 4);
    REQUIRE(found.ways.size() == 1);
    const WayErrors& nearest = found.ways[0];
    CHECK(nearest.temperature_degc.counted == 2 * 8 * 24);
    CHECK(nearest.temperature_degc.mean_error == Approx(0.0).margin(1e-12).epsilon(0.0));
    CHECK(nearest.temperature_degc.rmse == Approx(10.0));
    CHECK(nearest.daily_mean_degc.counted == 16);
    CHECK(nearest.daily_mean_degc.rmse == Approx(10.0));
    CHECK(nearest.daily_rain_mm.rmse == Approx(24 * 0.4));
    CHECK(nearest.warm_wet_hours.counted == 4);
    CHECK(nearest.warm_wet_hours.rmse == Approx(96.0));
}
