// How fast the disease risk of 10,000 fields comes from 500 stations whose hours lie in memory.
#include "models/disease/disease_risk.h"

#include <chrono>
#include <cmath>
#include <random>

#include <fmt/format.h>

#include "models/disease/catalogue.h"
#include "models/weather/nearest_station.h"

namespace {

double seconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

models::HourlySeries hours_of_season(std::size_t station, int days) {
    models::HourlySeries series;
    series.first_utc = models::parse_stamp("2026-05-01T00:00:00+02:00")->utc;
    std::mt19937_64 random(station);
    for (int h = 0; h < days * 24; ++h) {
        const double swing = std::sin(0.2617993877991494 * (h - 9));
        const bool missing = random() % 50 == 0;
        const double noise = static_cast<double>(random() % 100) / 20.0;
        series.temperature_degc.push_back(missing ? models::HourlySeries::missing : 15 + 6 * swing + noise);
        series.relative_humidity_pct.push_back(missing ? models::HourlySeries::missing : 78 - 17 * swing + noise);
        series.dew_point_degc.push_back(models::HourlySeries::missing);
        series.rain_mm.push_back(random() % 30 == 0 ? 1.4 : 0.0);
        series.offset_min.push_back(120);
    }
    return series;
}

}  // namespace

int main() {
    constexpr std::size_t stations = 500, fields = 10000;
    std::mt19937_64 random(1);
    std::vector<models::HourlySeries> hours;
    std::vector<models::Station> places(stations);
    for (std::size_t s = 0; s < stations; ++s) {
        hours.push_back(hours_of_season(s, 61));
        places[s].place_m = {static_cast<double>(random() % 200000), static_cast<double>(random() % 200000)};
    }
    auto start = std::chrono::steady_clock::now();
    std::vector<models::StationDays> days;
    for (auto& series : hours) days.emplace_back(std::move(series));
    fmt::print("days of 500 stations       {:.3f} s\n", seconds_since(start));
    for (const models::DiseaseModel& model : models::disease_models()) {
        start = std::chrono::steady_clock::now();
        double sum = 0.0;
        std::size_t with_value = 0;
        for (std::size_t f = 0; f < fields; ++f) {
            models::CropRecord crop;
            crop.flowering_date = models::day_of(2026, 5, 20) + std::chrono::days(f % 17);
            crop.wheat_type = models::WheatType::winter;
            const models::PointM place{static_cast<double>(f * 7919 % 200000),
                                       static_cast<double>(f * 104729 % 200000)};
            const auto nearest = models::nearest_station(place, places);
            const auto risk = models::disease_risk(model, crop, &days[nearest->index]);
            with_value += risk.value ? 1 : 0;
            sum += risk.value.value_or(0.0);
        }
        fmt::print("{:26} {:.3f} s, {} of {} fields with a value, mean {:.4f}\n", model.name, seconds_since(start),
                   with_value, fields, sum / static_cast<double>(with_value));
    }
    return 0;
}
