#include "models/weather/station_days.h"

#include <cmath>
#include <utility>

#include "models/error.h"
#include "models/weather/day_reading.h"
#include "models/weather/humidity.h"

namespace models {

namespace {

void check_lengths(const HourlySeries& series) {
    const std::size_t n = series.size();
    if (series.relative_humidity_pct.size() == n && series.dew_point_degc.size() == n && series.rain_mm.size() == n &&
        series.offset_min.size() == n) {
        return;
    }
    throw Error("the hours of temperature, humidity, dew point, rain and clock are not equally many",
                "station " + series.station, "give every quantity one entry an hour, NaN where it was not measured");
}

void complete_humidity(HourlySeries& series) {
    for (std::size_t i = 0; i < series.size(); ++i) {
        double& humidity = series.relative_humidity_pct[i];
        double& dew_point = series.dew_point_degc[i];
        const double temperature = series.temperature_degc[i];
        if (std::isnan(humidity)) humidity = relative_humidity_pct(temperature, dew_point);
        if (std::isnan(dew_point)) dew_point = dew_point_degc(temperature, humidity);
        humidity = humidity > 100.0 ? 100.0 : humidity;
    }
}

DailySummary summarise(const HourlySeries& series, LocalDay day, std::size_t first, std::size_t last) {
    DailySummary summary;
    summary.day = day;
    summary.first_hour = first;
    summary.last_hour = last;
    const DayReading reading(series, first, last);
    summary.clock = reading.clock();
    const auto humidity = [](const HourlyWeather& hour) { return hour.relative_humidity_pct; };
    const auto depression = [](const HourlyWeather& hour) {
        const double difference = hour.temperature_degc - hour.dew_point_degc;
        return difference < 0.0 ? 0.0 : difference;
    };
    summary.relative_humidity_pct = reading.by_the_clock(humidity);
    summary.dew_point_depression_degc = reading.by_the_clock(depression);
    summary.warm_wet = reading.count([](const HourlyWeather& hour) {
        return all_of(is_within(hour.temperature_degc, 15.0, 30.0), is_within(hour.relative_humidity_pct, 90.0, 100.0));
    });
    summary.warm =
        reading.count([](const HourlyWeather& hour) { return is_within(hour.temperature_degc, 15.0, 30.0); });
    summary.temperature_degc = reading.by_the_clock([](const HourlyWeather& hour) { return hour.temperature_degc; });
    summary.night_complete = true;
    for (std::size_t hour = 2; hour <= 8; ++hour) {
        if (summary.clock[hour] && std::isnan(summary.temperature_degc.at[hour])) summary.night_complete = false;
    }
    const HoursOfDay rain = reading.by_the_clock([](const HourlyWeather& hour) { return hour.rain_mm; });
    summary.rain = rain.day.coverage;
    for (std::size_t i = first; i < last; ++i) {
        if (!std::isnan(series.rain_mm[i])) summary.rain_mm += series.rain_mm[i];
    }
    return summary;
}

}  // namespace

StationDays::StationDays(HourlySeries series) : series_(std::move(series)) {
    check_lengths(series_);
    complete_humidity(series_);
    std::size_t first = 0;
    LocalDay day = series_.empty() ? LocalDay{} : series_.local_day(0);
    for (std::size_t i = 0; i <= series_.size(); ++i) {
        // A clock that is set back over midnight does not open the day before again.
        if (i < series_.size() && series_.local_day(i) <= day) continue;
        if (i > first) days_.push_back(summarise(series_, day, first, i));
        if (i == series_.size()) break;
        for (day += std::chrono::days(1); day < series_.local_day(i); day += std::chrono::days(1))
            days_.push_back(summarise(series_, day, i, i));
        first = i;
    }
}

const DailySummary* StationDays::day(LocalDay day) const {
    if (days_.empty() || day < days_.front().day || day > days_.back().day) return nullptr;
    return &days_[static_cast<std::size_t>((day - days_.front().day).count())];
}

}  // namespace models
