#include <cmath>

#include <catch2/catch.hpp>

#include "models/weather/known_weather.h"
#include "models/weather/weather_source.h"
#include "tests/support/made_weather.h"

using namespace models;
using tests::forget_hour;
using tests::made_hours;

namespace {

const LocalDay first_known_day = day_of(2026, 5, 28);

/// Whole days whose every hour has the same temperature: it tells which series an hour came from.
HourlySeries days_at(double temperature_degc, LocalDay first, int days,
                     std::chrono::minutes clock = std::chrono::hours(2)) {
    return made_hours(
        first, days,
        [=](int, int) {
            return HourlyWeather{temperature_degc, 80, 12, 0};
        },
        clock);
}

ForecastHours forecast_at(double temperature_degc, const char* made, LocalDay first, int days) {
    return {parse_stamp(made)->utc, days_at(temperature_degc, first, days), ""};
}

double at_noon(const KnownHours& known, LocalDay day) {
    for (std::size_t i = 0; i < known.hours.size(); ++i) {
        if (known.hours.stamp(i).local_day() == day &&
            known.hours.stamp(i).local_time_of_day() == std::chrono::hours(12))
            return known.hours.temperature_degc[i];
    }
    return HourlySeries::missing;
}

}  // namespace

TEST_CASE("what was known on a day is what was observed up to then and forecast by then") {
    const HourlySeries observed = days_at(10, first_known_day, 14);  // to 10 June, as it is in the store today
    const std::vector<ForecastHours> forecasts = {forecast_at(30, "2026-06-05T00:00Z", day_of(2026, 6, 5), 7),
                                                  forecast_at(20, "2026-06-01T00:00Z", day_of(2026, 6, 1), 7)};
    const KnownHours known = known_at(observed, forecasts, day_of(2026, 6, 2));
    CHECK(at_noon(known, day_of(2026, 6, 2)) == 10);  // observed, though the forecast spoke of it
    CHECK(at_noon(known, day_of(2026, 6, 3)) == 20);  // observed later, and not known then
    CHECK(at_noon(known, day_of(2026, 6, 7)) == 20);
    CHECK(std::isnan(at_noon(known, day_of(2026, 6, 8))));  // nobody spoke of it by then
    CHECK(known.hours.size() == 11 * 24);
    CHECK(known.origin.front() == KnownHours::observed);
    CHECK(known.origin.back() == 0);
    REQUIRE(known.forecasts.size() == 1);
    CHECK(note_of_forecast_hours(known, {first_known_day, day_of(2026, 6, 7)}) ==
          "120 of 264 hours are forecast, made 2026-06-01 00:00 UTC");
    CHECK(note_of_forecast_hours(known, {first_known_day, day_of(2026, 6, 2)}).empty());
    CHECK(at_noon(known_at(observed, forecasts, {}), day_of(2026, 6, 11)) ==
          30);  // today: all observed, then the newest
}

TEST_CASE("a forecast made in the evening of the day is known at its end and one made after midnight is not") {
    const HourlySeries observed = days_at(10, first_known_day, 6);
    const auto known_with = [&](const char* made) {
        return known_at(observed, {forecast_at(20, made, day_of(2026, 6, 3), 2)}, day_of(2026, 6, 2));
    };
    CHECK(at_noon(known_with("2026-06-02T21:59Z"), day_of(2026, 6, 3)) == 20);  // 23:59 on the farm's clock
    CHECK(std::isnan(at_noon(known_with("2026-06-02T22:00Z"), day_of(2026, 6, 3))));
}

TEST_CASE("a gap between observed hours stays a gap and the hours after the last one are forecast") {
    HourlySeries observed = days_at(10, first_known_day, 6);
    forget_hour(observed, 30);
    for (std::size_t i = 5 * 24 + 8; i < observed.size(); ++i) forget_hour(observed, i);  // 2 June, from 8 o'clock
    const KnownHours known =
        known_at(observed, {forecast_at(20, "2026-06-01T00:00Z", day_of(2026, 5, 28), 7)}, day_of(2026, 6, 2));
    CHECK(std::isnan(known.hours.temperature_degc[30]));
    CHECK(known.hours.temperature_degc[5 * 24 + 7] == 10);
    CHECK(known.hours.temperature_degc[5 * 24 + 8] == 20);
    CHECK(note_of_forecast_hours(known, {day_of(2026, 6, 2), day_of(2026, 6, 2)}) ==
          "16 of 24 hours are forecast, made 2026-06-01 00:00 UTC");
}

