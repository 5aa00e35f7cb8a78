#include "app/commands/weather_command.h"

#include <filesystem>
#include <fstream>
#include <map>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <nlohmann/json.hpp>
#include <unistd.h>

#include "app/stages/station_stage.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "tests/app/captured_output.h"
#include "tests/support/app/window_driver.h"

namespace {

using Catch::Matchers::Contains;
using Json = nlohmann::json;

struct WeatherAnswer {
    int code = 0;
    std::string out, err;
};

WeatherAnswer weather_answer(std::vector<std::string> words) {
    words.insert(words.begin(), {"lodicule", "weather"});
    std::vector<const char*> bare;
    for (const std::string& word : words) bare.push_back(word.c_str());
    const tests::CapturedOutput out(stdout), err(stderr);
    WeatherAnswer answer;
    answer.code =
        app::run_command_line({app::commands::make_weather_command()}, static_cast<int>(bare.size()), bare.data());
    answer.out = out.text();
    answer.err = err.text();
    return answer;
}

/// A store of some stations in a row, 15 km apart, each a little warmer than the one before; 20 days of June.
class RowOfStations {
 public:
    explicit RowOfStations(int stations) {
        folder_ = std::filesystem::temp_directory_path() / fmt::format("weather_command_{}", ::getpid());
        std::filesystem::remove_all(folder_);
        std::filesystem::create_directories(folder_);
        std::string text =
            "station,longitude_deg,latitude_deg,elevation_m,time,temperature_degc,relative_humidity_pct,rain_mm\n";
        for (int s = 0; s < stations; ++s) {
            for (int hour = 0; hour < 480; ++hour) {
                const double course = 5.0 * (hour % 24 < 12 ? hour % 12 : 12 - hour % 12) / 12.0;
                const double front = (hour * hour) % 61 / 20.0;
                text += fmt::format("Mast {},{:.2f},56,{},2026-06-{:02}T{:02}:00:00+02:00,{:.2f},{},{}\n", s + 1,
                                    9.5 + 0.24 * s, 40 + s, 1 + hour / 24, hour % 24, 14.0 + course + front + 0.2 * s,
                                    78, hour % 50 == 0 ? 1.5 : 0.0);
            }
        }
        const std::filesystem::path table = folder_ / "weather.csv";
        std::ofstream(table, std::ios::binary) << text;
        geo::Store store = geo::Store::create(file());
        REQUIRE(geo::import_file(store, "weather", table).refused.empty());
    }
    ~RowOfStations() { std::filesystem::remove_all(folder_); }
    std::filesystem::path file() const { return folder_ / "row.lodicule"; }

 private:
    std::filesystem::path folder_;
};

}  // namespace

TEST_CASE("the stations of the demo season are listed with their flags and the ways are tried on them") {
    const std::string store = tests::demo_store().string();
    const WeatherAnswer told = weather_answer({store, "--season", "2026"});
    INFO(told.err);
    REQUIRE(told.code == 0);
    for (const char* station : {"Ambril", "Dorrim", "Hasveth", "Quelmeth", "Tesvorn", "Umbrath"}) {
        CHECK_THAT(told.out, Contains(station));
    }
    CHECK_THAT(told.out, Contains("the weeks that matter are") && Contains("mean temperature of a day, degC") &&
                             Contains("warm wet hours of 21 days, h") && Contains("kriging  RMSE"));
    const WeatherAnswer as_json = weather_answer({store, "--season", "2026", "--json"});
    REQUIRE(as_json.code == 0);
    const Json json = Json::parse(as_json.out);
    CHECK(json["season"] == 2026);
    REQUIRE(json["stations"].size() == 6);
    CHECK(json["window_days"] == 21);
    std::size_t flags = 0;
    for (const Json& station : json["stations"]) {
        CHECK(station["hours"] > 2000);
        CHECK(station["coverage"] > 0.8);
        CHECK(station["neighbours"] == 5);
        CHECK(station["not_judged"] == "");
        flags += station["flags"].size();
        for (const Json& flag : station["flags"]) CHECK(flag["kind"] != "clock");
    }
    REQUIRE(json["ways"].size() == 3);
    std::map<std::string, double> rmse;
    for (const Json& way : json["ways"]) {
        CHECK(way["stations"] == 6);
        REQUIRE(way["errors"].size() == 7);
        for (const Json& error : way["errors"]) CHECK(error["counted"] > 0);
        rmse[way["way"]] = way["errors"][0]["rmse"];
    }
    CHECK(rmse.at("distance") < rmse.at("nearest"));
    CHECK(rmse.at("kriging") < rmse.at("nearest"));
    // Every flag is listed when asked, ten at most when not.
    const WeatherAnswer all = weather_answer({store, "--season", "2026", "--all"});
    CHECK_THAT(all.out, !Contains("--all lists them"));
    CHECK((flags > 10) == (told.out.find("--all lists them") != std::string::npos));
    // Threads change nothing.
    CHECK(weather_answer({store, "--season", "2026", "--json", "--threads", "1"}).out == as_json.out);
}

