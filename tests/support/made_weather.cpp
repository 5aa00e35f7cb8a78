#include "tests/support/made_weather.h"

#include <charconv>
#include <stdexcept>

namespace tests {

using models::HourlySeries;

namespace {

void append(HourlySeries& series, const models::HourlyWeather& hour, std::chrono::minutes offset) {
    series.temperature_degc.push_back(hour.temperature_degc);
    series.relative_humidity_pct.push_back(hour.relative_humidity_pct);
    series.dew_point_degc.push_back(hour.dew_point_degc);
    series.rain_mm.push_back(hour.rain_mm);
    series.offset_min.push_back(static_cast<std::int16_t>(offset.count()));
}

}  // namespace

HourlySeries made_hours(models::LocalDay first, int days,
                        const std::function<models::HourlyWeather(int day, int hour)>& rule,
                        std::chrono::minutes offset) {
    HourlySeries series;
    series.station = "made";
    series.first_utc = std::chrono::sys_seconds(first.time_since_epoch() - offset);
    for (int day = 0; day < days; ++day) {
        for (int hour = 0; hour < 24; ++hour) append(series, rule(day, hour), offset);
    }
    return series;
}

HourlySeries logger_hours(const Table& hourly, const std::string& site) {
    HourlySeries series;
    series.station = site;
    for (std::size_t row = 0; row < hourly.rows(); ++row) {
        if (hourly.text(row, "site") != site) continue;
        const auto stamp = models::parse_stamp(hourly.text(row, "time_utc"));
        if (!stamp) throw std::runtime_error("no time in row " + std::to_string(row));
        if (series.empty()) series.first_utc = stamp->utc;
        const double missing = HourlySeries::missing;
        const std::chrono::minutes offset(static_cast<int>(60 * hourly.number(row, "utc_offset_h")));
        while (series.utc(series.size()) < stamp->utc) append(series, {missing, missing, missing, missing}, offset);
        append(series,
               {hourly.number(row, "temp_c"), hourly.number(row, "rh_pct"), hourly.number(row, "dew_c"),
                hourly.number(row, "rain_mm")},
               offset);
    }
    return series;
}

void forget_hour(HourlySeries& series, std::size_t hour) {
    series.temperature_degc[hour] = series.relative_humidity_pct[hour] = HourlySeries::missing;
    series.dew_point_degc[hour] = series.rain_mm[hour] = HourlySeries::missing;
}

}  // namespace tests
