#include "models/assay/strip_clock.h"

#include <algorithm>
#include <cctype>
#include <cmath>

#include <fmt/format.h>

#include "models/calendar.h"
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

std::map<std::string, GrainThere> grain_there(const std::vector<Sample>& samples, const std::vector<Load>& loads) {
    std::map<std::string, const Sample*> by_name;
    for (const Sample& sample : samples) by_name[sample.sample] = &sample;
    std::map<std::string, Stamp> came;
    for (const Load& load : loads) came[load.load] = load.time;
    std::map<std::string, GrainThere> all;
    for (const Sample& sample : samples) {
        GrainThere& grain = all[sample.sample];
        grain.sample = sample.sample;
        const Sample* speaks = &sample;
        // A record may have been typed in a circle; nobody splits a sample eight times.
        for (int split = 0; split < 8; ++split) {
            if (!grain.taken) grain.taken = speaks->taken_time;
            if (grain.load.empty()) grain.load = speaks->load;
            const auto parent = by_name.find(speaks->parent);
            if (parent == by_name.end()) break;
            speaks = parent->second;
        }
        if (const auto load = came.find(grain.load); load != came.end()) grain.came = load->second;
    }
    return all;
}

std::string why_start_is_in_doubt(const Stamp& started, const GrainThere& grain) {
    const auto too_soon = [&](const Stamp& there) { return started.utc + written_to_the_minute < there.utc; };
    if (grain.taken) {
        if (!too_soon(*grain.taken)) return "";
        return phrase(
            "the strip would have been started at {}, and its sample {} was taken only at {}: it did not run so "
            "long, or one of the clocks is wrong",
            to_text(started), grain.sample, to_text(*grain.taken));
    }
    if (!grain.came || !too_soon(*grain.came)) return "";
    return phrase(
        "the strip would have been started at {}, and load {}, of which its sample {} is, came only at {}: it did not "
        "run so long, or one of the clocks is wrong",
        to_text(started), grain.load, grain.sample, to_text(*grain.came));
}

}  // namespace models