TEST_CASE("where the newest forecast ends the one before it goes on and both are named") {
    const HourlySeries observed = days_at(10, day_of(2026, 6, 1), 1);
    std::vector<ForecastHours> forecasts = {forecast_at(20, "2026-06-01T00:00Z", day_of(2026, 6, 1), 10),
                                            forecast_at(30, "2026-06-01T12:00Z", day_of(2026, 6, 1), 2)};
    forecasts[0].place = "grid 9.50 E 56.00 N, 3.1 km away";
    const KnownHours known = known_at(observed, forecasts, day_of(2026, 6, 1));
    CHECK(at_noon(known, day_of(2026, 6, 2)) == 30);
    CHECK(at_noon(known, day_of(2026, 6, 3)) == 20);
    CHECK(note_of_forecast_hours(known, {day_of(2026, 6, 1), day_of(2026, 6, 3)}) ==
          "48 of 72 hours are forecast: 24 made 2026-06-01 12:00 UTC, 24 for grid 9.50 E 56.00 N, 3.1 km away, made "
          "2026-06-01 00:00 UTC");
}

TEST_CASE("forecast hours keep to the clock and the minute of the observed ones") {
    const HourlySeries observed = days_at(10, first_known_day, 5);
    ForecastHours forecast{parse_stamp("2026-06-01T00:00Z")->utc,
                           days_at(20, day_of(2026, 6, 2), 3, std::chrono::minutes(0)), ""};
    forecast.hours.first_utc += std::chrono::minutes(20);
    const KnownHours known = known_at(observed, {forecast}, day_of(2026, 6, 1));
    CHECK(known.hours.first_utc == observed.first_utc);
    CHECK(known.hours.stamp(known.hours.size() - 1).offset == std::chrono::hours(2));
    CHECK(to_text(known.hours.utc(known.hours.size())) == "2026-06-05T00:00:00Z");
    CHECK(known.origin[5 * 24 + 1] == KnownHours::observed);  // the two hours between have no source
    CHECK(std::isnan(known.hours.temperature_degc[5 * 24 + 1]));
    CHECK(known.hours.temperature_degc[5 * 24 + 2] == 20);
}

TEST_CASE("without any hours nothing is known and a forecast alone is known as such") {
    CHECK(known_at({}, {}, {}).hours.empty());
    CHECK(
        known_at({}, {forecast_at(20, "2026-06-05T00:00Z", day_of(2026, 6, 5), 2)}, day_of(2026, 6, 1)).hours.empty());
    const KnownHours alone = known_at({}, {forecast_at(20, "2026-06-05T00:00Z", day_of(2026, 6, 5), 2)}, {});
    CHECK(alone.hours.size() == 48);
    CHECK(note_of_forecast_hours(alone, {day_of(2026, 6, 5), day_of(2026, 6, 6)}) ==
          "48 of 48 hours are forecast, made 2026-06-05 00:00 UTC");
}

TEST_CASE("seasons from one source say nothing and seasons from two are told apart") {
    CHECK(note_of_changed_source({{2024, WeatherSource::grid}, {2025, WeatherSource::grid}}).empty());
    CHECK(note_of_changed_source({}).empty());
    CHECK(note_of_changed_source({{2026, WeatherSource::grid},
                                  {2024, WeatherSource::on_site},
                                  {2025, WeatherSource::on_site},
                                  {2025, WeatherSource::on_site}}) ==
          "the weather of 2024 and 2025 is from a weather station, that of 2026 is from a grid cell: counts of wet "
          "hours from different sources can lie far apart, so these seasons are not compared like with "
          "like");
    CHECK(note_of_changed_source(
              {{2025, WeatherSource::on_site}, {2026, WeatherSource::on_site}, {2026, WeatherSource::grid}}) ==
          "the weather of 2025 is from a weather station, that of 2026 is of some fields from a weather station, of "
          "others from a grid cell: counts of wet hours from different sources can lie far apart, so these seasons are "
          "not compared like with like");
    Station forecast;
    forecast.station = "Hill, forecast";
    forecast.source = WeatherSource::forecast;
    forecast.made_utc = parse_stamp("2026-06-01T00:00Z")->utc;
    CHECK(in_words(forecast) == "a forecast made 2026-06-01 00:00 UTC");
    CHECK(in_words(Station{}) == "a weather station");
}
