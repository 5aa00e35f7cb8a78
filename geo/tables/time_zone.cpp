#include "geo/tables/time_zone.h"

#include <algorithm>
#include <charconv>
#include <exception>
#include <optional>
#include <string_view>
#include <vector>

#include <date/tz.h>
#include <fmt/format.h>

#include "models/calendar.h"
#include "models/counted.h"
#include "models/error.h"
#include "models/spoken.h"

namespace geo::tables {

namespace {

using std::chrono::local_seconds;
using std::chrono::seconds;
using std::chrono::sys_seconds;

date::local_seconds wall_of_library(local_seconds wall) {
    return date::local_seconds{wall.time_since_epoch()};
}

std::string without_capitals(std::string text) {
    for (char& letter : text) letter = letter >= 'A' && letter <= 'Z' ? static_cast<char>(letter - 'A' + 'a') : letter;
    return text;
}

const date::tzdb& zones_of_this_machine() {
    try {
        return date::get_tzdb();
    } catch (const std::exception&) {
        throw models::Error("this machine has no table of time zones", "",
                            "install it (package tzdata), or say a fixed clock: offset = \"+01:00\"");
    }
}

/// The tables of many machines are written out to 2037, and the library reads no rule beyond them.
constexpr sys_seconds last_change_known{std::chrono::sys_days{std::chrono::year{2037} / 7 / 1}};

/// A fixed clock where the name of a zone should stand: "GMT+2", "UTC-3:30", "+02:00".
struct FixedClock {
    std::chrono::minutes ahead_of_utc{0};  // in the words of people: GMT+2 is two hours ahead
    bool turned = false;                   // "Etc/GMT+2" is behind UTC: POSIX counts westward
};

std::optional<FixedClock> fixed_clock(const std::string& name) {
    std::string small = without_capitals(name);
    small.erase(std::remove(small.begin(), small.end(), ' '), small.end());
    std::string_view rest = small;
    const auto take = [&](std::string_view word) {
        if (!rest.starts_with(word)) return false;
        rest.remove_prefix(word.size());
        return true;
    };
    const bool etc = take("etc/"), gmt = take("gmt");
    if (!gmt && !take("utc")) take("ut");
    if (rest.size() < 2 || (rest.front() != '+' && rest.front() != '-')) return std::nullopt;
    const int sign = rest.front() == '-' ? -1 : 1;
    rest.remove_prefix(1);
    const std::size_t colon = rest.find(':');
    const std::size_t digits = colon == std::string_view::npos ? rest.size() : colon;
    const std::size_t of_hours = digits > 2 ? digits - 2 : digits;
    const auto number = [](std::string_view text) {
        int value = 0;
        const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
        return error == std::errc{} && end == text.data() + text.size() && value >= 0 ? value : -1;
    };
    const std::string_view rest_of_it = rest.substr(colon == std::string_view::npos ? of_hours : colon + 1);
    const int hours = digits > (colon == std::string_view::npos ? 4 : 2) ? -1 : number(rest.substr(0, of_hours));
    const int past = rest_of_it.empty() ? 0 : number(rest_of_it);
    if (hours < 0 || past < 0 || past > 59 || 60 * hours + past > 14 * 60) return std::nullopt;
    return FixedClock{sign * std::chrono::minutes(60 * hours + past), etc && gmt};
}

std::string in_map(std::chrono::minutes ahead) {
    const auto far = std::chrono::abs(ahead);
    return fmt::format("offset = \"{}{:02}:{:02}\"", ahead.count() < 0 ? '-' : '+', far.count() / 60, far.count() % 60);
}

/// A fixed clock is said by its offset, whose sign nobody reads the other way round.
[[noreturn]] void refuse_fixed_clock(const std::string& name, const FixedClock& clock) {
    const std::string ahead = in_map(clock.ahead_of_utc);
    if (!clock.turned) throw models::Error("\"" + name + "\" is no time zone but an offset", "", "write " + ahead);
    throw models::Error(
        fmt::format("the sign of \"{}\" is the other way round: it is a clock {} {} UTC", name,
                    models::counted(std::chrono::abs(clock.ahead_of_utc).count() / 60, "hour"),
                    clock.ahead_of_utc.count() > 0 ? "behind" : "ahead of"),
        "", fmt::format("write {} for that clock, or {} for the other one", in_map(-clock.ahead_of_utc), ahead));
}

/// The zone that was meant: spelt in other letters, a town without its continent, or nearly that.
std::string nearest_zone(const std::string& wrong) {
    std::vector<std::string> names, towns;
    const std::string small = without_capitals(wrong);
    for (const date::time_zone& zone : zones_of_this_machine().zones) {
        const std::string& name = zone.name();
        // Clocks without rules, whose signs count westward; a town is meant.
        if (name.starts_with("Etc/") || (name.starts_with("GMT") && name != "GMT")) continue;
        const std::string town = name.substr(name.rfind('/') + 1);
        if (without_capitals(name) == small || without_capitals(town) == small) return name;
        names.push_back(name);
        towns.push_back(town);
    }
    const std::string near = models::nearest_name(wrong, names);
    if (!near.empty()) return near;
    const std::string town = models::nearest_name(wrong.substr(wrong.rfind('/') + 1), towns);
    return town.empty() ? ""
                        : names[static_cast<std::size_t>(std::find(towns.begin(), towns.end(), town) - towns.begin())];
}

}  // namespace

TimeZone::TimeZone(const std::string& name) : name_(name) {
    zones_of_this_machine();
    const auto fixed = fixed_clock(name);
    if (fixed && fixed->turned && fixed->ahead_of_utc.count() != 0) refuse_fixed_clock(name, *fixed);
    try {
        zone_ = date::locate_zone(name);
        static_cast<void>(zone_->get_info(date::sys_seconds{seconds(0)}));
    } catch (const std::exception&) {
        if (fixed) refuse_fixed_clock(name, *fixed);
        const std::string near = nearest_zone(name);
        throw models::Error(
            "\"" + name + "\" is no time zone" + (near.empty() ? "" : "; did you mean \"" + near + "\"?"), "",
            "write the zone as continent and town, time_zone = \"" + (near.empty() ? "Europe/Budapest" : near) + "\"");
    }
}

void TimeZone::require_known(sys_seconds latest_change) const {
    if (latest_change < last_change_known) return;
    throw models::Error("the clock changes of " + name_ + " are not known after 2037", "",
                        "say a fixed clock: offset = \"+01:00\"");
}

std::chrono::minutes TimeZone::offset_at(sys_seconds utc) const {
    if (utc < latest_.from || utc >= latest_.to) {
        const date::sys_info info = zone_->get_info(utc);
        require_known(info.begin);
        latest_ = {info.begin, info.end, info.offset};
    }
    return std::chrono::floor<std::chrono::minutes>(latest_.offset);
}

TimeZone::Moments TimeZone::moments_of(local_seconds wall) const {
    // Away from both its ends by more than clocks are ever moved, a stretch holds the one moment there is.
    constexpr std::chrono::hours far{26};
    const sys_seconds here{wall.time_since_epoch() - latest_.offset};
    if (latest_.to - latest_.from > 2 * far && here > latest_.from + far && here < latest_.to - far) return {{here}, 1};
    const date::local_info info = zone_->get_info(wall_of_library(wall));
    require_known(info.first.begin);
    if (info.result == date::local_info::nonexistent) return {};
    const auto moment = [&](const date::sys_info& one) { return sys_seconds{wall.time_since_epoch() - one.offset}; };
    latest_ = {info.first.begin, info.first.end, info.first.offset};
    if (info.result == date::local_info::unique) return {{moment(info.first)}, 1};
    return {{moment(info.first), moment(info.second)}, 2};
}

TimeZone::Moments TimeZone::ends_of(local_seconds wall) const {
    Moments ends = moments_of(wall), just_before = moments_of(wall - seconds(1));
    for (std::size_t i = 0; i < just_before.count; ++i) {
        const sys_seconds end = just_before.at[i] + seconds(1);
        const auto known = ends.at.begin() + static_cast<std::ptrdiff_t>(ends.count);
        if (ends.count < ends.at.size() && std::find(ends.at.begin(), known, end) == known) ends.at[ends.count++] = end;
    }
    if (ends.count == 2 && ends.at[1] < ends.at[0]) std::swap(ends.at[0], ends.at[1]);
    return ends;
}

std::string TimeZone::skipped_in_words(local_seconds wall) const {
    return models::phrase("the clocks of {} went forward over it on {}", name_,
                          models::to_text(std::chrono::floor<std::chrono::days>(wall)));
}

std::string TimeZone::repeated_in_words(local_seconds wall) const {
    return models::phrase("the clocks of {} showed it twice on {}", name_,
                          models::to_text(std::chrono::floor<std::chrono::days>(wall)));
}

}  // namespace geo::tables
