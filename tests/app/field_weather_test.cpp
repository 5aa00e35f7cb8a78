// Whose hours a field takes: what was known on a day, and weather from several stations.
#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <functional>

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
    /// @param write  the rows of a table of weather, with its header; all of them go in
    void import_weather(const std::function<void(std::ofstream&)>& write) {
        const fs::path file = folder_ / "more.csv";
        {
            std::ofstream table(file);
            write(table);
        }
        geo::Store store = open();
        const geo::ImportReport report = geo::import_file(store, "weather", file, {});
        REQUIRE(report.refused.empty());
    }
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
app::FieldRisk well_seen(const app::SeasonData& data, const std::vector<app::FieldRisk>& risks) {
    const auto found = std::find_if(risks.begin(), risks.end(), [&](const app::FieldRisk& risk) {
        return risk.risk.value && risk.risk.coverage == 1.0 && risk.passed_over.empty() && !risk.risk.date.averaged() &&
               data.crops[risk.crop].flowering_date;
    });
    REQUIRE(found != risks.end());
    return *found;
}

app::FieldRisk same_field(const app::FieldRisk& of, const std::vector<app::FieldRisk>& risks) {
    return *std::find_if(risks.begin(), risks.end(), [&](const app::FieldRisk& risk) { return risk.crop == of.crop; });
}

/// A field whose own station saw all of its weather, asked about two days after it flowered, and what was foretold
/// then.
class TwoDaysAfterFlowering {
 public:
    TwoDaysAfterFlowering() {
        const app::SeasonData data = read();
        known_later = well_seen(data, app::risks_of_season(demo.open(), data, 2026, {}));
        flowering = *data.crops[known_later.crop].flowering_date;
        settings.as_of = flowering + std::chrono::days(2);
    }
    app::SeasonData read() const { return app::read_season_data(demo.open()); }
    app::FieldRisk asked(const app::SeasonData& data) const {
        return same_field(known_later, app::risks_of_season(demo.open(), data, 2026, settings));
    }
    app::FieldRisk asked() const { return asked(read()); }
    /// The rest of the weather around flowering, so many hours after that midnight.
    void foretell(const std::string& station, int hour) {
        CHECK(demo.forecast_what_came(station, flowering + std::chrono::days(3), flowering + std::chrono::days(20),
                                      midnight() + std::chrono::hours(hour))
                  .empty());
    }
    std::chrono::sys_seconds midnight() const { return std::chrono::sys_seconds(settings.as_of->time_since_epoch()); }

    DemoCopy demo;
    app::FieldRisk known_later;
    models::LocalDay flowering{};
    app::RiskSettings settings;
};

}  // namespace

TEST_CASE("a forecast that came true gives on the day it was made the risk that is known afterwards") {
    TwoDaysAfterFlowering then;
    CHECK_FALSE(then.asked().risk.value);  // too few of the days around flowering are over
    then.foretell(then.known_later.station, 30);
    CHECK_FALSE(then.asked().risk.value);  // made the day after: unknown on the day that is asked about
    then.foretell(then.known_later.station, 6);
    const app::FieldRisk foreseen = then.asked();
    REQUIRE(foreseen.risk.value);
    CHECK(*foreseen.risk.value == Approx(*then.known_later.risk.value).epsilon(1e-9));
    REQUIRE(foreseen.weather_notes.size() == 1);
    CHECK_THAT(foreseen.weather_notes.front(), Contains(" hours are forecast, made ") && Contains(" of "));
    CHECK(foreseen.forecast);
    // The chart shows the hours that the risk rests on.
    const app::SeasonData data = then.read();
    const auto days = app::days_around_flowering(then.demo.open(), data, foreseen, then.settings, -10, 10);
    REQUIRE(days);
    CHECK(days->day(then.flowering + std::chrono::days(9)) != nullptr);
    // What was observed speaks where nobody asks what was known earlier.
    then.settings.as_of.reset();
    const app::FieldRisk all = then.asked();
    CHECK(*all.risk.value == *then.known_later.risk.value);
    CHECK(all.weather_notes.empty());
}

TEST_CASE("a station that is silent in the weeks that count takes no number away") {
    DemoCopy demo;
    const app::SeasonData before = app::read_season_data(demo.open());
    const app::FieldRisk known = well_seen(before, app::risks_of_season(demo.open(), before, 2026, {}));
    const models::CropRecord& crop = before.crops[known.crop];
    const models::Field* outline = app::outline_of(before, crop.field, crop.part);
    demo.import_weather([&](std::ofstream& table) {
        table << "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct\n";
        for (int hour = 0; hour < 24; ++hour) {
            table << fmt::format("Mute,{:.6f},{:.6f},2025-10-03T{:02d}:00:00+02:00,{:.1f},{}\n", outline->longitude_deg,
                                 outline->latitude_deg, hour, 8.0 + 0.3 * hour, 95 - hour);
        }
    });
    const app::SeasonData data = app::read_season_data(demo.open());
    app::RiskSettings settings;
    for (const double within_m : {15000.0, 1.0}) {  // another station near by, or none nearer than the others
        settings.stations.other_within_m = within_m;
        const app::FieldRisk now = same_field(known, app::risks_of_season(demo.open(), data, 2026, settings));
        REQUIRE(now.risk.value);
        CHECK(*now.risk.value == *known.risk.value);
        CHECK(now.station == known.station);
        CHECK_THAT(now.passed_over, Contains("Mute, 0.0 km, passed over: "));
    }
}

