#include <cmath>
#include <fstream>
#include <sstream>

#include <fmt/format.h>

#include "geo/check.h"
#include "geo/store/database.h"
#include "models/weather/humidity.h"
#include "tests/geo/store_fixture.h"
#include "tests/support/shared_data.h"

/// Slips of unit, season and place that would go in as numbers like any other.
namespace store_tests {

using Catch::Matchers::Contains;

namespace {

geo::ImportOptions as_written() {
    geo::ImportOptions options;
    options.as_written = true;
    return options;
}

/// A month of hours, each 0.1 warmer than the one before, from the first value on.
/// The stations of a table of sites.
std::string shared_stations(const fs::path& sites) {
    std::ifstream in(sites);
    std::string text = "station,longitude_deg,latitude_deg\n", line;
    std::getline(in, line);
    while (std::getline(in, line)) {
        std::vector<std::string> cells;
        std::stringstream row(line);
        for (std::string cell; std::getline(row, cell, ',');) cells.push_back(cell);
        text += cells.at(0) + "," + cells.at(3) + "," + cells.at(2) + "\n";
    }
    return text;
}

std::string hours_text(double first, const std::string& place = "9.51,56.0", int hours = 48) {
    std::string text = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm\n";
    for (int i = 0; i < hours; ++i) {
        text += "H," + place + ",2025-06-" + (i < 24 ? "10" : "11") + "T" + (i % 24 < 10 ? "0" : "") +
                std::to_string(i % 24) + ":00+02:00," + std::to_string(first + 0.1 * i) + ",80,0\n";
    }
    return text;
}

}  // namespace

TEST_CASE("a result that looks like another unit is refused and goes in as written on request") {
    Farm farm;
    farm.import_text("samples", "sample,stage,kind,field\nG1,standing,composite,Fen\n");
    const auto test = [](const std::string& don, const std::string& unit) {
        return "test,time,sample,don,unit\nT1,2025-07-01T10:00+02:00,G1," + don + "," + unit + "\n";
    };
    CHECK_THAT(farm.refusal("tests", test("450", "mg/kg")),
               Contains("450 mg/kg is more DON than grain is found with (100 mg/kg)") && Contains("write unit=ppb") &&
                   Contains("if it is right, say --as-written"));
    CHECK_THAT(farm.refusal("tests", test("<0.3", "ppb")),
               Contains("<0.3 ppb is 0.0003 mg/kg, which is less DON than a test tells from none (0.01 mg/kg)") &&
                   Contains("write unit=ppm"));
    CHECK_THAT(farm.refusal("tests", test("0.42", "ug/kg")), Contains("0.42 ug/kg is 0.00042 mg/kg"));
    CHECK_THAT(farm.refusal("tests", test(">600", "ppm")), Contains(">600 ppm is 600 mg/kg, which is more"));
    CHECK(farm.store.tests().empty());
    CHECK(farm.import_text("tests", test("0", "mg/kg")).added == 1);
    geo::ImportOptions corrected = as_written();
    corrected.correct_because = "from heads of a nursery";
    CHECK(farm.import_text("tests", test("450", "mg/kg"), corrected).corrected == 1);
    CHECK(farm.store.tests().front().don_mg_per_kg == 450.0);
}

TEST_CASE("contents in ug/kg under a column of mg/kg are refused in every table") {
    Farm farm(false);
    CHECK_THAT(
        farm.refusal("bins", "bin,capacity_t,purpose,opening_mass_t,opening_mean_mg_per_kg\nS1,50,food,20,450\n"),
        Contains("450 mg/kg is more DON than grain is found with") && Contains("divide it by 1000"));
    CHECK_THAT(farm.refusal("limits",
                            "limit_id,jurisdiction,commodity,purpose,limit_mg_per_kg,basis,from,kind,source\n"
                            "mill,mill,wheat,food,1250,as_is,2024-01-01,contract,paper\n"),
               Contains("1250 mg/kg is more DON"));
    CHECK_THAT(farm.refusal("loads", "load,time,net_t\nL1,2025-07-20T09:00+02:00,242\n"),
               Contains("242 t is more than a truck or a wagon carries (100 t)"));
    CHECK(farm.import_text("loads", "load,time,net_t\nL1,2025-07-20T09:00+02:00,242\n", as_written()).added == 1);
}

TEST_CASE("a name that is a load and a bin at once would make moves without meaning") {
    Farm farm(false);
    farm.import_text("bins", "bin,capacity_t,purpose\nS1,50,hold\n");
    CHECK_THAT(farm.refusal("loads", "load,net_t\nS1,20\n"), Contains("there is a bin \"S1\" already"));
    CHECK_THAT(farm.refusal("bins", "bin,capacity_t,purpose\nout,50,hold\n"),
               Contains("\"out\" is where grain leaves to"));
    CHECK_THAT(farm.refusal("bins", "bin,capacity_t,purpose\nnone,50,hold\n"),
               Contains("\"none\" says of a move that no bin was advised"));
}

TEST_CASE("shares of a load that add up to more than the load refuse their file") {
    Farm farm(false);
    farm.import_text("loads", "load,net_t\nL1,20\nL2,20\n");
    CHECK_THAT(
        refusal_of([&] { farm.import_text("load-parts", "load,field,share\nL1,Fen,0.7\nL1,Long Acre,1\nL2,Fen,1\n"); }),
        Contains("the shares of load L1 add up to 1.7, more than the whole load, and nothing went in"));
    CHECK(farm.store.loads()[1].parts.empty());
    CHECK(farm.import_text("load-parts", "load,field,share\nL1,Fen,0.667\nL1,Long Acre,0.333\n").added == 2);
}

TEST_CASE("a table of temperatures in another unit is refused as a whole and none of it is kept") {
    Farm farm;
    const auto refused = [&](double first) {
        return refusal_of([&] { farm.import_text("weather", hours_text(first)); });
    };
    CHECK_THAT(refused(51.9),
               Contains("weather.csv, column temperature_degc: 16 of 48 temperatures lie outside -60 to 55 "
                        "degC, so the column is hardly in degC, and no row went in") &&
                   Contains("temperature_degc = { from = \"temperature_degc\", unit = \"degF\" }"));
    CHECK_THAT(refused(44.0), Contains("half of the temperatures lie above 46.4 degC") && Contains("unit = \"degF\""));
    CHECK_THAT(refused(283.0), Contains("48 of 48 temperatures lie outside") && Contains("unit = \"K\""));
    CHECK_THAT(refused(-999.0), Contains("missing = [\""));
    CHECK(farm.store.stations().empty());
    CHECK(farm.store.database().whole("SELECT count(*) FROM weather_block") == 0);
    // One spike of a sensor in a long table is a matter of its row.
    std::string spike = hours_text(12.0);
    for (int more = 0; more < 4; ++more) {
        const std::string day = std::to_string(12 + more);
        for (int hour = 0; hour < 24; ++hour) {
            spike += "H,9.51,56.0,2025-06-" + day + "T" + (hour < 10 ? "0" : "") + std::to_string(hour) + ":00+02:00," +
                     (more == 0 && hour == 0 ? "85" : "14") + ",80,0\n";
        }
    }
    const auto report = farm.import_text("weather", spike);
    CHECK(report.added == 143);
    REQUIRE(report.refused.size() == 1);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("85 degC lies outside -60 to 55 degC"));
}

