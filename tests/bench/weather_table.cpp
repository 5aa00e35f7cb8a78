// How fast a million rows of weather are read and packed: 500 stations, 2,000 hours each, as the table "weather" has
// it.
#include "geo/weather_table.h"

#include <chrono>
#include <cmath>

#include <fmt/format.h>

namespace {

double seconds_since(std::chrono::steady_clock::time_point start) {
    return std::chrono::duration<double>(std::chrono::steady_clock::now() - start).count();
}

std::string million_rows(int stations, int hours) {
    std::string text = "station,longitude_deg,latitude_deg,time,temperature_degc,relative_humidity_pct,rain_mm\n";
    const auto first = *models::parse_stamp("2026-04-01T00:00:00+02:00");
    for (int s = 0; s < stations; ++s) {
        for (int h = 0; h < hours; ++h) {
            const models::Stamp stamp{first.utc + std::chrono::hours(h), first.offset};
            const double day = std::sin(0.2617993877991494 * (h - 9));
            fmt::format_to(std::back_inserter(text), "S{:03},{:.4f},{:.4f},{},{:.1f},{:.0f},{:.1f}\n", s, 9 + 0.004 * s,
                           55 + 0.003 * s, models::to_text(stamp), 14 + 6 * day + 0.01 * s, 78 - 18 * day,
                           h % 37 == 0 ? 1.2 : 0.0);
        }
    }
    return text;
}

}  // namespace

int main() {
    const std::string text = million_rows(500, 2000);
    geo::WeatherForms forms;
    forms.columns = {.station = 0,
                     .longitude_deg = 1,
                     .latitude_deg = 2,
                     .time = 3,
                     .temperature = 4,
                     .relative_humidity = 5,
                     .rain = 6};
    auto start = std::chrono::steady_clock::now();
    const geo::WeatherTable table = geo::read_weather_table(text, "weather.csv", forms);
    fmt::print("read    {:.3f} s, {} rows, {} taken, {} refused, {} MB\n", seconds_since(start), table.rows,
               table.taken, table.refused.size(), text.size() / 1000000);
    start = std::chrono::steady_clock::now();
    std::size_t bytes = 0, blocks = 0;
    std::vector<std::vector<std::uint8_t>> packed;
    for (const auto& station : table.stations) {
        for (const auto& month : station.months) {
            packed.push_back(geo::pack_block(month.hours));
            bytes += packed.back().size();
            ++blocks;
        }
    }
    fmt::print("pack    {:.3f} s, {} blocks, {:.1f} MB\n", seconds_since(start), blocks,
               static_cast<double>(bytes) / 1e6);
    start = std::chrono::steady_clock::now();
    std::size_t hours = 0;
    for (const auto& block : packed) hours += geo::unpack_block(block).size();
    fmt::print("unpack  {:.3f} s, {} hours\n", seconds_since(start), hours);
    return table.taken == 1000000 ? 0 : 1;
}
