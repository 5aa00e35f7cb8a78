#include "geo/weather_grid.h"

#include <cmath>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "geo/netcdf_length.h"
#include "geo/store/known_weather.h"
#include "models/weather/humidity.h"
#include "models/weather/weather_source.h"
#include "tests/geo/netcdf_file.h"
#include "tests/geo/store_fixture.h"

using Catch::Matchers::Contains;

namespace store_tests {

namespace {

/// A grid of 4 rows and 5 columns, a quarter of a degree apart, around the three fields near 9.5 E 56 N; hour by hour
/// from 2026-06-01 00:00 UTC. Long Acre, Mill Piece and Fen lie in the cell of row 2 and column 2.
struct MadeGrid {
    std::size_t hours = 36;
    double step_h = 1.0;
    std::string time_unit = "hours since 2026-06-01 00:00:00";
    std::vector<double> longitudes = {9.0, 9.25, 9.5, 9.75, 10.0};
    std::vector<double> latitudes = {56.5, 56.25, 56.0, 55.75};
    std::string temperature_unit = "K", rain_unit = "mm";
    NetcdfFile::Texts temperature_texts = {{"standard_name", "air_temperature"}};
    NetcdfFile::Texts rain_texts = {{"standard_name", "precipitation_amount"}};
    NetcdfFile::Texts time_texts = {{"standard_name", "time"}};
    std::vector<double> rain;    // at a time; empty: none
    std::vector<double> bounds;  // of the times
    std::vector<std::pair<std::size_t, std::size_t>> sea;
    bool humidity = false;  // instead of the dew point
    bool dew_point_too_high = false;

