#include "app/drawing/numbers.h"

#include <algorithm>
#include <cmath>

#include <fmt/format.h>

#include "app/words.h"

namespace app::drawing {

namespace {

constexpr const char* minus_sign = "\u2212";
constexpr const char* thin_space = "\u202f";

std::string whole_with_spaces(double value) {
    std::string digits = fmt::format("{:.0f}", value);
    for (auto at = static_cast<int>(digits.size()) - 3; at > 0; at -= 3)
        digits.insert(static_cast<std::size_t>(at), thin_space);
    return digits;
}

std::string size_text(double size) {
    if (size < 5e-7) return "0";
    if (size >= 9999.5) return whole_with_spaces(size);
    if (size >= 0.995) return models::said(fmt::format("{:.1f}", size));
    // The power of ten after rounding to two digits, so that 0.0996 is "0.10" and not "0.100".
    const double rounding_up = size * (1.0 + 1e-12);
    int power = static_cast<int>(std::floor(std::log10(rounding_up)));
    if (std::round(rounding_up / std::pow(10.0, power - 1)) >= 100.0) ++power;
    return models::said(fmt::format("{:.{}f}", size, std::min(1 - power, 6)));
}

}  // namespace

std::string number_text(double value) {
    if (!std::isfinite(value)) return "–";
    const std::string size = size_text(std::abs(value));
    return value < 0.0 && size != "0" ? minus_sign + size : size;
}

std::string set_number_text(double value) {
    if (!std::isfinite(value)) return "–";
    const std::string size = models::said(fmt::format("{}", std::abs(value)));
    return value < 0.0 ? minus_sign + size : size;
}

std::string interval_text(double low, double high) {
    return spoken(words::from_to, number_text(low), number_text(high));
}

std::string percent_text(double fraction) {
    if (!std::isfinite(fraction)) return "–";
    if (fraction < 0.005) return spoken(words::under_one_percent);
    if (fraction < 0.01) return "1 %";
    if (fraction >= 0.995) return spoken(words::over_99_percent);
    return fmt::format("{:.0f} %", 100.0 * fraction);
}

std::string short_percent_text(double fraction) {
    if (std::isfinite(fraction) && fraction < 0.005) return spoken(words::under_one_percent_short);
    if (std::isfinite(fraction) && fraction >= 0.995) return spoken(words::over_99_percent_short);
    return percent_text(fraction);
}

std::string tonnes_text(double mass_t) {
    if (!std::isfinite(mass_t)) return "–";
    if (mass_t >= 99.95) return whole_with_spaces(mass_t) + " t";
    return models::said(fmt::format("{:.1f} t", mass_t));
}

std::string axis_number_text(double value, double step) {
    if (!std::isfinite(value) || !(step > 0.0)) return "–";
    int decimals = std::clamp(static_cast<int>(-std::floor(std::log10(step) + 1e-9)), 0, 9);
    const auto off_by = [step](int digits) {  // the step itself, written with so many
        const double whole = step * std::pow(10.0, digits);
        return std::abs(whole - std::round(whole)) / whole;
    };
    while (decimals < 9 && off_by(decimals) > 1e-6) ++decimals;
    std::string size = std::abs(value) >= 9999.5 && decimals == 0 ? whole_with_spaces(std::abs(value))
                                                                  : fmt::format("{:.{}f}", std::abs(value), decimals);
    const bool nil = size.find_first_not_of("0.") == std::string::npos;
    size = models::said(size);
    return value < 0.0 && !nil ? minus_sign + size : size;
}

std::string rough_text(double value) {
    if (!std::isfinite(value) || value == 0.0) return number_text(value);
    const double step = std::pow(10.0, std::floor(std::log10(std::abs(value))) - 1.0);
    const double rounded = std::round(value / step) * step;
    return std::abs(value) < 9.95 ? number_text(rounded) : fmt::format("{:.0f}", rounded);
}

}  // namespace app::drawing
