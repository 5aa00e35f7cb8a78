#include "models/weather/aligned_hours.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "models/error.h"
#include "models/weather/humidity.h"

namespace models {

namespace {

using std::chrono::sys_time;
using HoursUtc = sys_time<std::chrono::hours>;

void check_station_weather(const StationWeather& given) {
    const HourlySeries& hours = given.hours;
    const std::size_t n = hours.size();
    if (!std::isfinite(given.station.place_m.x_m) || !std::isfinite(given.station.place_m.y_m)) {
        throw Error("nothing says where the station stands", "station " + given.station.station,
                    "import its longitude_deg and latitude_deg");
    }
    if (hours.relative_humidity_pct.size() != n || hours.dew_point_degc.size() != n || hours.rain_mm.size() != n ||
        hours.offset_min.size() != n) {
        throw Error("the hours of temperature, humidity, dew point, rain and clock are not equally many",
                    "station " + given.station.station,
                    "give every quantity one entry an hour, NaN where it was not measured");
    }
}

}  // namespace

std::size_t AlignedHours::clock_utc(std::size_t hour) const {
    const auto since_day = utc(hour) - std::chrono::floor<std::chrono::days>(utc(hour));
    return static_cast<std::size_t>(since_day / std::chrono::hours(1));
}

AlignedHours align(const std::vector<StationWeather>& stations) {
    std::optional<HoursUtc> begin, end;
    for (const StationWeather& given : stations) {
        check_station_weather(given);
        if (given.hours.empty()) continue;
        const HoursUtc first = std::chrono::floor<std::chrono::hours>(given.hours.first_utc);
        const HoursUtc last = first + std::chrono::hours(given.hours.size());
        begin = begin ? std::min(*begin, first) : first;
        end = end ? std::max(*end, last) : last;
    }
    AlignedHours out;
    if (begin) out.first_utc = *begin;
    out.hours = begin ? static_cast<std::size_t>((*end - *begin).count()) : 0;
    for (const StationWeather& given : stations) {
        const HourlySeries& hours = given.hours;
        const std::size_t at =
            hours.empty()
                ? 0
                : static_cast<std::size_t>((std::chrono::floor<std::chrono::hours>(hours.first_utc) - *begin).count());
        const auto laid = [&](const std::vector<double>& values) {
            std::vector<double> row(out.hours, HourlySeries::missing);
            std::copy(values.begin(), values.end(), row.begin() + static_cast<std::ptrdiff_t>(at));
            return row;
        };
        out.temperature_degc.push_back(laid(hours.temperature_degc));
        out.dew_point_degc.push_back(laid(hours.dew_point_degc));
        out.relative_humidity_pct.push_back(laid(hours.relative_humidity_pct));
        out.rain_mm.push_back(laid(hours.rain_mm));
        std::vector<double>& dew_point = out.dew_point_degc.back();
        std::vector<double>& humidity = out.relative_humidity_pct.back();
        for (std::size_t i = at; i < at + hours.size(); ++i) {
            const double temperature = out.temperature_degc.back()[i];
            if (std::isnan(humidity[i])) humidity[i] = relative_humidity_pct(temperature, dew_point[i]);
            if (std::isnan(dew_point[i])) dew_point[i] = dew_point_degc(temperature, humidity[i]);
            if (humidity[i] > 100.0) humidity[i] = 100.0;
        }
        std::vector<std::int16_t> clock(out.hours, 0);
        for (std::size_t i = 0; i < out.hours && !hours.empty(); ++i) {
            clock[i] = hours.offset_min[i < at ? 0 : std::min(i - at, hours.size() - 1)];
        }
        out.offset_min.push_back(std::move(clock));
        out.first_of.push_back(at);
        out.hours_of.push_back(hours.size());
    }
    return out;
}

double median_of(std::vector<double> values) {
    if (values.empty()) return HourlySeries::missing;
    const auto middle = values.begin() + static_cast<std::ptrdiff_t>(values.size() / 2);
    std::nth_element(values.begin(), middle, values.end());
    if (values.size() % 2 == 1) return *middle;
    return 0.5 * (*middle + *std::max_element(values.begin(), middle));
}

}  // namespace models
