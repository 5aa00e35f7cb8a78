#include <cmath>
#include <functional>
#include <numbers>

#include <catch2/catch.hpp>

#include "geo/grid_places.h"
#include "tests/geo/netcdf_file.h"
#include "tests/geo/store_fixture.h"

using Catch::Matchers::Contains;

namespace store_tests {

namespace {

constexpr std::size_t grid_hours = 60;
const models::LocalDay grid_first_day = models::day_of(2026, 6, 1), grid_last_day = models::day_of(2026, 6, 3);

/// Where the pole of a turned grid lies, and a place of it on the earth (CF Conventions, appendix F).
struct TurnedPole {
    double latitude_deg = 39.25, longitude_deg = -162.0;
    static double rad(double degrees) { return degrees * std::numbers::pi / 180.0; }
    std::pair<double, double> longitude_and_latitude(double x_deg, double y_deg) const {
        const double p = rad(latitude_deg), y = rad(y_deg), x = rad(x_deg);
        const double latitude = std::asin(std::sin(p) * std::sin(y) + std::cos(p) * std::cos(y) * std::cos(x));
        const double from_pole =
            std::atan2(-std::cos(y) * std::sin(x), std::cos(p) * std::sin(y) - std::sin(p) * std::cos(y) * std::cos(x));
        return {geo::grids::longitude_about_zero(from_pole / std::numbers::pi * 180.0 + longitude_deg),
                latitude / std::numbers::pi * 180.0};
    }
};

/// A turned grid of 5 rows and 7 columns, a tenth of a degree apart; the fields near 9.5 E 56 N lie in its middle.
struct TurnedGrid {
    bool cells = true;        ///< longitudes and latitudes of every cell
    bool edges = false;       ///< and those of their edges, half a degree away
    std::string coordinates;  ///< what the temperature says are its own
    std::string unit = "degrees", east = unit;
    bool backwards = false;
    std::vector<double> rain;

