#include "models/weather/known_weather.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <map>
#include <tuple>
#include <utility>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/geometry.h"
#include "models/weather/weather_source.h"

namespace models {

namespace known_weather {

constexpr std::array columns = {&HourlySeries::temperature_degc, &HourlySeries::relative_humidity_pct,
                                &HourlySeries::dew_point_degc, &HourlySeries::rain_mm};

/// The day on a clock that runs `offset_min` ahead of UTC.
LocalDay day_on_clock(std::chrono::sys_seconds utc, std::int16_t offset_min) {
    return Stamp{utc, std::chrono::minutes(offset_min)}.local_day();
}

/// A beginning moved to the nearest hour that begins at the minute of `example`.
std::chrono::sys_seconds at_the_minute_of(std::chrono::sys_seconds example, std::chrono::sys_seconds utc) {
    constexpr std::chrono::seconds hour = std::chrono::hours(1);
    const auto past = ((utc - example) % hour + hour) % hour;
    return past * 2 <= hour ? utc - past : utc + (hour - past);
}

/// [first, end) of the hours that say anything; equal where none does.
std::pair<std::size_t, std::size_t> spoken_part(const HourlySeries& hours) {
    std::size_t first = 0, end = hours.size();
    while (first < end && !hours.speaks(first)) ++first;
    while (end > first && !hours.speaks(end - 1)) --end;
    return {first, end};
}

void copy_hour(const HourlySeries& from, std::size_t i, HourlySeries& to, std::size_t at) {
    for (const auto column : columns) (to.*column)[at] = (from.*column)[i];
    to.offset_min[at] = from.offset_min[i];
}

}  // namespace known_weather

KnownHours known_at(const HourlySeries& observed, const std::vector<ForecastHours>& forecasts,
                    const std::optional<LocalDay>& as_of) {
    using namespace known_weather;
    using std::chrono::hours;
    KnownHours known;

    std::size_t seen = spoken_part(observed).second;  // observed hours are known before this one
    while (as_of && seen > 0 && (observed.local_day(seen - 1) > *as_of || !observed.speaks(seen - 1))) --seen;

    struct Issue {
        const ForecastHours* forecast = nullptr;
        std::chrono::sys_seconds first_utc{};  // of its hours, at the minute of the observed ones
        std::size_t first = 0, end = 0;        // the part that says anything
        std::chrono::sys_seconds utc(std::size_t hour) const { return first_utc + hours(hour); }
    };
    std::vector<Issue> issues;
    for (const ForecastHours& forecast : forecasts) {
        Issue issue{&forecast, forecast.hours.first_utc};
        std::tie(issue.first, issue.end) = spoken_part(forecast.hours);
        if (issue.first == issue.end) continue;
        const std::int16_t clock =
            observed.empty() ? forecast.hours.offset_min[issue.first] : observed.offset_min.back();
        if (as_of && day_on_clock(forecast.made_utc, clock) > *as_of) continue;
        if (!observed.empty()) issue.first_utc = at_the_minute_of(observed.first_utc, issue.first_utc);
        issues.push_back(issue);
    }
    std::stable_sort(issues.begin(), issues.end(),
                     [](const Issue& a, const Issue& b) { return a.forecast->made_utc > b.forecast->made_utc; });

    // The row of hours that all of them span.
    std::optional<std::chrono::sys_seconds> begin, finish;
    const auto span = [&](std::chrono::sys_seconds from, std::chrono::sys_seconds to) {
        begin = begin ? std::min(*begin, from) : from;
        finish = finish ? std::max(*finish, to) : to;
    };
    if (seen > 0) span(observed.first_utc, observed.utc(seen));
    for (const Issue& issue : issues) {
        const auto from = seen > 0 ? std::max(issue.utc(issue.first), observed.utc(seen)) : issue.utc(issue.first);
        if (from < issue.utc(issue.end)) span(from, issue.utc(issue.end));
    }
    known.hours.station = observed.station;
    if (!begin) return known;
    known.hours.first_utc = *begin;
    const auto count = static_cast<std::size_t>((*finish - *begin) / hours(1));
    for (const auto column : columns) (known.hours.*column).assign(count, HourlySeries::missing);
    known.hours.offset_min.assign(count, 0);
    known.origin.assign(count, KnownHours::observed);

    std::vector<bool> told(count, false);
    for (std::size_t i = 0; i < seen; ++i) copy_hour(observed, i, known.hours, i);
    std::fill_n(told.begin(), seen, true);
    for (const Issue& issue : issues) {
        bool used = false;
        for (std::size_t i = issue.first; i < issue.end; ++i) {
            const std::int64_t after = (issue.utc(i) - *begin) / hours(1);
            if (after < static_cast<std::int64_t>(seen)) continue;
            const auto at = static_cast<std::size_t>(after);
            if (told[at] || !issue.forecast->hours.speaks(i)) continue;
            copy_hour(issue.forecast->hours, i, known.hours, at);
            if (seen > 0) known.hours.offset_min[at] = observed.offset_min[seen - 1];
            known.origin[at] = static_cast<std::int16_t>(known.forecasts.size());
            told[at] = used = true;
        }
        if (used) known.forecasts.push_back({issue.forecast->made_utc, issue.forecast->place});
    }
    // Hours that nobody spoke of go by the clock of the hour before them.
    for (std::size_t at = 1; at < count; ++at) {
        if (!told[at]) known.hours.offset_min[at] = known.hours.offset_min[at - 1];
    }
    return known;
}

std::vector<Station> forecasts_for(const Station& station, const std::vector<Station>& forecasts, double within_m) {
    std::vector<Station> own;
    const Station* nearest = nullptr;
    for (const Station& forecast : forecasts) {
        if (forecast.forecast_of == station.station) own.push_back(forecast);
        const double away_m = distance_m(station.place_m, forecast.place_m);
        if (away_m <= within_m && (nearest == nullptr || away_m < distance_m(station.place_m, nearest->place_m))) {
            nearest = &forecast;
        }
    }
    if (!own.empty() || nearest == nullptr) return own;
    for (const Station& forecast : forecasts) {
        if (forecast.forecast_of == nearest->forecast_of) own.push_back(forecast);
    }
    return own;
}

std::string forecast_place(const Station& station, const Station& forecast) {
    if (forecast.forecast_of == station.station) return "";
    return fmt::format("{}, {:.1f} km away", forecast.forecast_of,
                       distance_m(station.place_m, forecast.place_m) / 1000.0);
}

std::string note_of_forecast_hours(const KnownHours& known, const DayWindow& window) {
    long all = 0, forecast = 0;
    std::map<std::int16_t, long> of_issue;
    for (std::size_t i = 0; i < known.hours.size(); ++i) {
        const LocalDay day = known.hours.local_day(i);
        if (day < window.first || day > window.last || !known.hours.speaks(i)) continue;
        ++all;
        if (known.origin[i] == KnownHours::observed) continue;
        ++forecast;
        ++of_issue[known.origin[i]];
    }
    if (forecast == 0) return "";
    const auto made = [&](std::int16_t issue) {
        const KnownHours::Forecast& from = known.forecasts[static_cast<std::size_t>(issue)];
        return (from.place.empty() ? "" : "for " + from.place + ", ") + "made " + utc_in_words(from.made_utc);
    };
    std::string note =
        fmt::format("{} of {} {} forecast", forecast, counted(all, "hour"), by_number(forecast, "is", "are"));
    if (of_issue.size() == 1) return note + ", " + made(of_issue.begin()->first);
    bool first = true;
    for (const auto& [issue, hours] : of_issue) {
        note += fmt::format("{} {} {}", first ? ":" : ",", hours, made(issue));
        first = false;
    }
    return note;
}

}  // namespace models