TEST_CASE("with one station and with two it is said what cannot be judged") {
    {
        const RowOfStations one(1);
        const WeatherAnswer told = weather_answer({one.file().string(), "--season", "2026"});
        INFO(told.err);
        REQUIRE(told.code == 0);
        CHECK_THAT(told.out, Contains("Mast 1") && Contains("no flowering date is known"));
        CHECK_THAT(told.out, Contains("with one station nothing can be held against neighbours"));
        CHECK_THAT(told.out, Contains("no neighbour within 150 km") && !Contains("RMSE"));
        const Json json = Json::parse(weather_answer({one.file().string(), "--season", "2026", "--json"}).out);
        CHECK(json["ways"].empty());
        CHECK(json["weeks"].is_null());
        CHECK(json["stations"][0]["nearest_km"].is_null());
        CHECK(json["stations"][0]["elevation_m"] == 40.0);
    }
    const RowOfStations two(2);
    const WeatherAnswer told = weather_answer({two.file().string(), "--season", "2026"});
    REQUIRE(told.code == 0);
    CHECK_THAT(told.out, Contains("with two stations each is told from the other one alone") &&
                             Contains("only one neighbour within 150 km"));
    const Json json = Json::parse(weather_answer({two.file().string(), "--season", "2026", "--json"}).out);
    REQUIRE(json["ways"].size() == 3);
    CHECK(json["ways"][0]["errors"][0]["rmse"] == Approx(0.2).margin(0.01).epsilon(0.0));
    CHECK(json["ways"][2]["errors"][0]["rmse"] == Approx(0.2).margin(0.01).epsilon(0.0));
    CHECK(json["stations"][1]["nearest_km"] == Approx(14.96).margin(0.05).epsilon(0.0));
}

TEST_CASE("between stations in a row whose temperature rises evenly the mean of stations is nearer than the nearest") {
    const RowOfStations five(5);
    const Json json =
        Json::parse(weather_answer({five.file().string(), "--season", "2026", "--json", "--stations", "2"}).out);
    CHECK(json["ways"][1]["errors"][0]["rmse"] < json["ways"][0]["errors"][0]["rmse"]);
    CHECK(json["elevation_used"] == false);
    bool told = false;
    for (const std::string note : json["notes"]) told |= note.find("within 4 m of height") != std::string::npos;
    CHECK(told);
    const WeatherAnswer apart = weather_answer({five.file().string(), "--season", "2026", "--within", "2"});
    CHECK_THAT(apart.out, Contains("no two stations stand within 2 km of one another") && !Contains("RMSE"));
}

TEST_CASE("what the weather command cannot do is refused in words") {
    const std::string store = tests::demo_store().string();
    CHECK_THAT(weather_answer({store, "--power", "0"}).err, Contains("a power of 0 makes no weights"));
    CHECK_THAT(weather_answer({store, "--stations", "40"}).err, Contains("40 stations for a place cannot be"));
    CHECK_THAT(weather_answer({store, "--within", "-3"}).err, Contains("no station stands within -3 km"));
    CHECK_THAT(weather_answer({store, "--model", "dew"}).err, Contains("\"dew\""));
    const WeatherAnswer other = weather_answer({store, "--season", "1999"});
    CHECK(other.code == 0);
    CHECK_THAT(other.out, Contains("no station has an hour of 1999"));
}
