// Whose hours a field takes: what was known on a day, and weather from several stations.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>

#include <catch2/catch.hpp>
#include <fmt/format.h>
#include <unistd.h>

#include "app/stages/risk_stage.h"
#include "app/stages/season_data.h"
#include "geo/import.h"
#include "geo/store/store.h"
#include "tests/support/app/window_driver.h"

using Catch::Matchers::Contains;

namespace {

namespace fs = std::filesystem;

/// A copy of the demo store that may be written to; gone at the end.
class DemoCopy {
 public:
    DemoCopy() : folder_(fs::temp_directory_path() / ("lodicule-field-weather-" + std::to_string(::getpid()))) {
        fs::create_directories(folder_);
        fs::copy_file(tests::demo_store(), folder_ / "demo.lodicule", fs::copy_options::overwrite_existing);
    }
    ~DemoCopy() { fs::remove_all(folder_); }
    DemoCopy(const DemoCopy&) = delete;
    DemoCopy& operator=(const DemoCopy&) = delete;

    geo::Store open() const { return geo::Store::open(folder_ / "demo.lodicule"); }
    /// The hours that a station did observe from a day on, as a forecast that says them beforehand.
    /// @returns  why nothing went in; empty where it did
    std::string forecast_what_came(const std::string& station, models::LocalDay from, models::LocalDay to,
                                   std::chrono::sys_seconds made_utc) {
        geo::Store store = open();
        const models::HourlySeries hours = store.weather(station, from, to);
        const fs::path file = folder_ / "forecast.csv";
        {
            std::ofstream table(file);
            table << "station,time,temperature_degc,relative_humidity_pct,dew_point_degc,rain_mm\n";
            const auto cell = [](double value) { return std::isnan(value) ? std::string() : fmt::format("{}", value); };
            for (std::size_t h = 0; h < hours.size(); ++h) {
                if (std::isnan(hours.temperature_degc[h])) continue;
                table << fmt::format("{},{},{},{},{},{}\n", station, models::to_text(hours.stamp(h)),
                                     cell(hours.temperature_degc[h]), cell(hours.relative_humidity_pct[h]),
                                     cell(hours.dew_point_degc[h]), cell(hours.rain_mm[h]));
            }
        }
        geo::ImportOptions options;
        options.forecast_made_utc = made_utc;
        const geo::ImportReport report = geo::import_file(store, "weather", file, options);
        return report.refused.empty() ? "" : geo::to_text(report.refused.front());
    }

 private:
    fs::path folder_;
};

/// The first field of 2026 whose own station saw every hour around an observed flowering date.
const app::FieldRisk& well_seen(const app::SeasonData& data, const std::vector<app::FieldRisk>& risks) {
    const auto found = std::find_if(risks.begin(), risks.end(), [&](const app::FieldRisk& risk) {
        return risk.risk.value && risk.risk.coverage == 1.0 && risk.passed_over.empty() && !risk.risk.date.averaged() &&
               data.crops[risk.crop].flowering_date;
    });
    REQUIRE(found != risks.end());
    return *found;
}

const app::FieldRisk& same_field(const app::FieldRisk& of, const std::vector<app::FieldRisk>& risks) {
    return *std::find_if(risks.begin(), risks.end(), [&](const app::FieldRisk& risk) { return risk.crop == of.crop; });
}

}  // namespace

TEST_CASE("a forecast that came true gives on the day it was made the risk that is known afterwards") {
    DemoCopy demo;
    app::SeasonData data = app::read_season_data(demo.open());
    const std::vector<app::FieldRisk> afterwards = app::risks_of_season(demo.open(), data, 2026, {});
    const app::FieldRisk& known_later = well_seen(data, afterwards);
    const models::LocalDay flowering = *data.crops[known_later.crop].flowering_date;
    app::RiskSettings on_the_day;
    on_the_day.as_of = flowering + std::chrono::days(2);

    const auto without = app::risks_of_season(demo.open(), data, 2026, on_the_day);
    CHECK_FALSE(same_field(known_later, without).risk.value);  // too few of the days around flowering are over

    // Made the day after: unknown on the day that is asked about.
    const auto midnight = std::chrono::sys_seconds(on_the_day.as_of->time_since_epoch());
    CHECK(demo.forecast_what_came(known_later.station, flowering + std::chrono::days(3),
                                  flowering + std::chrono::days(20), midnight + std::chrono::hours(30))
              .empty());
    data = app::read_season_data(demo.open());
    CHECK_FALSE(same_field(known_later, app::risks_of_season(demo.open(), data, 2026, on_the_day)).risk.value);

    CHECK(demo.forecast_what_came(known_later.station, flowering + std::chrono::days(3),
                                  flowering + std::chrono::days(20), midnight + std::chrono::hours(6))
              .empty());
    data = app::read_season_data(demo.open());
    const auto with = app::risks_of_season(demo.open(), data, 2026, on_the_day);
    const app::FieldRisk& foreseen = same_field(known_later, with);
    REQUIRE(foreseen.risk.value);
    CHECK(*foreseen.risk.value == Approx(*known_later.risk.value).epsilon(1e-9));
    REQUIRE(foreseen.weather_notes.size() == 1);
    CHECK_THAT(foreseen.weather_notes.front(), Contains(" hours are forecast, made ") && Contains(" of "));
    // What was observed speaks where nobody asks what was known earlier.
    const auto all = app::risks_of_season(demo.open(), data, 2026, {});
    CHECK(*same_field(known_later, all).risk.value == *known_later.risk.value);
    CHECK(same_field(known_later, all).weather_notes.empty());
}

