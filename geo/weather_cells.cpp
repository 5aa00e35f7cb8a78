#include "geo/weather_cells.h"

#include <algorithm>
#include <array>
#include <charconv>
#include <cmath>

#include <fmt/format.h>

#include "models/error.h"
#include "models/weather/hourly_series.h"

namespace geo {

namespace weather_text {

using models::Stamp;
using std::chrono::hours;
using std::chrono::minutes;
using std::chrono::seconds;
using std::chrono::sys_seconds;

bool is_digit(char letter) {
    return letter >= '0' && letter <= '9';
}

bool looks_like_number(std::string_view text) {
    return !text.empty() && (is_digit(text[0]) || (text.size() > 1 && is_digit(text[1])));
}

std::optional<int> take_whole(std::string_view& text) {
    if (text.empty() || !is_digit(text.front())) return std::nullopt;
    int value = 0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc{}) return std::nullopt;
    text.remove_prefix(static_cast<std::size_t>(end - text.data()));
    return value;
}

bool take_any(std::string_view& text, std::string_view letters) {
    if (text.empty() || letters.find(text.front()) == std::string_view::npos) return false;
    text.remove_prefix(1);
    return true;
}

bool whole_number(std::string_view text, double& value) {
    if (!text.empty() && text.front() == '+') text.remove_prefix(1);
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    return error == std::errc{} && end == text.data() + text.size() && std::isfinite(value);
}

/// 14:00:05, seconds and minutes optional.
std::optional<seconds> take_time_of_day(std::string_view& text) {
    const auto hour = take_whole(text);
    if (!hour || *hour > 24) return std::nullopt;
    int minute = 0, second = 0;
    if (take_any(text, ":")) {
        const auto minute_read = take_whole(text);
        if (!minute_read || *minute_read > 59) return std::nullopt;
        minute = *minute_read;
        if (take_any(text, ":")) {
            const auto second_read = take_whole(text);
            if (!second_read || *second_read > 59) return std::nullopt;
            second = *second_read;
        }
    }
    return hours(*hour) + minutes(minute) + seconds(second);
}

}  // namespace weather_text

std::optional<models::Stamp> HourCells::read(std::string_view date, std::string_view time, std::string_view offset,
                                             std::optional<TwiceShown>& twice, CellComplaint& complaint) const {
    try {
        return hour_of(date, time, offset, twice, complaint);
    } catch (const models::Error& beyond_its_rules) {
        complaint.what = fmt::format("\"{}{}{}\" is no known moment: {}", date, date.empty() ? "" : " ", time,
                                     beyond_its_rules.what_happened());
        complaint.mend = beyond_its_rules.how_to_mend();
        return std::nullopt;
    }
}

std::optional<models::Stamp> HourCells::hour_of(std::string_view date, std::string_view time, std::string_view offset,
                                                std::optional<TwiceShown>& twice, CellComplaint& complaint) const {
    using namespace weather_text;
    auto stamp = date.empty() ? models::parse_stamp(time) : std::nullopt;
    if (stamp) {
        if (time.back() == 'Z') stamp->offset = clock_at(offset, stamp->utc);
    } else {
        stamp = read_freely(date, time, offset, twice, complaint);
        if (!stamp) return std::nullopt;
    }
    // Where the clock is half an hour from UTC, stations report on the hour of either.
    const auto past_the_hour = [](seconds moment) { return moment % hours(1) != seconds(0); };
    if (!any_minute_ && past_the_hour(stamp->utc.time_since_epoch()) && past_the_hour(stamp->local_time_of_day())) {
        complaint.what = fmt::format("\"{}\" is not on the hour", time);
        complaint.mend = "give one row an hour, at minute 00";
        return std::nullopt;
    }
    if (twice) twice->begins = {beginning(twice->begins[0]), beginning(twice->begins[1])};
    return beginning(*stamp);
}

/// Of the hour that a stamp speaks of.
models::Stamp HourCells::beginning(models::Stamp stamp) const {
    if (!forms_.stamp_ends_hour) return stamp;
    const bool by_the_zone = forms_.zone && stamp.offset == forms_.zone->offset_at(stamp.utc);
    stamp.utc -= std::chrono::hours(1);
    if (by_the_zone) stamp.offset = forms_.zone->offset_at(stamp.utc);
    return stamp;
}

std::chrono::minutes HourCells::clock_at(std::string_view offset, std::chrono::sys_seconds utc) const {
    const auto clock = clock_of_row(offset);
    if (clock) return *clock;
    return forms_.zone ? forms_.zone->offset_at(utc) : std::chrono::minutes(0);
}

std::optional<models::Stamp> HourCells::in_zone(std::chrono::local_seconds wall, const std::string& written,
                                                std::optional<TwiceShown>& twice, CellComplaint& complaint) const {
    const tables::TimeZone& zone = *forms_.zone;
    const auto moments = forms_.stamp_ends_hour ? zone.ends_of(wall) : zone.moments_of(wall);
    if (moments.count == 0) {
        complaint.what = fmt::format("\"{}\" never was: {}", written, zone.skipped_in_words(wall));
        complaint.mend =
            "correct the time; a clock that is not set forward in spring is named by its offset, in a column map with "
            "offset = \"+01:00\"";
        return std::nullopt;
    }
    const auto stamp = [&](std::chrono::sys_seconds utc) { return models::Stamp{utc, zone.offset_at(utc)}; };
    if (moments.count == 2) twice = TwiceShown{wall, {stamp(moments.at[0]), stamp(moments.at[1])}};
    return stamp(moments.at[0]);
}