namespace {

/// A month of a place: a daily wave of 8 degC about `mean_degc` and 70 to 82 %, written in degC or degF.
std::string month_text(double mean_degc, bool in_degf, const char* place, int month, bool dew_points = false) {
    std::string text = std::string("station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct") +
                       (dew_points ? ",dew_point_degc\n" : "\n");
    const auto written = [&](double degc) { return fmt::format(",{:.1f}", in_degf ? degc * 1.8 + 32.0 : degc); };
    for (int hour = 0; hour < 28 * 24; ++hour) {
        const double degc = mean_degc + 4.0 * std::sin((hour % 24 - 9) / 24.0 * 6.283);
        const double humidity = 70.0 + hour % 13;
        text += fmt::format("S,{},2026-{:02}-{:02}T{:02}:00:00+01:00", place, month, hour / 24 + 1, hour % 24);
        text += written(degc) + fmt::format(",{}", humidity);
        if (dew_points) text += written(models::dew_point_degc(degc, humidity));
        text += "\n";
    }
    return text;
}

}  // namespace

TEST_CASE("cool temperatures in degF are refused under a degC header by the latitude and the dew points") {
    const auto refused = [](const std::string& text, bool as_written = false) {
        Farm farm(false);
        geo::ImportOptions options;
        options.as_written = as_written;
        return refusal_of([&] { farm.import_text("weather", text, options); });
    };
    const std::string cool = month_text(6.0, true, "17.4,47.4", 3);  // 36 to 50 degF
    CHECK_THAT(refused(cool), Contains("weather.csv, column temperature_degc: the mean of station S in 2026-03 is 42.8 "
                                       "degC, and no place at latitude 47.4 has more than 18.6 degC then") &&
                                  Contains("temperature_degc = { from = \"temperature_degc\", unit = \"degF\" }") &&
                                  Contains("--as-written"));
    CHECK(refused(cool, true).empty());
    CHECK_THAT(refused(month_text(-2.0, true, "17.4,47.4", 1)), Contains("no place at latitude 47.4"));
    CHECK_THAT(refused(month_text(6.0, true, "-60.5,-37.0", 8)), Contains("in 2026-08") && Contains("latitude -37.0"));
    // Where the latitude says nothing the air does: 43 degC and 76 % would be a dew point of 38 degC.
    CHECK_THAT(refused(month_text(6.0, true, "98.0,-10.0", 3)),
               Contains("half of the dew points of station S lie above"));
    CHECK_THAT(refused(month_text(6.0, true, "17.4,47.4", 6)), Contains("moister than any place on earth"));
    CHECK_THAT(
        refused(month_text(-2.0, true, "17.4,47.4", 6, true)),
        Contains("in 672 of 672 hours the dew point is that of the humidity only if the temperature is in degF") &&
            Contains("dew_point_degc = { from = \"dew_point_degc\", unit = \"degF\" }"));
    CHECK(refused(month_text(6.0, false, "17.4,47.4", 3)).empty());
    CHECK(refused(month_text(6.0, false, "17.4,47.4", 3, true)).empty());
}

