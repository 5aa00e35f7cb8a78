#include "models/calendar.h"

#include <array>
#include <charconv>
#include <cstdio>

#include "models/spoken.h"

namespace models {

namespace {

using namespace std::chrono;

/// Reads exactly `digits` decimal digits from the front and drops them; nullopt leaves the text as it was.
std::optional<int> take_number(std::string_view& text, std::size_t digits) {
    if (text.size() < digits) return std::nullopt;
    int value = 0;
    for (std::size_t i = 0; i < digits; ++i) {
        if (text[i] < '0' || text[i] > '9') return std::nullopt;
        value = value * 10 + (text[i] - '0');
    }
    text.remove_prefix(digits);
    return value;
}

bool take(std::string_view& text, char letter) {
    if (text.empty() || text.front() != letter) return false;
    text.remove_prefix(1);
    return true;
}

std::optional<LocalDay> take_day(std::string_view& text) {
    const auto y = take_number(text, 4);
    if (!y || !take(text, '-')) return std::nullopt;
    const auto m = take_number(text, 2);
    if (!m || !take(text, '-')) return std::nullopt;
    const auto d = take_number(text, 2);
    if (!d) return std::nullopt;
    const year_month_day date{year{*y}, month{static_cast<unsigned>(*m)}, day{static_cast<unsigned>(*d)}};
    if (!date.ok()) return std::nullopt;
    return local_days{date};
}

std::string format(const char* pattern, auto... values) {
    std::array<char, 40> buffer{};
    std::snprintf(buffer.data(), buffer.size(), pattern, values...);
    return buffer.data();
}

std::string day_and_time(local_seconds moment) {
    const auto whole_day = floor<days>(moment);
    const auto seconds_of_day = (moment - whole_day).count();
    return to_text(whole_day) + format("T%02d:%02d:%02d", static_cast<int>(seconds_of_day / 3600),
                                       static_cast<int>(seconds_of_day / 60 % 60),
                                       static_cast<int>(seconds_of_day % 60));
}

local_seconds wall_clock(const Stamp& stamp) {
    return local_seconds{stamp.utc.time_since_epoch() + stamp.offset};
}

}  // namespace

LocalDay Stamp::local_day() const {
    return floor<days>(wall_clock(*this));
}

std::chrono::seconds Stamp::local_time_of_day() const {
    return wall_clock(*this) - floor<days>(wall_clock(*this));
}

std::optional<LocalDay> parse_day(std::string_view text) {
    const auto date = take_day(text);
    if (!text.empty()) return std::nullopt;
    return date;
}

std::optional<Stamp> parse_stamp(std::string_view text) {
    const auto date = take_day(text);
    if (!date || !(take(text, 'T') || take(text, ' '))) return std::nullopt;
    const auto hour = take_number(text, 2);
    if (!hour || *hour > 23 || !take(text, ':')) return std::nullopt;
    const auto minute = take_number(text, 2);
    if (!minute || *minute > 59) return std::nullopt;
    int second = 0;
    if (take(text, ':')) {
        const auto seconds_read = take_number(text, 2);
        if (!seconds_read || *seconds_read > 59) return std::nullopt;
        second = *seconds_read;
        if (take(text, '.')) {  // fractions of a second carry nothing here
            if (!take_number(text, 1)) return std::nullopt;
            while (take_number(text, 1)) {
            }
        }
    }
    minutes offset{0};
    if (!take(text, 'Z')) {
        const bool behind = !text.empty() && text.front() == '-';
        if (!take(text, '+') && !take(text, '-')) return std::nullopt;
        const auto offset_hour = take_number(text, 2);
        if (!offset_hour || *offset_hour > 14) return std::nullopt;
        take(text, ':');
        const auto offset_minute = take_number(text, 2);
        if (!offset_minute || *offset_minute > 59) return std::nullopt;
        offset = minutes{*offset_hour * 60 + *offset_minute};
        if (behind) offset = -offset;
    }
    if (!text.empty()) return std::nullopt;
    const local_seconds wall = *date + hours{*hour} + minutes{*minute} + seconds{second};
    return Stamp{sys_seconds{wall.time_since_epoch() - offset}, offset};
}

std::string to_text(LocalDay date) {
    const year_month_day ymd{date};
    return format("%04d-%02u-%02u", static_cast<int>(ymd.year()), static_cast<unsigned>(ymd.month()),
                  static_cast<unsigned>(ymd.day()));
}

std::string to_text(const Stamp& stamp) {
    const int total = static_cast<int>(stamp.offset.count());
    const int size = total < 0 ? -total : total;
    return day_and_time(wall_clock(stamp)) + format("%c%02d:%02d", total < 0 ? '-' : '+', size / 60, size % 60);
}

std::string to_text(sys_seconds utc) {
    return day_and_time(local_seconds{utc.time_since_epoch()}) + "Z";
}

std::string to_short_text(LocalDay date) {
    static constexpr std::array<Word, 12> names = {word("month", "Jan"), word("month", "Feb"), word("month", "Mar"),
                                                   word("month", "Apr"), word("month", "May"), word("month", "Jun"),
                                                   word("month", "Jul"), word("month", "Aug"), word("month", "Sep"),
                                                   word("month", "Oct"), word("month", "Nov"), word("month", "Dec")};
    const year_month_day ymd{date};
    return spoken(word("day and month", "{} {}"), static_cast<unsigned>(ymd.day()),
                  spoken(names[static_cast<unsigned>(ymd.month()) - 1]));
}

int year_of(LocalDay date) {
    return static_cast<int>(year_month_day{date}.year());
}

LocalDay day_of(int y, unsigned m, unsigned d) {
    return local_days{year{y} / month{m} / day{d}};
}

}  // namespace models
