#include "app/spoken_dates.h"

#include <cctype>

#include <fmt/format.h>

#include "models/calendar.h"

namespace app {

std::string with_spoken_dates(const std::string& sentence) {
    constexpr std::size_t length = 10;
    const auto is_digit = [&](std::size_t at) {
        return at < sentence.size() && std::isdigit(static_cast<unsigned char>(sentence[at])) != 0;
    };
    std::string spoken;
    for (std::size_t at = 0; at < sentence.size();) {
        const bool begins = is_digit(at) && (at == 0 || (!is_digit(at - 1) && sentence[at - 1] != '-'));
        const bool ends = !is_digit(at + length) && (at + length >= sentence.size() || sentence[at + length] != '-');
        const auto day = begins && ends ? models::parse_day(sentence.substr(at, length)) : std::nullopt;
        if (!day) {
            spoken += sentence[at++];
            continue;
        }
        const int year = static_cast<int>(std::chrono::year_month_day(*day).year());
        spoken += fmt::format("{} {}", models::to_short_text(*day), year);
        at += length;
    }
    return spoken;
}

}  // namespace app