TEST_CASE("an old forecast of a station does not hide the one that is made beside it now") {
    DemoCopy demo;
    app::SeasonData data = app::read_season_data(demo.open());
    const app::FieldRisk known_later = well_seen(data, app::risks_of_season(demo.open(), data, 2026, {}));
    const models::LocalDay flowering = *data.crops[known_later.crop].flowering_date;
    app::RiskSettings on_the_day;
    on_the_day.as_of = flowering + std::chrono::days(2);
    const auto midnight = std::chrono::sys_seconds(on_the_day.as_of->time_since_epoch());
    const models::LocalDay june_2024 = models::day_of(2024, 6, 1);
    CHECK(demo.forecast_what_came(known_later.station, june_2024, june_2024 + std::chrono::days(20),
                                  std::chrono::sys_seconds(june_2024.time_since_epoch()) - std::chrono::hours(6))
              .empty());
    // Made when it was over already: that is none.
    CHECK_THAT(demo.forecast_what_came(known_later.station, june_2024, june_2024 + std::chrono::days(20), midnight),
               Contains("begins before the forecast was made") && Contains("--forecast-made"));
    for (const models::Station& station : data.stations) {
        if (station.station == known_later.station) continue;
        CHECK(demo.forecast_what_came(station.station, flowering + std::chrono::days(3),
                                      flowering + std::chrono::days(20), midnight + std::chrono::hours(6))
                  .empty());
    }
    data = app::read_season_data(demo.open());
    const auto with = app::risks_of_season(demo.open(), data, 2026, on_the_day);
    const app::FieldRisk& foreseen = same_field(known_later, with);
    REQUIRE(foreseen.risk.value);
    CHECK(foreseen.forecast);
    REQUIRE_FALSE(foreseen.weather_notes.empty());
    CHECK_THAT(foreseen.weather_notes.back(), Contains(" km away"));  // whose forecast it is
    on_the_day.weather.way = models::WeatherWay::distance;
    const auto by_distance = app::risks_of_season(demo.open(), data, 2026, on_the_day);
    CHECK_THAT(same_field(known_later, by_distance).weather_notes.front(), Contains("with hours that are forecast"));
}

TEST_CASE("weather by distance from one station alone is that station's and from several it is said so") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    const app::SeasonData data = app::read_season_data(store);
    const auto nearest = app::risks_of_season(store, data, 2026, {});
    const app::FieldRisk& field = well_seen(data, nearest);
    app::RiskSettings settings;
    settings.weather.way = models::WeatherWay::distance;
    settings.weather.most_stations = 1;
    const auto one = app::risks_of_season(store, data, 2026, settings);
    CHECK(*same_field(field, one).risk.value == Approx(*field.risk.value).epsilon(1e-6));

    settings.weather.most_stations = 8;
    for (const models::WeatherWay way : {models::WeatherWay::distance, models::WeatherWay::kriging}) {
        settings.weather.way = way;
        const auto several = app::risks_of_season(store, data, 2026, settings);
        REQUIRE(several.size() == nearest.size());
        int valued = 0;
        for (const app::FieldRisk& risk : several) {
            if (!risk.risk.value) continue;
            ++valued;
            CHECK_THAT(risk.weather_notes.front(),
                       Contains("weather from 6 stations around it, by " + std::string(models::name_of(way))));
        }
        CHECK(valued > 20);
        CHECK(*same_field(field, several).risk.value != *field.risk.value);
        CHECK(*same_field(field, several).risk.value == Approx(*field.risk.value).margin(0.25));
    }
}

TEST_CASE("where all stations stand too far away no way gives a field their weather") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    const app::SeasonData data = app::read_season_data(store);
    app::RiskSettings settings;
    settings.weather.way = models::WeatherWay::kriging;
    settings.weather.within_m = 1.0;
    for (const app::FieldRisk& risk : app::risks_of_season(store, data, 2026, settings)) CHECK_FALSE(risk.risk.value);
}
