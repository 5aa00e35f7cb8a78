#include "models/assay/strip_clock.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include <fmt/format.h>

#include "models/spoken.h"

namespace models {

namespace strip_clock {

bool same_word(const std::string& a, const std::string& b) {
    return std::equal(a.begin(), a.end(), b.begin(), b.end(),
                      [](unsigned char one, unsigned char other) { return std::tolower(one) == std::tolower(other); });
}

}  // namespace strip_clock

ReadingWindow reading_window(const std::vector<KitLot>& lots, const std::string& kit_lot, const std::string& commodity,
                             std::optional<double> dilution) {
    if (kit_lot.empty()) return {std::nullopt, std::nullopt, phrase("no kit lot is said")};
    const ChosenKitLot chosen = choose_kit_lot(lots, kit_lot, commodity, dilution);
    const KitLot* lot = chosen.lot;
    if (lot == nullptr) {  // several fit: what all of them ask for
        for (const KitLot& one : lots) {
            if (one.kit_lot != kit_lot) continue;
            if (!commodity.empty() && !strip_clock::same_word(one.commodity, commodity)) continue;
            if (dilution && one.dilution != *dilution) continue;
            if (lot != nullptr && (lot->incubation_least_s != one.incubation_least_s ||
                                   lot->incubation_most_s != one.incubation_most_s)) {
                return {std::nullopt, std::nullopt, phrase("{}, each with another time", chosen.why_none)};
            }
            lot = &one;
        }
    }
    if (lot == nullptr) return {std::nullopt, std::nullopt, chosen.why_none};
    ReadingWindow window;
    const auto whole = [](double seconds) { return std::chrono::seconds(static_cast<long long>(seconds)); };
    if (lot->incubation_least_s) window.least = whole(std::ceil(*lot->incubation_least_s));
    if (lot->incubation_most_s) window.most = whole(std::floor(*lot->incubation_most_s));
    if (!window.least && !window.most)
        window.why_none = phrase("kit lot {} does not say how long a strip runs", kit_lot);
    return window;
}

StripClock clock_of(const StartedStrip& strip, const ReadingWindow& window, std::chrono::sys_seconds now) {
    StripClock clock;
    clock.ran = now - strip.started.utc;
    if (clock.ran < std::chrono::seconds(0)) {
        clock.state = ClockState::before_start;
    } else if (window.least && clock.ran < *window.least) {
        clock.state = ClockState::waiting;
        clock.left = *window.least - clock.ran;
    } else if (window.most && clock.ran > *window.most) {
        clock.state = ClockState::late;
    } else if (window.least || window.most) {
        clock.state = ClockState::readable;
        if (window.most) clock.left = *window.most - clock.ran;
    }
    return clock;
}

std::string minutes_text(std::chrono::seconds time) {
    const long long all = std::abs(static_cast<long long>(time.count()));
    const char* sign = time.count() < 0 ? "-" : "";
    if (all < 3600) return fmt::format("{}{}:{:02}", sign, all / 60, all % 60);
    return fmt::format("{}{}:{:02}:{:02}", sign, all / 3600, all / 60 % 60, all % 60);
}

std::string in_words(const ReadingWindow& window) {
    if (window.least && window.most) return phrase("{} to {}", minutes_text(*window.least), minutes_text(*window.most));
    if (window.least) return phrase("from {} on", minutes_text(*window.least));
    return window.most ? phrase("up to {}", minutes_text(*window.most)) : "";
}

std::string in_words(const StripClock& clock, const ReadingWindow& window) {
    switch (clock.state) {
        case ClockState::waiting:
            return phrase("{} left", minutes_text(*clock.left));
        case ClockState::readable:
            return clock.left ? phrase("read now, {} left", minutes_text(*clock.left)) : phrase("read now");
        case ClockState::late:
            return phrase("too late by {}", minutes_text(clock.ran - *window.most));
        case ClockState::before_start:
            return phrase("started later than now: check the clock");
        case ClockState::no_bounds:
            break;
    }
    return phrase("ran {}", minutes_text(clock.ran));
}

}  // namespace models
