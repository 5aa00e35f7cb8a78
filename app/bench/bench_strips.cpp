#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench.h"
#include "app/bench/bench_words.h"
#include "geo/tables/words.h"
#include "models/counted.h"
#include "models/spoken.h"

/// Strips: started, taken in hand, withdrawn; whose they are and with what.
namespace app {

BenchAnswer Bench::start(const std::string& wanted, bool again, const models::Stamp& now) {
    const models::Sample* sample = sample_named(wanted);
    const bool known_control = is_control(wanted);
    if (sample == nullptr && !known_control) return unknown(wanted);
    if (!again) {
        const auto running = running_of(wanted);
        if (!running.empty()) {
            BenchAnswer answer = hold(*running.front(), now);
            if (running.size() > 1) {
                std::vector<std::string> strips;
                for (const models::StartedStrip* strip : running) strips.push_back(strip->strip);
                answer.says.push_back(models::phrase("{} strips of it run, {}; type a strip's name to take that one",
                                                     running.size(), benching::listed(strips)));
            }
            return answer;
        }
        const auto is_of_it = [&](const models::Test& test) { return test.sample == wanted; };
        const auto last = std::find_if(facts_.tests.rbegin(), facts_.tests.rend(), [&](const models::Test& test) {
            return is_of_it(test) && test.reading != models::Reading::invalid;
        });
        if (last != facts_.tests.rend() && sample != nullptr && sample->stage != models::Stage::control) {
            const auto count = std::count_if(facts_.tests.begin(), facts_.tests.end(), is_of_it);
            return benching::refusal(models::phrase(
                "{} has {} already; nothing is started. `again {}` starts one more strip: every valid result counts",
                described(wanted),
                models::counted(count, models::spoken(models::word("test")), models::spoken(models::word("tests"))),
                wanted));
        }
    }
    BenchAnswer answer;
    if (sample == nullptr) {
        answer.writes.push_back({"samples", {{"sample", wanted}, {"stage", "control"}, {"kind", "composite"}}});
    }
    const std::string is_another = another_grain(wanted, kept("commodity"));
    const std::string grain = is_another.empty() ? grain_for(wanted, kept("kit_lot")) : "";
    models::StartedStrip strip{new_name(now), wanted, kept("kit_lot"), grain, std::nullopt, now, kept("operator")};
    BenchWrite write{"strips", {{"strip", strip.strip}, {"sample", wanted}, {"started", models::to_text(now)}}};
    for (const char* column : {"kit_lot", "commodity", "lot_dilution", "operator"}) {
        const std::string value = std::string(column) == "commodity" ? grain : kept(column);
        if (!value.empty()) write.values.emplace_back(column, value);
    }
    strip.lot_dilution = kept_number("lot_dilution");
    answer.writes.push_back(std::move(write));
    made_ = Made::strip;
    made_name_ = strip.strip;
    made_says_.clear();
    const models::ReadingWindow window = window_of(strip);
    made_says_.push_back(window.why_none.empty()
                             ? models::phrase("{}, strip {}: its clock runs from {}; read it at {}", described(wanted),
                                              strip.strip, benching::clock_time(now), models::in_words(window))
                             : models::phrase("{}, strip {}: its clock runs from {}", described(wanted), strip.strip,
                                              benching::clock_time(now)));
    if (!window.why_none.empty())
        made_says_.push_back(models::phrase("nothing says when it may be read: {}", window.why_none));
    if (!is_another.empty()) {
        made_says_.push_back(
            models::phrase("{}, and the grain in use is {}: the strip is started without one, and its "
                           "result is taken when the grain is said right (grain {})",
                           is_another, benching::grain_in_words(kept("commodity")),
                           benching::lower(benching::grain_in_words(facts_.load_grain.at(wanted).second))));
    }
    for (std::string& sentence : about_kit_lot(now, wanted)) made_says_.push_back(std::move(sentence));
    if (sample != nullptr && sample->taken_time && sample->taken_time->utc > now.utc) {
        made_says_.push_back(
            models::phrase("the sample was taken at {}, which is still to come: one of the two clocks "
                           "is wrong",
                           models::to_text(*sample->taken_time)));
    } else if (std::string doubt = start_in_doubt(wanted, now); !doubt.empty()) {
        made_says_.push_back(std::move(doubt));
    }
    const bool of_control = known_control || (sample != nullptr && sample->stage == models::Stage::control);
    if (!of_control) {
        for (std::string& sentence : control_news(now)) made_says_.push_back(std::move(sentence));
    }
    return answer;
}

BenchAnswer Bench::hold(const models::StartedStrip& strip, const models::Stamp& now) {
    in_hand_ = strip.strip;
    const models::ReadingWindow window = window_of(strip);
    const models::StripClock clock = models::clock_of(strip, window, now.utc);
    BenchAnswer answer;
    answer.says.push_back(models::phrase("in hand: {}, strip {}, {}; nothing new is started", described(strip.sample),
                                         strip.strip, models::in_words(clock, window)));
    return answer;
}

BenchAnswer Bench::mistake(const std::string& reason) {
    const models::StartedStrip* strip = running_named(in_hand_);
    if (strip == nullptr)
        return benching::refusal(
            models::phrase("no strip is in hand: scan its sample, or type the strip's name, first"));
    if (reason.empty())
        return benching::refusal(models::phrase("write why, in a few words: mistake wrong sample scanned"));
    BenchAnswer answer;
    answer.writes.push_back({"strips", {{"strip", strip->strip}}, "started by mistake: " + reason});
    made_ = Made::withdrawal;
    made_name_ = strip->strip;
    made_says_ = {
        models::phrase("strip {} of {} is withdrawn: started by mistake: {}", strip->strip, strip->sample, reason)};
    return answer;
}

const models::StartedStrip* Bench::running_named(const std::string& name) const {
    for (const models::StartedStrip& strip : facts_.running) {
        if (strip.strip == name) return &strip;
    }
    return nullptr;
}

std::vector<const models::StartedStrip*> Bench::running_of(const std::string& sample) const {
    std::vector<const models::StartedStrip*> found;
    for (const models::StartedStrip& strip : facts_.running) {
        if (strip.sample == sample) found.push_back(&strip);
    }
    return found;
}

std::string Bench::new_name(const models::Stamp& now) const {
    const std::string day = models::to_text(now.local_day());
    for (int number = 1;; ++number) {
        const std::string name =
            fmt::format("B{}{}{}-{:02}", day.substr(2, 2), day.substr(5, 2), day.substr(8, 2), number);
        if (facts_.names.count(name) == 0) return name;
    }
}

std::string Bench::start_in_doubt(const std::string& sample, const models::Stamp& started) const {
    const auto grain = facts_.there.find(sample);
    return grain == facts_.there.end() ? "" : models::why_start_is_in_doubt(started, grain->second);
}

std::string Bench::another_grain(const std::string& sample, const std::string& grain) const {
    const auto load = facts_.load_grain.find(sample);
    if (load == facts_.load_grain.end()) return "";
    const auto& [name, is] = load->second;
    const std::string said = benching::lower(grain);
    const auto& crops = geo::words::of<models::Crop>();
    if (said == is || std::find(crops.begin(), crops.end(), said) == crops.end()) return "";  // a lot's own words
    const auto is_a_wheat = [](const std::string& crop) { return crop == "wheat" || crop == "durum"; };
    if (is_a_wheat(said) && is_a_wheat(is)) return "";  // strips for wheat are used for both
    return models::phrase("the load is {} ({})", benching::grain_in_words(is), name);
}

std::string Bench::lot_of(const models::StartedStrip& strip) const {
    const bool known = lot_named(strip.kit_lot) != nullptr || kept("kit_lot").empty();
    return known ? strip.kit_lot : kept("kit_lot");
}

std::string Bench::grain_of(const models::StartedStrip& strip) const {
    const bool stands = !strip.commodity.empty() && another_grain(strip.sample, strip.commodity).empty();
    return stands ? strip.commodity : grain_for(strip.sample, lot_of(strip));
}

std::string Bench::grain_for(const std::string& sample, const std::string& kit_lot) const {
    const auto known = facts_.grain.find(sample);
    if (!kept("commodity").empty() || known == facts_.grain.end()) return kept("commodity");
    const auto is_made_for = [&](const std::string& grain) {
        return std::any_of(facts_.kit_lots.begin(), facts_.kit_lots.end(), [&](const models::KitLot& lot) {
            return lot.kit_lot == kit_lot && benching::lower(lot.commodity) == grain;
        });
    };
    if (kit_lot.empty() || is_made_for(known->second)) return known->second;
    // Strips for wheat are used for durum, too, and the other way round.
    for (const char* one : {"wheat", "durum"}) {
        const char* other = std::string(one) == "wheat" ? "durum" : "wheat";
        if (known->second == one && is_made_for(other)) return other;
    }
    return "";
}

models::ReadingWindow Bench::window_of(const models::StartedStrip& strip) const {
    std::string grain = grain_of(strip);
    if (!another_grain(strip.sample, grain).empty()) grain = facts_.load_grain.at(strip.sample).second;
    return models::reading_window(facts_.kit_lots, lot_of(strip), grain, strip.lot_dilution);
}

}  // namespace app
