// A season of the southern hemisphere from import to risk: wheat that flowers in October and November and is cut
// around the turn of the year. Invented fields and weather.
#include <algorithm>
#include <cmath>
#include <numbers>

#include <catch2/catch.hpp>
#include <fmt/format.h>

#include "app/stages/risk_stage.h"
#include "app/stages/season_data.h"
#include "app/stages/station_stage.h"
#include "app/workflow.h"
#include "geo/store/store.h"
#include "models/phenology/day_length.h"
#include "tests/geo/store_fixture.h"

using Catch::Matchers::Contains;
using models::day_of;

namespace {

/// Ombu and Ceibo are cut in December 2025, Tala only sown; Ibira is cut in January 2026: the season is its year.
struct SouthernFarm {
    store_tests::Folder folder;
    geo::Store store = geo::Store::create(folder / "south.lodicule");

    explicit SouthernFarm(bool with_rain = true) {
        std::string outlines = R"({"type":"FeatureCollection","features":[)";
        double west = -60.5;
        for (const char* field : {"Ombu", "Ceibo", "Tala", "Ibira"}) {
            outlines += (west > -60.5 ? "," : "") +
                        store_tests::square(fmt::format(R"("field":"{}")", field), west, -33.9, 0.01);
            west += 0.03;
        }
        take("fields", "outlines.geojson", outlines + "]}");
        take("crops", "crops.csv",
             "field,season,crop,wheat_type,sowing_date,heading_date,flowering_date,flowering_source,expected_cut_date\n"
             "Ombu,2025,wheat,winter,2025-06-05,2025-10-01,2025-10-08,observed,2025-12-02\n"
             "Ceibo,2025,wheat,winter,2025-06-20,2025-10-10,,,2025-12-08\n"
             "Tala,2025,wheat,winter,2025-06-12,,,,2025-12-05\n"
             "Ibira,2026,wheat,winter,2025-07-10,2025-11-08,2025-11-14,observed,2026-01-06\n");
        take("weather", "weather.csv", weather(with_rain));
    }
    geo::ImportReport take(const std::string& kind, const std::string& name, const std::string& text) {
        const geo::ImportReport report = geo::import_file(store, kind, folder.write(name, text));
        std::string refused;
        for (const geo::Refusal& refusal : report.refused) refused += geo::to_text(refusal) + "\n";
        CHECK(refused == "");
        return report;
    }
    /// May 2025 to January 2026 on the clock of UTC-3: warmest in January, showers before dawn every sixth day.
    static std::string weather(bool with_rain) {
        std::string text = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm\n";
        for (models::LocalDay day = day_of(2025, 5, 1); day < day_of(2026, 2, 1); day += std::chrono::days(1)) {
            const auto n = static_cast<int>((day - day_of(2025, 1, 1)).count());
            const double of_year = 16.5 + 7.0 * std::cos(2.0 * std::numbers::pi * (n - 15) / 365.0);
            for (int hour = 0; hour < 24; ++hour) {
                const double of_day = std::sin((hour - 9) * std::numbers::pi / 12.0);
                const double rain = n % 6 == 0 && hour > 2 && hour < 7 ? 0.6 + 0.2 * (hour % 5) : 0.0;
                text += fmt::format("Pergal,-60.45,-33.88,{}T{:02}:00-03:00,{:.1f},{:.0f},{}\n", models::to_text(day),
                                    hour, of_year + 5.0 * of_day + 0.3 * (n * 37 % 11 - 5),
                                    74.0 - 14.0 * of_day + n * 53 % 17 - 8.0,
                                    with_rain ? fmt::format("{:.1f}", rain) : std::string("NA"));
            }
        }
        return text;
    }
    app::SeasonData data() const { return app::read_season_data(store); }
    app::FieldRisk risk(const std::string& field, int season, const app::RiskSettings& settings = {}) const {
        const app::SeasonData read = data();
        for (app::FieldRisk& one : app::risks_of_season(store, read, season, settings)) {
            if (read.crops[one.crop].field == field) return one;
        }
        throw std::runtime_error("no risk of " + field);
    }
};

}  // namespace

TEST_CASE("wheat of the south that flowers in spring of its hemisphere has a risk from the weather then") {
    const SouthernFarm farm;
    const app::FieldRisk ombu = farm.risk("Ombu", 2025);
    REQUIRE(ombu.risk.value.has_value());
    CHECK(ombu.risk.coverage == 1.0);
    CHECK(ombu.flowering.day == day_of(2025, 10, 8));
    REQUIRE(!ombu.risk.terms.empty());
    CHECK(ombu.risk.extrapolated);  // nobody fitted the default model there
    REQUIRE(!ombu.risk.outside.empty());
    CHECK_THAT(ombu.risk.outside.front(), Contains("outside the region of the model's data"));
    const app::FieldRisk ibira = farm.risk("Ibira", 2026);
    CHECK(ibira.flowering.day == day_of(2025, 11, 14));
    CHECK(ibira.risk.value.has_value());
    CHECK(ibira.risk.coverage == 1.0);
    app::RiskSettings brazil;
    brazil.model = "night-warmth-and-rain";
    std::string outside;
    for (const std::string& words : farm.risk("Ombu", 2025, brazil).risk.outside) outside += words + "\n";
    CHECK_THAT(outside, Contains("outside the region of the model's data (southern Brazil"));
}