    static double kelvin(std::size_t hour, std::size_t row, std::size_t column) {
        return 285.0 + static_cast<double>(hour % 24) * 0.25 + static_cast<double>(row) +
               0.5 * static_cast<double>(column);
    }
    template <typename Value>
    std::vector<double> cells(const Value& value) const {
        std::vector<double> all;
        for (std::size_t hour = 0; hour < hours; ++hour) {
            for (std::size_t row = 0; row < latitudes.size(); ++row) {
                for (std::size_t column = 0; column < longitudes.size(); ++column) {
                    const bool none = std::count(sea.begin(), sea.end(), std::pair{row, column}) > 0;
                    all.push_back(none ? NetcdfFile::nothing : value(hour, row, column));
                }
            }
        }
        return all;
    }
    fs::path write(const Folder& folder, const std::string& name = "grid.nc") const {
        NetcdfFile file(folder / name);
        file.dimension("time", hours);
        file.dimension("lat", latitudes.size());
        file.dimension("lon", longitudes.size());
        std::vector<double> times;
        for (std::size_t hour = 0; hour < hours; ++hour) times.push_back(static_cast<double>(hour) * step_h);
        NetcdfFile::Texts texts = time_texts;
        if (!bounds.empty()) texts.emplace_back("bounds", "time_bnds");
        file.array("time", {"time"}, times, time_unit, texts);
        if (!bounds.empty()) {
            file.dimension("two", 2);
            file.array("time_bnds", {"time", "two"}, bounds, time_unit);
        }
        file.array("lat", {"lat"}, latitudes, "degrees_north");
        file.array("lon", {"lon"}, longitudes, "degrees_east");
        const std::vector<std::string> of = {"time", "lat", "lon"};
        file.array("tas", of, cells(kelvin), temperature_unit, temperature_texts);
        if (humidity) {
            file.array("hurs", of, cells([](std::size_t, std::size_t, std::size_t column) {
                           return 70.0 + static_cast<double>(column);
                       }),
                       "%", {{"standard_name", "relative_humidity"}});
        } else {
            const double below = dew_point_too_high ? -1.0 : 3.0;
            file.array("d2m", of, cells([=](std::size_t hour, std::size_t row, std::size_t column) {
                           return kelvin(hour, row, column) - below;
                       }),
                       "K");
        }
        if (!rain.empty()) {
            file.array("tp", of, cells([&](std::size_t hour, std::size_t, std::size_t) { return rain[hour]; }),
                       rain_unit, rain_texts);
        }
        return folder / name;
    }
};

geo::ImportReport import_grid(Farm& farm, const fs::path& file, const std::string& map = "",
                              const char* forecast_made = nullptr) {
    geo::ImportOptions options;
    if (!map.empty()) options.column_map = farm.folder.write("grid.toml", map).string();
    if (forecast_made != nullptr) options.forecast_made_utc = models::parse_stamp(forecast_made)->utc;
    return geo::import_file(farm.store, "weather", file, options);
}

std::string refusal_of_grid(const MadeGrid& grid, const std::string& map = "") {
    Farm farm(false);
    const fs::path file = grid.write(farm.folder);
    const std::string words = refusal_of([&] { import_grid(farm, file, map); });
    CHECK(farm.store.stations().empty());
    return words;
}

const models::LocalDay first_day = models::day_of(2026, 6, 1);

std::string all_notes(const geo::ImportReport& report) {
    std::string text;
    for (const std::string& note : report.notes) text += note + "\n";
    return text;
}

/// Showers, an hour each in three, and what a counter makes of them.
std::vector<double> made_showers(std::size_t hours) {
    std::vector<double> rain(hours, 0.0);
    for (std::size_t i = 0; i < hours; ++i) rain[i] = i % 9 < 3 ? 0.5 + 0.25 * static_cast<double>(i % 4) : 0.0;
    return rain;
}
std::vector<double> summed(const std::vector<double>& rain) {
    std::vector<double> totals;
    double total = 0.0;
    for (const double hour : rain) totals.push_back(total += hour);
    return totals;
}

}  // namespace

TEST_CASE("the cell of a grid that the fields lie in becomes a station of its own") {
    Farm farm(false);
    MadeGrid grid;
    grid.rain = made_showers(grid.hours);
    const geo::ImportReport report = import_grid(farm, grid.write(farm.folder), "offset = \"+02:00\"\n");
    CHECK(report.refused.empty());
    CHECK(report.added == 37);  // the rain told at midnight is that of the hour before
    CHECK_THAT(all_notes(report), Contains("grid 9.50 E 56.00 N stands for Fen, Long Acre, Mill Piece and 1 more") &&
                                      Contains("the rain told at an hour is that of the hour before it"));
    const auto stations = farm.store.stations();
    REQUIRE(stations.size() == 1);
    CHECK(stations[0].station == "grid 9.50 E 56.00 N");
    CHECK(stations[0].source == models::WeatherSource::grid);
    CHECK(models::in_words(stations[0]) == "a grid cell");
    const auto hours = farm.store.weather(stations[0].station, first_day, first_day);
    const auto at = [&](int utc) { return static_cast<std::size_t>(utc + 2); };  // the farm's day begins at 22:00 UTC
    CHECK(std::isnan(hours.temperature_degc[0]));
    const double temperature = MadeGrid::kelvin(5, 2, 2) - 273.15;
    CHECK(hours.temperature_degc[at(5)] == Approx(temperature).margin(1e-6).epsilon(0.0));
    CHECK(hours.dew_point_degc[at(5)] == Approx(temperature - 3.0).margin(1e-6).epsilon(0.0));
    CHECK(hours.relative_humidity_pct[at(5)] ==
          Approx(models::relative_humidity_pct(temperature, temperature - 3.0)).margin(1e-4).epsilon(0.0));
    CHECK(hours.rain_mm[at(5)] == Approx(grid.rain[6]));
    CHECK(hours.rain_mm[at(-1)] == Approx(grid.rain[0]));
    // The same file again adds nothing.
    const geo::ImportReport again = import_grid(farm, farm.folder / "grid.nc", "offset = \"+02:00\"\n");
    CHECK(again.added == 0);
    CHECK(again.unchanged == 37);
}

TEST_CASE("longitudes from 0 to 360 and latitudes from the south give the same cells") {
    Farm farm(false);
    MadeGrid turned;
    turned.longitudes = {359.5, 359.75, 0.0, 0.25, 0.5};
    turned.latitudes = {-34.5, -34.25, -34.0, -33.75};
    geo::GridForms forms;
    models::Field west, east;
    west.field = "West";
    west.longitude_deg = -0.2;
    east.field = "East";
    east.longitude_deg = 0.3;
    west.latitude_deg = east.latitude_deg = -34.2;
    const auto grid = geo::read_weather_grid(turned.write(farm.folder), {west, east}, forms);
    REQUIRE(grid.table.stations.size() == 2);
    CHECK(grid.table.stations[0].station.station == "grid 0.25 E 34.25 S");
    CHECK(grid.table.stations[1].station.station == "grid 0.25 W 34.25 S");
    CHECK(grid.table.stations[1].station.longitude_deg == -0.25);
    CHECK(grid.table.stations[1].months[0].hours.temperature_degc[3] ==
          Approx(MadeGrid::kelvin(3, 1, 1) - 273.15).margin(1e-6).epsilon(0.0));
}

TEST_CASE("rain that counts from the start or of the day becomes the rain of each hour") {
    MadeGrid grid;
    grid.hours = 72;
    const std::vector<double> fell = made_showers(grid.hours);
    const auto rain_of = [&](const std::vector<double>& told, const std::string& unit, const std::string& map = "") {
        Farm farm(false);
        grid.rain = told;
        grid.rain_unit = unit;
        import_grid(farm, grid.write(farm.folder), "offset = \"+00:00\"\n" + map);
        return farm.store.weather("grid 9.50 E 56.00 N", first_day, models::day_of(2026, 6, 3)).rain_mm;
    };
    const auto check = [&](const std::vector<double>& rain) {
        REQUIRE(rain.size() >= 71);
        for (std::size_t i = 0; i < 71; ++i) REQUIRE(rain[i] == Approx(fell[i + 1]).margin(1e-6).epsilon(0.0));
    };
    check(rain_of(fell, "kg m-2"));
    std::vector<double> metres = summed(fell);
    for (double& total : metres) total /= 1000.0;
    check(rain_of(metres, "m"));
    std::vector<double> of_day;
    double total = 0.0;
    for (std::size_t i = 0; i < fell.size(); ++i) of_day.push_back(total = fell[i] + (i % 24 == 1 ? 0.0 : total));
    check(rain_of(of_day, "mm"));
    std::vector<double> rate = fell;
    for (double& hour : rate) hour /= 3600.0;
    check(rain_of(rate, "kg m-2 s-1"));
    check(rain_of(summed(fell), "mm", "rain_accumulates = true\n"));
}

TEST_CASE("bounds of the times tell which hour a sum and a mean belong to") {
    Farm farm(false);
    MadeGrid grid;
    grid.rain = made_showers(grid.hours);
    grid.temperature_texts.emplace_back("cell_methods", "time: mean");
    for (std::size_t i = 0; i < grid.hours; ++i) {
        grid.bounds.push_back(static_cast<double>(i) - 1.0);
        grid.bounds.push_back(static_cast<double>(i));
    }
    import_grid(farm, grid.write(farm.folder), "offset = \"+00:00\"\n");
    const auto hours = farm.store.weather("grid 9.50 E 56.00 N", first_day, first_day);
    CHECK(hours.temperature_degc[4] == Approx(MadeGrid::kelvin(5, 2, 2) - 273.15).margin(1e-6).epsilon(0.0));
    CHECK(hours.dew_point_degc[5] ==
          Approx(MadeGrid::kelvin(5, 2, 2) - 276.15).margin(1e-6).epsilon(0.0));  // of a moment
    CHECK(hours.rain_mm[4] == Approx(grid.rain[5]));
}

TEST_CASE("a cell in the sea gives its place to the nearest one with values") {
    Farm farm(false);
    MadeGrid grid;
    grid.sea = {{2, 2}, {2, 1}};
    const geo::ImportReport report = import_grid(farm, grid.write(farm.folder));
    CHECK_THAT(all_notes(report), Contains("the cell of Long Acre has no values (it may lie in the sea): the nearest "
                                           "that has some, 15 km away, takes its place"));
    CHECK(farm.store.stations()[0].station == "grid 9.75 E 56.00 N");
}

TEST_CASE("humidity given as such gives the dew point by the one formula") {
    Farm farm(false);
    MadeGrid grid;
    grid.humidity = true;
    import_grid(farm, grid.write(farm.folder), "offset = \"+00:00\"\n");
    const auto hours = farm.store.weather("grid 9.50 E 56.00 N", first_day, first_day);
    CHECK(hours.relative_humidity_pct[7] == 72.0);
    CHECK(hours.dew_point_degc[7] == models::dew_point_degc(hours.temperature_degc[7], 72.0));
    CHECK(std::isnan(hours.rain_mm[7]));
}

TEST_CASE("a grid that cannot be read is refused whole with what to do") {
    const auto changed = [](const std::function<void(MadeGrid&)>& change, const std::string& map = "") {
        MadeGrid grid;
        change(grid);
        return refusal_of_grid(grid, map);
    };
    CHECK_THAT(changed([](MadeGrid& grid) { grid.step_h = 3.0; }),
               Contains("its fields lie 3 hours apart; the models count hours, and those between would be made up") &&
                   Contains("get the hourly fields"));
    CHECK_THAT(changed([](MadeGrid& grid) { grid.time_unit = "hours since 2026-06-01 00:20"; }),
               Contains("is not on the hour, and nothing says which hour it speaks of"));
    CHECK_THAT(changed([](MadeGrid& grid) { grid.time_unit = "hours"; }),
               Contains("nothing says which times it speaks of"));
    CHECK_THAT(changed([](MadeGrid& grid) { grid.time_texts.emplace_back("calendar", "360_day"); }),
               Contains("its calendar is \"360_day\""));
    CHECK_THAT(changed([](MadeGrid& grid) { grid.temperature_unit = ""; }),
               Contains("tas") && Contains("nothing says its unit") &&
                   Contains("temperature_degc = { from = \"tas\", unit = \"K\" }"));
    CHECK_THAT(changed([](MadeGrid& grid) { grid.temperature_unit = "degC"; }),
               Contains("a temperature of 288 degC lies outside -60 to 55 degC, so its unit is another one"));
    CHECK_THAT(changed([](MadeGrid& grid) {
                   grid.longitudes = {19.0, 19.25, 19.5, 19.75, 20.0};
               }),
               Contains("no field lies in the grid; Fen lies at longitude 9.544, latitude 56.004, the grid from 19.00 "
                        "to 20.00 and from 55.75 to 56.50"));
    CHECK_THAT(changed([](MadeGrid& grid) {
                   for (std::size_t row = 0; row < 4; ++row) {
                       for (std::size_t column = 0; column < 5; ++column) grid.sea.emplace_back(row, column);
                   }
               }),
               Contains("no cell near any field has values"));
    CHECK_THAT(changed([](MadeGrid& grid) {
                   grid.rain = {0, 0.5, 0.9, 1.4};
                   grid.hours = 4;
               }),
               Contains("nothing says whether the rain is that of each hour or counts on") &&
                   Contains("rain_accumulates = true"));
    CHECK_THAT(changed([](MadeGrid&) {}, "[columns]\ntemperature_degc = \"t2m\"\n"),
               Contains("there is no \"t2m\" in the file, which the column map names for temperature_degc"));
}

TEST_CASE("a grid file that is cut off says so before anything of it is read") {
    // A classic file: two dimensions and one variable of 3 times 4 doubles, 96 bytes of values after its header.
    const auto number = [](unsigned value) {
        return std::string{static_cast<char>(value >> 24U), static_cast<char>(value >> 16U),
                           static_cast<char>(value >> 8U), static_cast<char>(value)};
    };
    const auto classic = [&](unsigned records, unsigned first_length) {
        std::string header = "CDF\x01" + number(records) + number(10) + number(2) + number(4) + "time" +
                             number(first_length) + number(3) + std::string("lat\0", 4) + number(4) + number(0) +
                             number(0) + number(11) + number(1) + number(3) + std::string("tas\0", 4) + number(2) +
                             number(0) + number(1) + number(0) + number(0) + number(6) +
                             number(first_length == 0 ? 32 : 96);
        const auto begin = static_cast<unsigned>(header.size()) + 4;
        return header + number(begin) + std::string(96, '\0');
    };
    Folder folder;
    for (const std::string& whole : {classic(0, 3), classic(3, 0)}) {
        CHECK(geo::grids::length_by_header(folder.write("whole.nc", whole)) == whole.size());
        const auto cut = folder.write("cut.nc", whole.substr(0, 60));
        CHECK(geo::grids::length_by_header(cut) == 61U);
    }
    // Records that are still being written, and other kinds of file.
    CHECK_FALSE(geo::grids::length_by_header(folder.write("open.nc", classic(0xFFFFFFFFU, 0))).has_value());
    CHECK_FALSE(geo::grids::length_by_header(folder.write("other.nc", "GRIB and no more")).has_value());

    const auto refused = [&](const std::string& bytes) {
        Farm farm(false);
        const fs::path file = farm.folder.write("cut.nc", bytes);
        return refusal_of([&] { import_grid(farm, file); });
    };
    const std::string whole = classic(0, 3);
    CHECK_THAT(refused(whole.substr(0, whole.size() - 8)),
               Contains(fmt::format("cut.nc: the file is cut off: it has {} of the {} bytes that its header speaks of",
                                    whole.size() - 8, whole.size())) &&
                   Contains("get it again"));
    CHECK_THAT(refused(whole.substr(0, 60)), Contains("the file is cut off: it ends after 60 bytes"));
    const fs::path late = MadeGrid{}.write(folder);  // NetCDF-4
    const std::string bytes = bytes_of(late);
    CHECK(geo::grids::length_by_header(late) == bytes.size());
    CHECK_THAT(refused(bytes.substr(0, 3000)),
               Contains(fmt::format("it has 3000 of the {} bytes that its header speaks of", bytes.size())));
}

TEST_CASE("a grid of times after the last clock change known is refused by its file and the time") {
    MadeGrid grid;
    grid.time_unit = "hours since 2039-06-01 00:00";
    CHECK_THAT(refusal_of_grid(grid, "time_zone = \"Europe/Copenhagen\"\n"),
               Contains(".nc: the time 2039-0") &&
                   Contains("has no known clock: the clock changes of Europe/Copenhagen are not known after 2037"));
}

TEST_CASE("a grid needs outlines to know which of its cells are wanted") {
    Folder folder;
    geo::Store store = geo::Store::create(folder / "empty.lodicule");
    CHECK_THAT(refusal_of([&] { geo::import_file(store, "weather", MadeGrid{}.write(folder)); }),
               Contains("the store has no outlines, so nothing says which cells of the grid are wanted") &&
                   Contains("import STORE fields FILE"));
    CHECK_THAT(refusal_of([&] { geo::import_file(store, "weather", folder.write("cut.nc", "CDF\x01 and no more")); }),
               Contains("cut.nc"));
    CHECK_THAT(refusal_of([&] { geo::import_file(store, "weather", folder.write("cut.grib", "GRIB and no more")); }),
               Contains("cut.grib"));
}

TEST_CASE("what a grid says that cannot be is missing and told") {
    Farm farm(false);
    MadeGrid grid;
    grid.dew_point_too_high = true;
    const geo::ImportReport report = import_grid(farm, grid.write(farm.folder));
    CHECK_THAT(all_notes(report), Contains("36 values cannot be"));
    const auto hours = farm.store.weather("grid 9.50 E 56.00 N", first_day, first_day);
    CHECK(std::isnan(hours.dew_point_degc[12]));
    CHECK(std::isnan(hours.relative_humidity_pct[12]));
    CHECK_FALSE(std::isnan(hours.temperature_degc[12]));
    CHECK_THAT(all_notes(report), Contains("days are counted by the sun at these longitudes, UTC+01:00") &&
                                      Contains("the file holds no rain"));
}

TEST_CASE("a forecast stands beside the observed hours and neither overwrites the other") {
    Farm farm(false);
    MadeGrid grid;
    grid.hours = 72;
    const fs::path file = grid.write(farm.folder);
    import_grid(farm, file, "offset = \"+02:00\"\n", "2026-06-01T00:00Z");
    CHECK(farm.store.stations().empty());
    const auto forecasts = farm.store.forecasts();
    REQUIRE(forecasts.size() == 1);
    CHECK(forecasts[0].station == "grid 9.50 E 56.00 N, forecast 2026-06-01 00:00 UTC");
    CHECK(forecasts[0].forecast_of == "grid 9.50 E 56.00 N");
    CHECK(models::in_words(forecasts[0]) == "a forecast made 2026-06-01 00:00 UTC");
    // A station nearby, observed to the end of 1 June and then beyond.
    std::string text = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n";
    for (int day = 1; day <= 3; ++day) {
        for (int hour = 0; hour < 24; ++hour) {
            text += "Hill,9.52,56.01,2026-06-0" + std::to_string(day) + "T" + (hour < 10 ? "0" : "") +
                    std::to_string(hour) + ":00+02:00," + std::to_string(15 + day) + ",80\n";
        }
    }
    farm.import_text("weather", text);
    const auto stations = farm.store.stations();
    REQUIRE(stations.size() == 1);
    const auto known = geo::known_weather(farm.store, stations[0], farm.store.forecasts(), first_day,
                                          models::day_of(2026, 6, 3), models::day_of(2026, 6, 1));
    CHECK(models::note_of_forecast_hours(known, {first_day, models::day_of(2026, 6, 3)}) ==
          "48 of 72 hours are forecast, for grid 9.50 E 56.00 N, 1.7 km away, made 2026-06-01 00:00 UTC");
    CHECK(known.hours.temperature_degc[23] == 16.0);
    CHECK(known.hours.temperature_degc[24] == Approx(MadeGrid::kelvin(22, 2, 2) - 273.15).margin(1e-6).epsilon(0.0));
    const auto today = geo::known_weather(farm.store, stations[0], farm.store.forecasts(), first_day,
                                          models::day_of(2026, 6, 3), std::nullopt);
    CHECK(models::note_of_forecast_hours(today, {first_day, models::day_of(2026, 6, 3)}).empty());
    CHECK(today.hours.temperature_degc[24] == 17.0);
}

TEST_CASE("a forecast as a table goes under the time when it was made") {
    Farm farm(false);
    const std::string header = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n";
    farm.import_text("weather", header + "Hill,9.52,56.01,2026-06-01T10:00+02:00,15,80\n");
    const auto forecast = [&](const char* made, const std::string& rows) {
        geo::ImportOptions options;
        options.forecast_made_utc = models::parse_stamp(made)->utc;
        return farm.import_text("weather", rows, options);
    };
    const std::string later = "station,time,temperature_degc,relative_humidity_pct\nHill,2026-06-01T11:00+02:00,";
    CHECK(forecast("2026-06-01T08:00+02:00", later + "18,70\n").added == 1);  // its place is known
    CHECK(forecast("2026-06-01T09:00+02:00", later + "19,70\n").added == 1);  // a later issue is no contradiction
    CHECK(forecast("2026-06-01T09:00+02:00", later + "19,70\n").unchanged == 1);
    CHECK(farm.store.forecasts().size() == 2);
    CHECK(farm.store.stations().size() == 1);
    CHECK_THAT(farm.export_text("stations"), Contains("forecast_of,made_utc,source"));
    const auto known = geo::known_weather(farm.store, farm.store.stations()[0], farm.store.forecasts(), first_day,
                                          first_day, std::nullopt);
    const auto ten = static_cast<std::size_t>(
        (models::parse_stamp("2026-06-01T10:00+02:00")->utc - known.hours.first_utc) / std::chrono::hours(1));
    CHECK(known.hours.temperature_degc[ten] == 15.0);
    CHECK(known.hours.temperature_degc[ten + 1] == 19.0);
    geo::ImportOptions options;
    options.forecast_made_utc = models::parse_stamp("2026-06-01T00:00Z")->utc;
    CHECK_THAT(refusal_of([&] { farm.import_text("crops", crops_text(), options); }),
               Contains("only weather is forecast, and these are crops"));
}

TEST_CASE("hours of a grid do not go under the name of a station") {
    Farm farm(false);
    const std::string rows =
        "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n"
        "Hill,9.52,56.01,2026-06-01T1";
    farm.import_text("weather", rows + "0:00+02:00,15,80\n");
    geo::ImportOptions options;
    options.column_map = farm.folder.write("cut.toml", "source = \"grid\"\n").string();
    CHECK_THAT(farm.refusal("weather", rows + "1:00+02:00,15,80\n", options),
               Contains("Hill has hours from a weather station, and these are from a grid cell: hours of different "
                        "sources do not go under one name"));
    CHECK(farm.import_text("weather",
                           "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n"
                           "Cell,9.52,56.01,2026-06-01T10:00+02:00,15,80\n",
                           options)
              .added == 1);
    CHECK(farm.store.stations()[0].source == models::WeatherSource::grid);
}

TEST_CASE("sources of weather survive being written out and read into a new store") {
    Farm farm(false);
    const fs::path file = MadeGrid{}.write(farm.folder);
    import_grid(farm, file);
    import_grid(farm, file, "", "2026-06-01T00:00Z");
    Farm second(false);
    second.import_text("stations", farm.export_text("stations"));
    second.import_text("weather", farm.export_text("weather"));
    REQUIRE(second.store.stations().size() == 1);
    CHECK(second.store.stations()[0].source == models::WeatherSource::grid);
    REQUIRE(second.store.forecasts().size() == 1);
    CHECK(second.store.forecasts()[0].made_utc == models::parse_stamp("2026-06-01T00:00Z")->utc);
    CHECK(second.export_text("weather") == farm.export_text("weather"));
}

}  // namespace store_tests