    fs::path write(const Folder& folder) const {
        NetcdfFile file(folder / "turned.nc");
        file.dimension("time", grid_hours);
        file.dimension("rlat", 5);
        file.dimension("rlon", 7);
        std::vector<double> times, x, y, longitudes, latitudes, degc, mm;
        for (int row = -2; row <= 2; ++row) y.push_back(5.5284 + 0.1 * row);
        for (int column = -3; column <= 3; ++column) x.push_back(-4.7599 + 0.1 * column);
        for (const double north : y) {
            for (const double to_east : x) {
                const auto [longitude, latitude] = TurnedPole{}.longitude_and_latitude(to_east, north);
                longitudes.push_back(longitude);
                latitudes.push_back(latitude);
            }
        }
        for (std::size_t i = 0; i < grid_hours; ++i) {
            const std::size_t hour = backwards ? grid_hours - 1 - i : i;
            times.push_back(static_cast<double>(hour));
            for (std::size_t cell = 0; cell < longitudes.size(); ++cell) {
                degc.push_back(10.0 + 0.1 * static_cast<double>(hour) + 0.01 * static_cast<double>(cell));
                if (!rain.empty()) mm.push_back(rain[hour]);
            }
        }
        file.array("time", {"time"}, times, "hours since 2026-06-01 00:00", {{"standard_name", "time"}});
        file.array("rlat", {"rlat"}, y, unit, {{"standard_name", "grid_latitude"}});
        file.array("rlon", {"rlon"}, x, east, {{"standard_name", "grid_longitude"}});
        if (cells) {
            file.array("lat", {"rlat", "rlon"}, latitudes, "degrees_north", {{"standard_name", "latitude"}});
            file.array("lon", {"rlat", "rlon"}, longitudes, "degrees_east", {{"standard_name", "longitude"}});
        }
        if (edges) {
            for (double& value : latitudes) value += 0.5;
            for (double& value : longitudes) value += 0.5;
            file.array("lat_u", {"rlat", "rlon"}, latitudes, "degrees_north", {{"standard_name", "latitude"}});
            file.array("lon_u", {"rlat", "rlon"}, longitudes, "degrees_east", {{"standard_name", "longitude"}});
        }
        NetcdfFile::Texts texts = {{"standard_name", "air_temperature"}};
        if (!coordinates.empty()) texts.emplace_back("coordinates", coordinates);
        file.array("tas", {"time", "rlat", "rlon"}, degc, "degC", texts);
        if (!rain.empty()) file.array("pr", {"time", "rlat", "rlon"}, mm, "kg m-2");
        return folder / "turned.nc";
    }
};

models::HourlySeries hours_of_turned(Farm& farm, const TurnedGrid& grid) {
    geo::ImportOptions options;
    options.column_map = farm.folder.write("clock.toml", "offset = \"+00:00\"\n").string();
    geo::import_file(farm.store, "weather", grid.write(farm.folder), options);
    const auto stations = farm.store.stations();
    REQUIRE(!stations.empty());
    return farm.store.weather(stations[0].station, grid_first_day, grid_last_day);
}

std::string refusal_of_turned(const TurnedGrid& grid) {
    Farm farm(false);
    const fs::path file = grid.write(farm.folder);
    const std::string words = refusal_of([&] { geo::import_file(farm.store, "weather", file); });
    CHECK(farm.store.stations().empty());
    return words;
}

}  // namespace

TEST_CASE("a grid with a turned pole is read by the longitudes and latitudes of its cells") {
    Farm farm(false);
    const auto hours = hours_of_turned(farm, {});
    const auto station = farm.store.stations()[0];
    CHECK(station.longitude_deg == Approx(9.505).margin(0.01).epsilon(0.0));
    CHECK(station.latitude_deg == Approx(56.005).margin(0.01).epsilon(0.0));
    CHECK(hours.temperature_degc[5] == Approx(10.5 + 0.01 * (2 * 7 + 3)).margin(1e-6).epsilon(0.0));
}

TEST_CASE("the degrees of a turned pole are never taken for those of the earth") {
    TurnedGrid grid;
    grid.cells = false;
    CHECK_THAT(refusal_of_turned(grid), Contains("turned.nc, tas: nothing says where its cells lie on the earth") &&
                                            Contains("give longitudes and latitudes"));
    grid.unit = "degrees_north";
    grid.east = "degrees_east";
    CHECK_THAT(refusal_of_turned(grid), Contains("nothing says where its cells lie on the earth"));
}

TEST_CASE("where a file places its cells twice the quantity says which are its own or the file is refused") {
    TurnedGrid grid;
    grid.edges = true;
    CHECK_THAT(refusal_of_turned(grid), Contains("lon and lon_u may both say where its cells lie") &&
                                            Contains("name its own in the attribute coordinates"));
    grid.coordinates = "lon lat";
    Farm farm(false);
    hours_of_turned(farm, grid);
    CHECK(farm.store.stations()[0].latitude_deg == Approx(56.005).margin(0.01).epsilon(0.0));
}

TEST_CASE("two grids of one shape that lie elsewhere are two grids") {
    geo::grids::Lattice one;
    one.rows = 1;
    one.columns = 2;
    one.cell_longitudes_deg = {9.0, std::nan("")};
    one.cell_latitudes_deg = {56.0, std::nan("")};
    geo::grids::Lattice other = one;
    CHECK(geo::grids::same_places(one, other));
    other.cell_latitudes_deg[0] = 56.5;
    CHECK_FALSE(geo::grids::same_places(one, other));
}

TEST_CASE("times that run backwards give the same hours and the same rain of each hour") {
    TurnedGrid grid;
    std::vector<double> fell;
    for (std::size_t hour = 0; hour < grid_hours; ++hour) {
        fell.push_back(hour % 9 < 3 ? 0.5 : 0.0);
        // Counted from midnight of UTC: the total told at midnight is that of the whole day before.
        const bool begins = hour % 24 == 1 || hour == 0;
        grid.rain.push_back(fell.back() + (begins ? 0.0 : grid.rain.back()));
    }
    Farm forward(false), back(false);
    const auto usual = hours_of_turned(forward, grid);
    grid.backwards = true;
    const auto turned = hours_of_turned(back, grid);
    REQUIRE(turned.size() == usual.size());
    for (std::size_t i = 0; i + 1 < grid_hours; ++i) {
        REQUIRE(turned.temperature_degc[i] == usual.temperature_degc[i]);
        REQUIRE(turned.temperature_degc[i] == Approx(10.17 + 0.1 * static_cast<double>(i)).margin(1e-6).epsilon(0.0));
        REQUIRE(turned.rain_mm[i] == Approx(fell[i + 1]).margin(1e-6).epsilon(0.0));
        REQUIRE(usual.rain_mm[i] == turned.rain_mm[i]);
    }
}

TEST_CASE("a grid whose cells stand in one row is refused with what it runs along") {
    Farm farm(false);
    {
        NetcdfFile file(farm.folder / "cells.nc");
        file.dimension("time", 3);
        file.dimension("ncells", 2);
        file.array("time", {"time"}, {0, 1, 2}, "hours since 2026-06-01 00:00");
        file.array("clon", {"ncells"}, {9.5, 9.6}, "degrees_east");
        file.array("clat", {"ncells"}, {56.0, 56.1}, "degrees_north");
        file.array("tas", {"time", "ncells"}, std::vector<double>(6, 288.0), "K",
                   {{"standard_name", "air_temperature"}});
    }
    CHECK_THAT(
        refusal_of([&] { geo::import_file(farm.store, "weather", farm.folder / "cells.nc"); }),
        Contains("cells.nc, tas: the temperature has no rows and columns of cells (it runs along time, ncells)") &&
            Contains("ask for a grid with rows and columns"));
}

namespace {

/// Three hours of a grid of two rows and two columns; `add` writes the quantities.
geo::ImportReport import_small(Farm& farm, const std::function<void(NetcdfFile&)>& add, bool times_known = true) {
    {
        NetcdfFile file(farm.folder / "small.nc");
        file.dimension("time", 3);
        file.dimension("lat", 2);
        file.dimension("lon", 2);
        file.array("time", {"time"}, {0, times_known ? 1 : std::nan(""), 2}, "hours since 2026-06-01 00:00",
                   {{"standard_name", "time"}, {"bounds", "time_bnds"}});
        file.array("lat", {"lat"}, {56.0, 56.25}, "degrees_north");
        file.array("lon", {"lon"}, {9.5, 9.75}, "degrees_east");
        add(file);
    }
    return geo::import_file(farm.store, "weather", farm.folder / "small.nc");
}

void put_temperature(NetcdfFile& file, const std::string& unit = "K", const std::string& method = "") {
    NetcdfFile::Texts texts = {{"standard_name", "air_temperature"}};
    if (!method.empty()) texts.emplace_back("cell_methods", method);
    file.array("tas", {"time", "lat", "lon"}, std::vector<double>(12, 288.0), unit, texts);
}

}  // namespace

TEST_CASE("what a grid says of its cells and times that is not understood is refused in words") {
    const auto refused = [](const std::function<void(NetcdfFile&)>& add, bool times_known = true) {
        Farm farm(false);
        const std::string words = refusal_of([&] { import_small(farm, add, times_known); });
        CHECK(farm.store.stations().empty());
        return words;
    };
    CHECK_THAT(refused([](NetcdfFile& file) {
                   file.dimension("member", 2);
                   file.array("tas", {"time", "member", "lat", "lon"}, std::vector<double>(24, 288.0), "K",
                              {{"standard_name", "air_temperature"}});
               }),
               Contains("small.nc, tas: it comes in 2 sorts (member), and one is needed") &&
                   Contains("cut one out of the file: one level, one member"));
    CHECK_THAT(refused([](NetcdfFile& file) {
                   put_temperature(file);
                   file.dimension("north", 3);
                   file.dimension("east", 2);
                   file.array("north", {"north"}, {56.0, 56.25, 56.5}, "degrees_north");
                   file.array("east", {"east"}, {9.5, 9.75}, "degrees_east");
                   file.array("d2m", {"time", "north", "east"}, std::vector<double>(18, 284.0), "K");
               }),
               Contains("small.nc, d2m: it lies on another grid than tas") &&
                   Contains("import the two from files of their own"));
    CHECK_THAT(refused([](NetcdfFile& file) { put_temperature(file, "furlong"); }),
               Contains("small.nc, tas: \"furlong\" is no known unit of temperature") &&
                   Contains("temperature_degc = { from = \"tas\", unit = \"K\" }"));
    CHECK_THAT(refused([](NetcdfFile& file) { put_temperature(file); }, false),
               Contains("small.nc, time: time 2 of 3 is missing"));
    CHECK_THAT(refused([](NetcdfFile& file) {
                   file.dimension("two", 2);
                   file.array("time_bnds", {"time", "two"}, {-3, 0, -2, 1, -1, 2}, "hours since 2026-06-01 00:00");
                   put_temperature(file, "K", "time: mean");
               }),
               Contains("small.nc, tas: its values are means of more or less than an hour") &&
                   Contains("get the hourly fields"));
}

TEST_CASE("rain of single moments is told and left out while the temperature goes in") {
    Farm farm(false);
    const geo::ImportReport report = import_small(farm, [](NetcdfFile& file) {
        put_temperature(file);
        file.array("pr", {"time", "lat", "lon"}, std::vector<double>(12, 0.0001), "kg m-2 s-1",
                   {{"cell_methods", "time: point"}});
    });
    CHECK(report.added == 3);
    std::string notes;
    for (const std::string& note : report.notes) notes += note + "\n";
    CHECK_THAT(notes, Contains("pr is the rain of single moments and says nothing of whole hours; it is not kept"));
}

}  // namespace store_tests