TEST_CASE("wheat of the south is followed from its sowing by the day lengths of its own latitude") {
    const SouthernFarm farm;
    CHECK(models::day_length_h(-33.9, day_of(2025, 12, 21)) > 14.0);
    CHECK(models::day_length_h(-33.9, day_of(2025, 6, 21)) < 10.2);
    const app::FieldRisk tala = farm.risk("Tala", 2025);
    REQUIRE(tala.flowering.day.has_value());
    CHECK(tala.flowering.basis == models::DateBasis::sowing);
    CHECK(*tala.flowering.day > day_of(2025, 9, 25));
    CHECK(*tala.flowering.day < day_of(2025, 11, 20));
    CHECK(tala.risk.value.has_value());
    CHECK(farm.risk("Ceibo", 2025).flowering.basis == models::DateBasis::heading);
}

TEST_CASE("as of a day before the turn of the year the south knows what was observed by then") {
    const SouthernFarm farm;
    app::RiskSettings early;
    early.as_of = day_of(2025, 11, 16);
    CHECK(farm.risk("Ombu", 2025, early).risk.value.has_value());
    const app::FieldRisk ibira = farm.risk("Ibira", 2026, early);
    CHECK_FALSE(ibira.risk.value.has_value());
    CHECK(ibira.risk.coverage > 0.5);
}

TEST_CASE("without any rain the models that ask for it say that they cannot be computed and the others go on") {
    const SouthernFarm farm(false);
    app::RiskSettings of_rain;
    of_rain.model = "night-warmth-and-rain";
    const app::FieldRisk ombu = farm.risk("Ombu", 2025, of_rain);
    CHECK_FALSE(ombu.risk.value.has_value());
    std::string missing;
    for (const std::string& sentence : ombu.risk.missing) missing += sentence + "\n";
    CHECK_THAT(missing, Contains("rain") && Contains("not an hour of it is known, so it cannot be computed"));
    CHECK(farm.risk("Ombu", 2025).risk.value.has_value());
}

TEST_CASE("the weeks that matter to a season cut in January are looked at in the year before") {
    const SouthernFarm farm;
    const app::StationsView view = app::stations_of_season(farm.store, farm.data(), 2026, {});
    REQUIRE(view.weeks);
    CHECK(view.weeks->first < day_of(2025, 11, 14));
    REQUIRE(view.reports.size() == 1);
    CHECK(view.reports[0].coverage == 1.0);
    CHECK(app::stations_of_season(farm.store, farm.data(), 2025, {}).reports[0].coverage == 1.0);
}

TEST_CASE("grain of the south that is tested after the turn of the year stays with its season") {
    SouthernFarm farm;
    farm.take("samples", "samples.csv",
              "sample,stage,kind,field,taken_time\n"
              "S1,standing,composite,Ombu,2025-11-28T10:00-03:00\n"
              "S2,standing,composite,Ceibo,2026-01-09T10:00-03:00\n"
              "S3,standing,composite,Tala,2026-01-10T10:00-03:00\n"
              "S4,standing,composite,Ibira,2025-12-29T10:00-03:00\n");
    farm.take("tests", "tests.csv",
              "test,time,sample,don,unit\n"
              "T1,2025-11-28T12:00-03:00,S1,0.6,mg/kg\n"
              "T2,2026-01-09T12:00-03:00,S2,1.4,mg/kg\n"
              "T3,2026-01-10T12:00-03:00,S3,0.9,mg/kg\n"
              "T4,2025-12-29T12:00-03:00,S4,0.5,mg/kg\n");
    const app::SeasonData data = farm.data();
    for (const models::Test& test : data.tests) {
        INFO(test.test);
        CHECK(app::season_of_test(data, test) == (test.test == "T4" ? 2026 : 2025));
    }
    app::Question question;
    question.season = 2025;
    question.limit = "1.0";
    question.upto = app::Upto::first;
    const app::SeasonView view = app::look_at_season(farm.store, question);
    CHECK(view.fields.size() == 3);
    for (const app::FieldView& field : view.fields) {
        CHECK(field.tests == 1);
        CHECK(field.exceedance.has_value());
    }
}

TEST_CASE("a season of the south without tests is judged by the limits in force when it is cut") {
    const SouthernFarm farm;
    const app::SeasonData data = farm.data();
    CHECK(app::harvest_day(data, 2025) == day_of(2025, 10, 8) + std::chrono::days(60));
    CHECK(app::harvest_day(data, 2026) == day_of(2025, 11, 14) + std::chrono::days(60));
}
