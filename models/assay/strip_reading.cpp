#include "models/assay/strip_reading.h"

#include <algorithm>
#include <cctype>
#include <cmath>
#include <set>

#include <fmt/format.h>

#include "models/error.h"
#include "models/spoken.h"

namespace models {

namespace strip_reading {

std::string lower(std::string text) {
    std::transform(text.begin(), text.end(), text.begin(),
                   [](unsigned char letter) { return static_cast<char>(std::tolower(letter)); });
    return text;
}

std::string joined_words(const std::set<std::string>& words) {
    std::string list;
    std::size_t place = 0;
    for (const std::string& word : words) {
        list += (place == 0 ? std::string() : place + 1 == words.size() ? phrase(" and ") : std::string(", ")) + word;
        ++place;
    }
    return list;
}

std::string bounds_in_words(const std::optional<double>& least, const std::optional<double>& most,
                            const std::string& unit) {
    if (least && most) return phrase("{:.6g} to {:.6g} {}", *least, *most, unit);
    return least ? phrase("at least {:.6g} {}", *least, unit) : phrase("at most {:.6g} {}", *most, unit);
}

/// What lies outside the bounds that the lot's strips are run within; empty where nothing does.
std::string run_outside_bounds(const RecordedTest& recorded, const KitLot& lot) {
    const auto outside = [](const std::optional<double>& is, const std::optional<double>& least,
                            const std::optional<double>& most) {
        return is && ((least && *is < *least) || (most && *is > *most));
    };
    std::string words;
    if (outside(recorded.incubation_s, lot.incubation_least_s, lot.incubation_most_s)) {
        words = phrase("the strip was incubated {:.6g} s, and kit lot {} asks for {}", *recorded.incubation_s,
                       lot.kit_lot, bounds_in_words(lot.incubation_least_s, lot.incubation_most_s, "s"));
    }
    if (outside(recorded.temperature_degc, lot.temperature_least_degc, lot.temperature_most_degc)) {
        words += (words.empty() ? "" : "; ") +
                 phrase("the strip was run at {:.6g} degC, and kit lot {} asks for {}", *recorded.temperature_degc,
                        lot.kit_lot, bounds_in_words(lot.temperature_least_degc, lot.temperature_most_degc, "degC"));
    }
    return words;
}

/// Why the control line does not vouch for the strip; empty where it does, or nothing is recorded of it.
std::string weak_control(const RecordedTest& recorded, const KitLot* lot) {
    if (!recorded.control_signal) return "";
    if (!(*recorded.control_signal > 0.0)) return phrase("no control line: its signal is 0");
    if (lot == nullptr || !lot->minimum_control_signal || *recorded.control_signal >= *lot->minimum_control_signal)
        return "";
    return phrase("the control line is too weak: its signal is {:.6g}, and kit lot {} asks for {:.6g}",
                  *recorded.control_signal, lot->kit_lot, *lot->minimum_control_signal);
}

/// Why the reader's numbers are none; empty where they are, or the lot does not say where the reader ends.
std::string saturated(const RecordedTest& recorded, const KitLot* lot) {
    if (lot == nullptr || !lot->maximum_signal) return "";
    const double most = std::max(recorded.test_signal.value_or(0.0), recorded.control_signal.value_or(0.0));
    if (most < *lot->maximum_signal) return "";
    return phrase("a line at {:.6g} is beyond what the reader can tell, which ends at {:.6g}", most,
                  *lot->maximum_signal);
}

void flag_odd_signals(StripReading& reading, const RecordedTest& recorded, const KitLot* lot) {
    if (recorded.test_signal && *recorded.test_signal == 0.0) {
        reading.flags.push_back(
            {StripConcern::signals, phrase("there is no test line at all: grain far over the range shows none, and a "
                                           "strip that stayed dry shows none either")});
    }
    const bool alike = recorded.test_signal && recorded.control_signal && *recorded.test_signal > 0.0 &&
                       *recorded.test_signal == *recorded.control_signal;
    if (alike && (lot == nullptr || !lot->maximum_signal)) {
        reading.flags.push_back(
            {StripConcern::signals,
             phrase("both lines read {:.6g}, as they do where a reader is at its end; the kit lot does not say "
                    "where that is (maximum_signal)",
                    *recorded.test_signal)});
    }
}

StripReading made_void(StripReading reading, std::string reason) {
    reading.test.reading = Reading::invalid;
    reading.test.don_mg_per_kg = 0.0;
    reading.test.void_reason = std::move(reason);
    reading.voided = true;
    reading.variance.reset();
    return reading;
}

/// Signals through the curve.
/// @throws Error  they give no content
ReadContent by_the_curve(const RecordedTest& recorded, const KitLot& lot) {
    if (!lot.curve) {
        throw Error(lot.why_no_curve.empty() ? phrase("kit lot {} has no curve for {}", lot.kit_lot, lot.commodity)
                                             : lot.why_no_curve);
    }
    if (!recorded.test_signal) throw Error(phrase("the test line's signal is not recorded"));
    const bool over_control = lot.signal == SignalKind::test_over_control;
    if (!recorded.control_signal && (over_control || lot.minimum_control_signal)) {
        throw Error(over_control
                        ? phrase("the control line's signal is not recorded, and the curve of kit lot {} is of "
                                 "test over control",
                                 lot.kit_lot)
                        : phrase("the control line's signal is not recorded, and kit lot {} asks for {:.6g}",
                                 lot.kit_lot, *lot.minimum_control_signal));
    }
    const double signal = over_control ? *recorded.test_signal / *recorded.control_signal : *recorded.test_signal;
    return read_signal(*lot.curve, signal, lot.range, recorded.test.extra_dilution);
}

/// A number that was reported outside the range becomes what a strip tells there.
void keep_to_the_range(StripReading& reading, const KitLot& lot) {
    Test& test = reading.test;
    const WorkingRange ends = lot.range.thinned(test.extra_dilution);
    const Reading reported = test.reading;
    const double content = test.don_mg_per_kg;
    const bool too_low = reported != Reading::above && content < ends.low_mg_per_kg;
    const bool too_high = reported != Reading::below && content > ends.high_mg_per_kg;
    if (!too_low && !too_high) return;
    test.reading = too_low ? Reading::below : Reading::above;
    test.don_mg_per_kg = too_low ? ends.low_mg_per_kg : ends.high_mg_per_kg;
    const char sign = too_low ? '<' : '>';
    const std::string before = reported == Reading::value ? "" : std::string(1, sign);
    reading.flags.push_back(
        {StripConcern::range,
         too_low ? phrase("{}{:.6g} mg/kg was reported, and the range of kit lot {} begins at {:.6g} mg/kg: it counts "
                          "as {}{:.6g}",
                          before, content, lot.kit_lot, test.don_mg_per_kg, sign, test.don_mg_per_kg)
                 : phrase("{}{:.6g} mg/kg was reported, and the range of kit lot {} ends at {:.6g} mg/kg: it counts as "
                          "{}{:.6g}",
                          before, content, lot.kit_lot, test.don_mg_per_kg, sign, test.don_mg_per_kg)});
}

/// The slip that would make such a quotient, where one of two would: a dilution left out, or applied twice.
std::string likely_slip(double log_apart, const ReadContent& own, const RecordedTest& recorded, const KitLot& lot) {
    constexpr double near = 0.1;  // of the logarithm
    if (own.reading != Reading::value) return "";
    const double extra = recorded.test.extra_dilution;
    if (extra > 1.0 && std::abs(log_apart - std::log(extra)) < near)
        return phrase("; it looks as if the extra dilution of {:.6g} was left out of what was reported", extra);
    if (lot.dilution > 1.0 && std::abs(log_apart + std::log(lot.dilution)) < near)
        return phrase("; it looks as if the lot's own dilution of {:.6g}, which its curve has in it, was applied again",
                      lot.dilution);
    return "";
}

/// The strip's own signals against what was reported of it.
void compare_with_signals(StripReading& reading, const RecordedTest& recorded, const KitLot& lot) {
    constexpr double fifth = 0.2;
    if (!recorded.test_signal || !lot.curve || recorded.test.reading != Reading::value) return;
    try {
        const ReadContent own = by_the_curve(recorded, lot);
        const double apart = std::log(own.don_mg_per_kg / recorded.test.don_mg_per_kg);
        if (own.reading == Reading::value) reading.variance = own.variance;
        // An end of the range is contradicted only from its own side.
        const bool contradicts = own.reading == Reading::value   ? std::abs(apart) > std::log(1.0 + fifth)
                                 : own.reading == Reading::above ? apart > std::log(1.0 + fifth)
                                                                 : apart < -std::log(1.0 + fifth);
        if (!contradicts) return;
        reading.by_signals = own;
        const std::string number = own.reading == Reading::above   ? phrase("over {:.4g}", own.don_mg_per_kg)
                                   : own.reading == Reading::below ? phrase("under {:.4g}", own.don_mg_per_kg)
                                                                   : fmt::format("{:.4g}", own.don_mg_per_kg);
        reading.flags.push_back(
            {StripConcern::signals,
             phrase("{:.6g} mg/kg was reported, and the strip's signals give {} mg/kg by the curve of kit lot {}{}",
                    recorded.test.don_mg_per_kg, number, lot.kit_lot, likely_slip(apart, own, recorded, lot))});
    } catch (const Error& error) {
        reading.flags.push_back(
            {StripConcern::signals,
             phrase("the strip's signals do not bear out what was reported: {}", error.what_happened())});
    }
}

}  // namespace strip_reading

ChosenKitLot choose_kit_lot(const std::vector<KitLot>& lots, const std::string& kit_lot, const std::string& commodity,
                            std::optional<double> dilution) {
    std::set<std::string> grains, dilutions;
    std::vector<const KitLot*> fitting;
    bool numbered = false, for_grain = false;
    for (const KitLot& lot : lots) {
        if (lot.kit_lot != kit_lot) continue;
        numbered = true;
        grains.insert(lot.commodity);
        if (!commodity.empty() && strip_reading::lower(lot.commodity) != strip_reading::lower(commodity)) continue;
        for_grain = true;
        dilutions.insert(fmt::format("{:.6g}", lot.dilution));
        if (dilution && lot.dilution != *dilution) continue;
        fitting.push_back(&lot);
    }
    if (fitting.size() == 1) return {fitting.front(), ""};
    if (!numbered) return {nullptr, phrase("kit lot {} is not in the store", kit_lot)};
    if (!for_grain) {
        return {nullptr, phrase("kit lot {} is not made for {}, only for {}", kit_lot, commodity,
                                strip_reading::joined_words(grains))};
    }
    if (fitting.empty()) {
        return {nullptr, phrase("kit lot {} has no dilution of {:.6g}, only {}", kit_lot, *dilution,
                                strip_reading::joined_words(dilutions))};
    }
    if (grains.size() > 1 && commodity.empty()) {
        return {nullptr, phrase("no grain is named, and kit lot {} is made for {}", kit_lot,
                                strip_reading::joined_words(grains))};
    }
    return {nullptr,
            phrase("no dilution is named, and kit lot {} has {}", kit_lot, strip_reading::joined_words(dilutions))};
}

std::string in_words(const StripReading& reading) {
    const Test& test = reading.test;
    if (test.reading == Reading::invalid) return phrase("test {} is void: {}", test.test, test.void_reason);
    const char* sign = test.reading == Reading::below ? "<" : test.reading == Reading::above ? ">" : "";
    return reading.by_curve ? phrase("test {} reads {}{:.3g} mg/kg by the curve of kit lot {}", test.test, sign,
                                     test.don_mg_per_kg, test.kit_lot)
                            : phrase("test {} reads {}{:.3g} mg/kg", test.test, sign, test.don_mg_per_kg);
}

StripReading read_strip(const RecordedTest& recorded, const std::vector<KitLot>& lots) {
    StripReading reading;
    reading.test = recorded.test;
    if (recorded.test.method == Method::laboratory && !recorded.only_signals) return reading;
    if (recorded.test.reading == Reading::invalid && !recorded.only_signals) return reading;
    const std::string& name = recorded.test.kit_lot;
    const ChosenKitLot chosen =
        name.empty() ? ChosenKitLot{} : choose_kit_lot(lots, name, recorded.test.commodity, recorded.dilution);
    if (std::string weak = strip_reading::weak_control(recorded, chosen.lot); !weak.empty())
        return strip_reading::made_void(std::move(reading), std::move(weak));
    if (std::string beyond = strip_reading::saturated(recorded, chosen.lot); !beyond.empty())
        return strip_reading::made_void(std::move(reading), std::move(beyond));
    if (chosen.lot == nullptr) {
        if (recorded.only_signals) {
            return strip_reading::made_void(
                std::move(reading), name.empty()
                                        ? phrase("its signals have no kit lot whose curve they could be read from")
                                        : phrase("{}, so its signals cannot be read", chosen.why_none));
        }
        const bool is_there =
            std::any_of(lots.begin(), lots.end(), [&](const KitLot& lot) { return lot.kit_lot == name; });
        if (is_there)
            reading.flags.push_back(
                {StripConcern::lot, phrase("{}, so nothing says what range it has", chosen.why_none)});
        return reading;
    }
    const KitLot& lot = *chosen.lot;
    strip_reading::flag_odd_signals(reading, recorded, &lot);
    const std::string bounds = strip_reading::run_outside_bounds(recorded, lot);
    if (recorded.only_signals) {
        if (!bounds.empty()) return strip_reading::made_void(std::move(reading), bounds);
        try {
            const ReadContent read = strip_reading::by_the_curve(recorded, lot);
            reading.by_curve = true;
            reading.test.reading = read.reading;
            reading.test.don_mg_per_kg = read.don_mg_per_kg;
            reading.test.void_reason.clear();
            reading.variance = read.variance;
        } catch (const Error& error) {
            return strip_reading::made_void(std::move(reading), error.what_happened());
        }
    } else {
        if (!bounds.empty()) reading.flags.push_back({StripConcern::run, bounds});
        strip_reading::compare_with_signals(reading, recorded, lot);
        strip_reading::keep_to_the_range(reading, lot);
        if (reading.test.reading != Reading::value) reading.variance.reset();
    }
    if (lot.expires && *lot.expires < recorded.test.time.local_day()) {
        reading.flags.push_back(
            {StripConcern::expired, phrase("kit lot {} was good until {}, and the strip was read on {}", lot.kit_lot,
                                           to_text(*lot.expires), to_text(recorded.test.time.local_day()))});
    }
    return reading;
}

}  // namespace models