TEST_CASE("where no station has a value the one that covers clearly more of the hours answers") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    const app::SeasonData data = app::read_season_data(store);
    app::RiskSettings settings;
    settings.as_of = models::day_of(2026, 6, 5);
    int moved = 0;
    for (const app::FieldRisk& risk : app::risks_of_season(store, data, 2026, settings)) {
        if (risk.risk.value || risk.passed_over.empty()) continue;
        ++moved;
        CHECK(risk.risk.coverage > 0.3);
        CHECK_THAT(risk.passed_over, !Catch::Matchers::StartsWith(risk.station + ","));
    }
    CHECK(moved > 5);
}

TEST_CASE("an old forecast of a station does not hide the one that is made beside it now") {
    TwoDaysAfterFlowering then;
    const models::LocalDay june_2024 = models::day_of(2024, 6, 1);
    const std::string& own = then.known_later.station;
    CHECK(then.demo
              .forecast_what_came(own, june_2024, june_2024 + std::chrono::days(20),
                                  std::chrono::sys_seconds(june_2024.time_since_epoch()) - std::chrono::hours(6))
              .empty());
    // Made when it was over already: that is none.
    CHECK_THAT(then.demo.forecast_what_came(own, june_2024, june_2024 + std::chrono::days(20), then.midnight()),
               Contains("begins before the forecast was made") && Contains("--forecast-made"));
    for (const models::Station& station : then.read().stations) {
        if (station.station != own) then.foretell(station.station, 6);
    }
    const app::FieldRisk foreseen = then.asked();
    REQUIRE(foreseen.risk.value);
    REQUIRE_FALSE(foreseen.weather_notes.empty());
    CHECK_THAT(foreseen.weather_notes.back(), Contains(" km away"));  // whose forecast it is
}

TEST_CASE("a mean of stations counts those hours as forecast that are so at a station behind it") {
    TwoDaysAfterFlowering then;
    for (const models::Station& station : then.read().stations) then.foretell(station.station, 6);
    then.settings.weather.way = models::WeatherWay::distance;
    const app::FieldRisk foreseen = then.asked();
    REQUIRE(foreseen.risk.value);
    CHECK(foreseen.forecast);
    REQUIRE(foreseen.weather_notes.size() >= 2);
    CHECK_THAT(foreseen.weather_notes.front(), Contains("stations around it, by distance"));
    CHECK_THAT(foreseen.weather_notes.back(), Contains(" hours are forecast, made "));
    // The same forecasts are no part of an answer that knows what came.
    then.settings.as_of.reset();
    CHECK_FALSE(then.asked().forecast);
}

TEST_CASE("a place of which there are forecasts alone is a source like any other") {
    TwoDaysAfterFlowering then;
    then.demo.forecast_what_came(then.known_later.station, then.flowering - std::chrono::days(15),
                                 then.flowering + std::chrono::days(20),
                                 std::chrono::sys_seconds(then.flowering.time_since_epoch()) - std::chrono::hours(400));
    app::SeasonData data = then.read();
    data.stations.clear();
    const app::FieldRisk foreseen = then.asked(data);
    REQUIRE(foreseen.risk.value);
    CHECK(*foreseen.risk.value == Approx(*then.known_later.risk.value).epsilon(0.05));
    CHECK(foreseen.forecast);
    CHECK(foreseen.station == then.known_later.station);
}

TEST_CASE("a station that has no hours in the season and a cell beside a station are not the nearest") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    app::SeasonData data = app::read_season_data(store);
    const app::FieldRisk before = well_seen(data, app::risks_of_season(store, data, 2026, {}));
    const models::CropRecord& crop = data.crops[before.crop];
    models::Station closed;
    closed.station = "Closed in 1990";
    closed.place_m = app::outline_of(data, crop.field, crop.part)->centroid_m;
    data.stations.insert(data.stations.begin(), closed);
    const app::FieldRisk without = same_field(before, app::risks_of_season(store, data, 2026, {}));
    CHECK(without.station == before.station);
    CHECK(*without.risk.value == *before.risk.value);
    app::RiskSettings by_distance;
    by_distance.weather.way = models::WeatherWay::distance;
    CHECK_THAT(same_field(before, app::risks_of_season(store, data, 2026, by_distance)).station,
               Contains("6 stations"));

    for (models::Station& station : data.stations) {
        if (station.station == before.station) station.source = models::WeatherSource::grid;
    }
    const app::FieldRisk other = same_field(before, app::risks_of_season(store, data, 2026, {}));
    CHECK(other.station != before.station);
    CHECK(other.source == models::WeatherSource::on_site);
    for (models::Station& station : data.stations) station.source = models::WeatherSource::grid;
    const app::FieldRisk cell = same_field(before, app::risks_of_season(store, data, 2026, {}));
    CHECK(cell.station == before.station);
    CHECK_THAT(cell.weather_notes.front(), Contains("from a grid cell, not from a station"));
}

TEST_CASE("weather by distance from one station alone is that station's and from several it is said so") {
    const geo::Store store = geo::Store::open(tests::demo_store(), geo::Store::Access::read_only);
    const app::SeasonData data = app::read_season_data(store);
    const auto nearest = app::risks_of_season(store, data, 2026, {});
    const app::FieldRisk field = well_seen(data, nearest);
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
        CHECK(*same_field(field, several).risk.value == Approx(*field.risk.value).margin(0.25).epsilon(0.0));
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