TEST_CASE("months of the hottest places that grow wheat are weather") {
    const auto taken = [](double mean_degc, const char* place, int month) {
        Farm farm(false);
        return refusal_of([&] { farm.import_text("weather", month_text(mean_degc, false, place, month)); });
    };
    // About the hottest that such months have been there (climate tables as commonly printed).
    CHECK(taken(31.0, "68.4,26.2", 10).empty());  // Sindh
    CHECK(taken(26.5, "68.4,26.2", 3).empty());
    CHECK(taken(20.5, "67.0,25.0", 1).empty());     // Karachi
    CHECK(taken(30.0, "47.8,30.5", 10).empty());    // Basra
    CHECK(taken(24.0, "-116.9,36.5", 10).empty());  // Death Valley
    CHECK(taken(21.0, "89.2,42.9", 4).empty());     // Turpan
    CHECK(taken(18.0, "-87.6,41.9", 3).empty());    // Chicago in March 2012
    CHECK(taken(6.5, "-6.8,62.0", 1).empty());      // the Faroes
    CHECK(taken(29.0, "121.5,-27.0", 4).empty());   // Western Australia
    CHECK(taken(33.0, "46.0,31.0", 7).empty());     // a summer of Iraq, and one much moister than any
}

TEST_CASE("the winter and spring of real stations in North Carolina are taken for degC") {
    NEEDS_SHARED_DATA(shared);
    Farm farm(false);
    farm.import_text("stations", shared_stations(shared / "data/weather/snb_nc_2022_sites.csv"));
    geo::ImportOptions options;
    options.column_map =
        farm.folder
            .write("nc.toml",
                   "[columns]\nstation = \"site\"\ntime = \"time_utc\"\nutc_offset_h = \"utc_offset_h\"\n"
                   "temperature_degc = \"temp_c\"\nrelative_humidity_pct = \"rh_pct\"\n"
                   "dew_point_degc = \"dew_c\"\nrain_mm = \"rain_mm\"\n")
            .string();
    CHECK(geo::import_file(farm.store, "weather", shared / "data/weather/snb_nc_2022_hourly.csv", options).added >
          1000);
}

TEST_CASE("where all temperatures outside are one number that number is asked about first") {
    Farm farm(false);
    std::string text = hours_text(12.0);
    for (const char* hour : {"03:00", "07:00", "15:00"}) {
        const std::size_t at = text.find(std::string("2025-06-10T") + hour);
        const std::size_t cell = text.find(',', at) + 1;
        text.replace(cell, text.find(',', cell) - cell, "6999");
    }
    CHECK_THAT(
        refusal_of([&] { farm.import_text("weather", text); }),
        Contains("weather.csv, column temperature_degc: 3 of 48 temperatures are 6999, which lies outside -60 to 55 "
                 "degC, and no row went in. To mend it: if 6999 says \"not measured\", name it in a column map: "
                 "missing = [\"6999\"]"));
    geo::ImportOptions options;
    options.column_map = farm.folder.write("missing.toml", "missing = [\"6999\"]\n").string();
    CHECK(farm.import_text("weather", text, options).added == 48);
}