std::optional<models::Stamp> HourCells::read_freely(std::string_view date, std::string_view time,
                                                    std::string_view offset, std::optional<TwiceShown>& twice,
                                                    CellComplaint& complaint) const {
    using namespace weather_text;
    const std::string written = date.empty() ? std::string(time) : fmt::format("{} {}", date, time);
    complaint.what = fmt::format("\"{}\" is no time", written);
    complaint.mend = "write it as 2026-06-03T14:00:00+02:00, or say how it is written in a column map";

    std::string_view rest = date.empty() ? time : date;
    const auto day = take_date(rest);
    if (!day) return std::nullopt;
    if (date.empty()) {
        if (!take_any(rest, "T ")) return std::nullopt;
    } else {
        if (!rest.empty()) return std::nullopt;
        rest = time;
    }
    const auto time_of_day = take_time_of_day(rest);
    if (!time_of_day) return std::nullopt;
    if (*time_of_day > hours(24) || (*time_of_day == hours(24) && !forms_.stamp_ends_hour)) return std::nullopt;
    const seconds wall = day->time_since_epoch() + *time_of_day;

    const auto clock = clock_of_row(offset);
    if (rest.empty()) {
        if (!clock && forms_.zone && offset.empty())
            return in_zone(std::chrono::local_seconds{wall}, written, twice, complaint);
        if (!clock) {
            complaint.what = fmt::format("\"{}\" does not say how far its clock is from UTC", written);
            complaint.mend =
                "write it as 2026-06-03T14:00:00+02:00, or say the clock in a column map: offset = \"+02:00\" "
                "or time_zone = \"Europe/Budapest\"";
            return std::nullopt;
        }
        return Stamp{sys_seconds(wall - *clock), *clock};
    }
    const auto zone = models::parse_stamp(fmt::format("2000-01-01T00:00{}", rest));
    if (!zone) return std::nullopt;
    const sys_seconds utc(wall - zone->offset);
    return Stamp{utc, rest == "Z" ? clock_at(offset, utc) : zone->offset};
}

std::optional<models::LocalDay> HourCells::take_date(std::string_view& text) const {
    std::array<int, 3> part{};
    for (std::size_t i = 0; i < 3; ++i) {
        if (i > 0 && !weather_text::take_any(text, "-/.")) return std::nullopt;
        const auto number = weather_text::take_whole(text);
        if (!number || *number > 9999) return std::nullopt;
        part[i] = *number;
    }
    auto [year, month, day] = part;
    if (forms_.date_order == DateOrder::day_month_year) std::swap(year, day);
    if (forms_.date_order == DateOrder::month_day_year) {
        year = part[2];
        month = part[0];
        day = part[1];
    }
    if (year < 1000) return std::nullopt;  // "26" could be any century
    const std::chrono::year_month_day date{std::chrono::year(year), std::chrono::month(static_cast<unsigned>(month)),
                                           std::chrono::day(static_cast<unsigned>(day))};
    if (!date.ok()) return std::nullopt;
    return std::chrono::local_days(date);
}

std::optional<std::chrono::minutes> HourCells::clock_of_row(std::string_view offset) const {
    if (offset.empty()) return forms_.clock;
    double value_h = 0.0;
    if (!weather_text::whole_number(offset, value_h) || !(std::abs(value_h) <= 14.0)) return std::nullopt;
    return std::chrono::minutes(std::lround(value_h * 60.0));
}

NumberCells::NumberCells(const WeatherForms& forms) : forms_(forms) {
    has_number_codes_ = std::any_of(forms.missing.begin(), forms.missing.end(),
                                    [](const std::string& word) { return weather_text::looks_like_number(word); });
}

bool NumberCells::read(std::string_view text, double& value) const {
    value = models::HourlySeries::missing;
    if (has_number_codes_ || !weather_text::looks_like_number(text)) {
        if (std::find(forms_.missing.begin(), forms_.missing.end(), text) != forms_.missing.end()) return true;
    }
    std::array<char, 48> buffer{};
    if (forms_.decimal != '.') {
        if (text.size() > buffer.size() || text.find('.') != std::string_view::npos) return false;
        std::replace_copy(text.begin(), text.end(), buffer.begin(), forms_.decimal, '.');
        text = std::string_view(buffer.data(), text.size());
    }
    double number = 0.0;
    if (!weather_text::whole_number(text, number)) return false;
    value = number;
    return true;
}

namespace {

/// A number that was read in tenths or hundredths of another unit, without the noise of the conversion: 51.98 degF are
/// 11.1 degC, and not 11.099999999999998. No sensor tells a millionth.
double without_noise(double converted) {
    return std::round(converted * 1e6) / 1e6;
}

}  // namespace

double in_degc(double value, TemperatureUnit unit) {
    switch (unit) {
        case TemperatureUnit::degf:
            return without_noise((value - 32.0) * 5.0 / 9.0);
        case TemperatureUnit::kelvin:
            return without_noise(value - 273.15);
        case TemperatureUnit::degc:
            break;
    }
    return value;
}

double in_percent(double value, HumidityUnit unit) {
    return unit == HumidityUnit::fraction ? without_noise(value * 100.0) : value;
}

double in_mm(double value, RainUnit unit) {
    return unit == RainUnit::inch ? without_noise(value * 25.4) : value;
}

}  // namespace geo
