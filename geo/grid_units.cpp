#include <algorithm>
#include <charconv>
#include <cmath>
#include <string_view>

#include "geo/grid_source.h"

namespace geo::grids {

namespace grid_text {

/// Lower case, without blanks, brackets, ^ and **: "[kg/(m^2)]" and "kg m**-2" become
/// "kg/m2" and "kgm-2".
std::string plain(const std::string& text) {
    std::string out;
    for (const char c : text) {
        if (c == '\xc2' || c == '\xb0') continue;  // the degree sign
        if (c == ' ' || c == '_' || c == '[' || c == ']' || c == '(' || c == ')' || c == '^' || c == '*') continue;
        out += c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
    }
    return out;
}

bool one_of(const std::string& text, std::initializer_list<const char*> words) {
    return std::any_of(words.begin(), words.end(), [&](const char* word) { return text == word; });
}

std::optional<double> take_number(std::string_view& text) {
    double value = 0.0;
    const auto [end, error] = std::from_chars(text.data(), text.data() + text.size(), value);
    if (error != std::errc()) return std::nullopt;
    text.remove_prefix(static_cast<std::size_t>(end - text.data()));
    return value;
}

bool take(std::string_view& text, char letter) {
    if (text.empty() || text.front() != letter) return false;
    text.remove_prefix(1);
    return true;
}

void skip_blanks(std::string_view& text) {
    while (take(text, ' ')) {
    }
}

}  // namespace grid_text

const char* column_of(Quantity quantity) {
    switch (quantity) {
        case Quantity::temperature:
            return "temperature_degc";
        case Quantity::dew_point:
            return "dew_point_degc";
        case Quantity::relative_humidity:
            return "relative_humidity_pct";
        case Quantity::rain:
            return "rain_mm";
    }
    return "";
}

const char* in_words(Quantity quantity) {
    switch (quantity) {
        case Quantity::temperature:
            return "temperature";
        case Quantity::dew_point:
            return "dew point";
        case Quantity::relative_humidity:
            return "relative humidity";
        case Quantity::rain:
            return "rain";
    }
    return "";
}

std::optional<GridUnit> grid_unit(Quantity quantity, const std::string& text) {
    using grid_text::one_of;
    const std::string unit = grid_text::plain(text);
    if (quantity == Quantity::temperature || quantity == Quantity::dew_point) {
        if (one_of(unit, {"k", "kelvin", "degk", "degreek", "degreeskelvin"})) return GridUnit{1.0, -273.15};
        if (one_of(unit, {"c", "degc", "celsius", "degreec", "degreescelsius", "degreecelsius"})) return GridUnit{};
        if (one_of(unit, {"f", "degf", "fahrenheit", "degreef", "degreesfahrenheit"})) {
            return GridUnit{5.0 / 9.0, -160.0 / 9.0};
        }
        return std::nullopt;
    }
    if (quantity == Quantity::relative_humidity) {
        if (one_of(unit, {"%", "percent", "pct"})) return GridUnit{};
        if (one_of(unit, {"1", "fraction", "0-1", "-"})) return GridUnit{100.0, 0.0};
        return std::nullopt;
    }
    // 1 kg of water on a square metre stands 1 mm high.
    if (one_of(unit, {"mm", "kgm-2", "kg/m2", "kg.m-2", "millimeter", "millimetre", "mmofwaterequivalent", "lm-2"}))
        return GridUnit{};
    if (one_of(unit, {"m", "mofwaterequivalent", "meter", "metre", "mofwater"})) return GridUnit{1000.0, 0.0};
    if (one_of(unit, {"cm"})) return GridUnit{10.0, 0.0};
    if (one_of(unit, {"in", "inch", "inches"})) return GridUnit{25.4, 0.0};
    if (one_of(unit, {"kgm-2s-1", "kg/m2/s", "kg/m2s", "kg.m-2.s-1", "mms-1", "mm/s", "mm.s-1"}))
        return GridUnit{3600.0, 0.0, true};
    if (one_of(unit, {"ms-1", "m/s"})) return GridUnit{3.6e6, 0.0, true};
    if (one_of(unit, {"mm/h", "mmh-1", "mm/hr", "mmhr-1", "kgm-2h-1", "kg/m2/h"})) return GridUnit{1.0, 0.0, true};
    return std::nullopt;
}

std::chrono::sys_seconds TimeUnit::at(double value) const {
    return since + std::chrono::seconds(std::llround(value * seconds));
}

std::optional<TimeUnit> time_unit(const std::string& text) {
    using namespace grid_text;
    const std::size_t since = text.find(" since ");
    if (since == std::string::npos) return std::nullopt;
    TimeUnit unit;
    const std::string step = plain(text.substr(0, since));
    if (one_of(step, {"s", "sec", "secs", "second", "seconds"}))
        unit.seconds = 1.0;
    else if (one_of(step, {"min", "mins", "minute", "minutes"}))
        unit.seconds = 60.0;
    else if (one_of(step, {"h", "hr", "hrs", "hour", "hours"}))
        unit.seconds = 3600.0;
    else if (one_of(step, {"d", "day", "days"}))
        unit.seconds = 86400.0;
    else
        return std::nullopt;

    std::string_view rest = std::string_view(text).substr(since + 7);
    skip_blanks(rest);
    const auto whole = [&rest]() -> std::optional<int> {
        int value = 0;
        const auto [end, error] = std::from_chars(rest.data(), rest.data() + rest.size(), value);
        if (error != std::errc()) return std::nullopt;
        rest.remove_prefix(static_cast<std::size_t>(end - rest.data()));
        return value;
    };
    const auto year = whole();
    if (!year || !take(rest, '-')) return std::nullopt;
    const auto month = whole();
    if (!month || !take(rest, '-')) return std::nullopt;
    const auto day = whole();
    if (!day || *month < 1 || *day < 1) return std::nullopt;
    const std::chrono::year_month_day date{std::chrono::year(*year), std::chrono::month(static_cast<unsigned>(*month)),
                                           std::chrono::day(static_cast<unsigned>(*day))};
    if (!date.ok()) return std::nullopt;
    unit.since = std::chrono::sys_days(date);
    skip_blanks(rest);
    take(rest, 'T');
    if (!rest.empty() && rest.front() >= '0' && rest.front() <= '9') {
        double factor = 3600.0, seconds = 0.0;
        do {
            const auto part = take_number(rest);
            if (!part) return std::nullopt;
            seconds += *part * factor;
            factor /= 60.0;
        } while (factor >= 1.0 && take(rest, ':'));
        unit.since += std::chrono::seconds(std::llround(seconds));
    }
    skip_blanks(rest);
    if (rest.empty() || rest == "Z" || rest == "UTC" || rest == "GMT") return unit;
    const bool east = take(rest, '+');
    if (!east && !take(rest, '-')) return std::nullopt;
    const auto hours = whole();
    if (!hours || *hours > 14) return std::nullopt;
    std::chrono::seconds ahead = std::chrono::hours(*hours);
    if (take(rest, ':')) {
        const auto minutes = whole();
        if (!minutes || *minutes > 59) return std::nullopt;
        ahead += std::chrono::minutes(*minutes);
    }
    if (!rest.empty()) return std::nullopt;
    unit.since -= east ? ahead : -ahead;
    return unit;
}

}  // namespace geo::grids