TEST_CASE("rows of a station that stands nowhere are counted as refused and not as there already") {
    Farm farm;
    std::string text = "station,time,temperature_degc,relative_humidity_pct\n";
    for (int hour = 10; hour < 23; ++hour) text += "H,2025-06-10T" + std::to_string(hour) + ":00+02:00,14,80\n";
    const auto report = farm.import_text("weather", text);
    CHECK(report.added == 0);
    CHECK(report.unchanged == 0);
    REQUIRE(report.refused.size() == 1);
    CHECK(geo::rows_refused(report.refused) == 13);
    CHECK_THAT(geo::to_text(report.refused[0]), Contains("nothing says where station H stands"));
}

TEST_CASE("a station with longitude and latitude swapped is refused") {
    Farm farm;
    CHECK_THAT(farm.refusal("stations", "station,longitude_deg,latitude_deg\nH,56.0,9.51\n"),
               Contains("station H at longitude 56, latitude 9.51 stands far from all fields, and among them when the "
                        "two are swapped"));
    CHECK_THAT(farm.refusal("weather", hours_text(12.0, "56.0,9.51")), Contains("swap longitude_deg and latitude_deg"));
    CHECK(farm.store.stations().empty());
    CHECK(farm.import_text("stations", "station,longitude_deg,latitude_deg\nH,9.51,56\n").added == 1);
}

TEST_CASE("flowering of another season is refused with the days between which it lies") {
    Farm farm(false);
    const auto crop = [](const std::string& season, const std::string& day) {
        return "field,season,crop,flowering_date\nFen," + season + ",wheat," + day + "\n";
    };
    CHECK_THAT(farm.refusal("crops", crop("2022", "2021-04-23")),
               Contains("flowering_date 2021-04-23 is of another season than 2022, whose wheat flowers between "
                        "2021-08-01 and 2022-12-31"));
    CHECK_THAT(farm.refusal("crops", crop("2022", "2023-06-10")),
               Contains("2023-06-10 is of another season than 2022"));
    // Wheat of the south flowers in spring there and is cut in January.
    CHECK(farm.import_text("crops", crop("2022", "2021-10-20")).added == 1);
}

TEST_CASE("one outline under two names is refused once with both names") {
    Farm farm(false);
    const auto file = [](const std::string& features) {
        return R"({"type":"FeatureCollection","features":[)" + features + "]}";
    };
    const auto import = [&](const std::string& features, const geo::ImportOptions& options = {}) {
        return geo::import_file(farm.store, "fields", farm.folder.write("more.geojson", file(features)), options);
    };
    const std::string twice =
        square(R"("field":"A1")", 9.50005, 56.0, 0.01) + "," + square(R"("field":"A2")", 9.54, 56.0, 0.008) + "," +
        square(R"("field":"A3")", 9.6, 56.0, 0.01) + "," + square(R"("field":"A4")", 9.6, 56.0, 0.01);
    const auto report = import(twice);
    CHECK(report.added == 1);
    REQUIRE(report.refused.size() == 1);
    CHECK(geo::rows_refused(report.refused) == 3);
    CHECK(report.refused[0].what ==
          "3 outlines lie on fields that are there under other names: A1 on Long Acre, A2 on Fen, A4 on A3");
    CHECK(geo::overlapping_fields(farm.store).empty());
    // A field beside it that overlaps by a strip is a field of its own; half a field is, too, and check names it.
    CHECK(import(square(R"("field":"B1")", 9.6095, 56.0, 0.01)).added == 1);
    CHECK(import(square(R"("field":"B2")", 9.605, 56.02, 0.01) + "," + square(R"("field":"B3")", 9.61, 56.02, 0.01))
              .added == 2);
    CHECK(import(twice,
                 [] {
                     geo::ImportOptions options = as_written();
                     return options;
                 }())
              .added == 3);
    const std::string words = geo::in_words(geo::overlapping_fields(farm.store));
    CHECK_THAT(words, Contains("4 pairs of fields overlap: A1 and Long Acre by 100 %, ") && Contains(" and 1 more"));
}

}  // namespace store_tests
