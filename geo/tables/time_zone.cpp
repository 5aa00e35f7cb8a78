#include "geo/tables/time_zone.h"

#include <algorithm>
#include <exception>
#include <vector>

#include <date/tz.h>
#include <fmt/format.h>

#include "models/calendar.h"
#include "models/error.h"

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

/// The zone that was meant: spelt in other letters, a town without its continent, or nearly that.
std::string nearest_zone(const std::string& wrong) {
    std::vector<std::string> names, towns;
    const std::string small = without_capitals(wrong);
    for (const date::time_zone& zone : zones_of_this_machine().zones) {
        const std::string& name = zone.name();
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
    try {
        zone_ = date::locate_zone(name);
        static_cast<void>(zone_->get_info(date::sys_seconds{seconds(0)}));
    } catch (const std::exception&) {
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
    return fmt::format("the clocks of {} went forward over it on {}", name_,
                       models::to_text(std::chrono::floor<std::chrono::days>(wall)));
}

std::string TimeZone::repeated_in_words(local_seconds wall) const {
    return fmt::format("the clocks of {} showed it twice on {}", name_,
                       models::to_text(std::chrono::floor<std::chrono::days>(wall)));
}

}  // namespace geo::tables
