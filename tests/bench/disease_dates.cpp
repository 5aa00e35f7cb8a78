// How fast the disease risk of 10,000 fields comes from 500 stations whose hours lie in memory, by what is known of the
// flowering date: observed, heading alone, or sowing alone. Each station's windows are measured once a date.
#include <chrono>
#include <cmath>
#include <deque>
#include <random>

#include <fmt/format.h>

#include "models/disease/catalogue.h"
#include "models/disease/disease_risk.h"

namespace {

double seconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

/// From October to July, with a winter and some hours missing.
models::HourlySeries hours_from_sowing(std::size_t station) {
    models::HourlySeries series;
    series.first_utc = models::parse_stamp("2025-10-01T00:00:00+02:00")->utc;
    std::mt19937_64 random(station);
    for (int h = 0; h < 300 * 24; ++h) {
        const double swing = std::sin(0.2617993877991494 * (h - 9));
        const double season = 9.0 - 8.0 * std::cos(6.283185307179586 * (h / 24.0 - 105.0) / 365.0);
        const bool missing = random() % 50 == 0;
        const double noise = static_cast<double>(random() % 100) / 20.0;
        series.temperature_degc.push_back(missing ? models::HourlySeries::missing : season + 5 * swing + noise);
        series.relative_humidity_pct.push_back(missing ? models::HourlySeries::missing : 78 - 17 * swing + noise);
        series.dew_point_degc.push_back(models::HourlySeries::missing);
        series.rain_mm.push_back(random() % 30 == 0 ? 1.4 : 0.0);
        series.offset_min.push_back(120);
    }
    return series;
}

models::CropRecord record_of(std::size_t field, models::FloweringBasis basis) {
    models::CropRecord crop;
    crop.field = std::to_string(field);
    crop.season = 2026;
    crop.wheat_type = models::WheatType::winter;
    const auto days = std::chrono::days(field % 17);
    if (basis == models::FloweringBasis::observed) {
        crop.flowering_date = models::day_of(2026, 5, 20) + days;
        crop.flowering_source = models::FloweringSource::observed;
    }
    if (basis == models::FloweringBasis::heading) crop.heading_date = models::day_of(2026, 5, 15) + days;
    if (basis == models::FloweringBasis::sowing) crop.sowing_date = models::day_of(2025, 10, 8) + days;
    return crop;
}

}  // namespace

int main() {
    constexpr std::size_t stations = 500, fields = 10000;
    std::vector<models::StationDays> days;
    std::vector<models::TemperatureDays> temperatures;
    auto start = std::chrono::steady_clock::now();
    for (std::size_t s = 0; s < stations; ++s) days.emplace_back(hours_from_sowing(s));
    fmt::print("hours and days of 300 days of 500 stations {:8.3f} s\n", seconds_since(start));
    start = std::chrono::steady_clock::now();
    for (const models::StationDays& station : days) {
        temperatures.push_back(models::TemperatureDays::from_hours({&station, std::nullopt}));
    }
    fmt::print("their daily temperatures                   {:8.3f} s\n", seconds_since(start));
    const models::DiseaseModel& model = models::default_model();
    for (const auto& [basis, words] : {std::pair{models::FloweringBasis::observed, "flowering observed"},
                                       std::pair{models::FloweringBasis::heading, "from heading"},
                                       std::pair{models::FloweringBasis::sowing, "from sowing"}}) {
        std::deque<models::WeatherByDate> weather;
        for (const models::StationDays& station : days) {
            weather.emplace_back(model, models::KnownWeather{&station, std::nullopt});
        }
        double sum = 0.0, for_dates = 0.0;
        std::size_t with_value = 0;
        start = std::chrono::steady_clock::now();
        for (std::size_t f = 0; f < fields; ++f) {
            const models::CropRecord crop = record_of(f, basis);
            models::FloweringOptions options;
            options.latitude_deg = 40.0 + static_cast<double>(f % 997) / 500.0;
            options.longitude_deg = -84.0;
            const auto before = std::chrono::steady_clock::now();
            const models::FloweringEstimate estimate =
                models::estimate_flowering(crop, &temperatures[f % stations], options);
            for_dates += seconds_since(before);
            const models::DayZeroDate date = models::estimated_day_zero(model, crop, estimate, options);
            const models::DiseaseRisk risk = models::disease_risk(model, crop, date, &weather[f % stations]);
            with_value += risk.value ? 1 : 0;
            sum += risk.value.value_or(0.0);
        }
        fmt::print("{:42} {:8.3f} s ({:.3f} s of them for the dates), {} of {} fields with a value, mean {:.4f}\n",
                   words, seconds_since(start), for_dates, with_value, fields, sum / static_cast<double>(with_value));
    }
    return 0;
}
