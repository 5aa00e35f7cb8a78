#include "models/assay/control_due.h"

#include <algorithm>
#include <set>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spoken.h"

namespace models {

ControlDue control_due(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                       const std::vector<ControlMaterial>& controls, const std::vector<StartedStrip>& running,
                       const std::string& kit_lot, const Stamp& now, const ControlSchedule& rule) {
    std::map<std::string, const Sample*> control_samples;
    for (const Sample& sample : samples) {
        if (sample.stage == Stage::control) control_samples[sample.sample] = &sample;
    }
    const auto of_lot = [&](const std::string& lot) { return kit_lot.empty() || lot == kit_lot; };
    for (const StartedStrip& strip : running) {
        if (of_lot(strip.kit_lot) && control_samples.count(strip.sample) != 0)
            return {false,
                    kit_lot.empty() ? phrase("control {} is running", strip.sample)
                                    : phrase("control {} is running with kit lot {}", strip.sample, kit_lot),
                    std::nullopt};
    }
    const Test* last = nullptr;
    bool today = false;
    for (const Test& test : tests) {
        if (test.method != Method::strip || test.reading == Reading::invalid || !of_lot(test.kit_lot)) continue;
        if (control_samples.count(test.sample) == 0 || test.time.utc > now.utc) continue;
        if (last == nullptr || last->time.utc <= test.time.utc) last = &test;
        today = today || test.time.local_day() == now.local_day();
    }
    if (last == nullptr) {
        return {true,
                kit_lot.empty() ? phrase("no control was read yet")
                                : phrase("no control was read with kit lot {} yet", kit_lot),
                std::nullopt};
    }
    const std::string which = phrase("control {} (test {})", last->sample, last->test);
    const auto material = std::find_if(controls.begin(), controls.end(),
                                       [&](const ControlMaterial& one) { return one.control == last->sample; });
    if (material != controls.end()) {
        const double don_mg_per_kg = on_basis_of_control(*material, *last, *control_samples.at(last->sample));
        if (reads_outside(*material, last->reading, don_mg_per_kg)) {
            return {true,
                    kit_lot.empty() ? phrase("{}, the last, reads outside the {} that is accepted", which,
                                             accepted_in_words(*material))
                                    : phrase("{}, the last with kit lot {}, reads outside the {} that is accepted",
                                             which, kit_lot, accepted_in_words(*material)),
                    std::nullopt, true};
        }
    }
    if (rule.each_day && !today) {
        return {true,
                kit_lot.empty() ? phrase("no control was read today")
                                : phrase("no control was read with kit lot {} today", kit_lot),
                std::nullopt};
    }
    const auto own = rule.every_tests_of_lot.find(kit_lot);
    const int every = own == rule.every_tests_of_lot.end() ? rule.every_tests : own->second;
    const auto is_later = [&](const Stamp& stamp) { return stamp.utc > last->time.utc; };
    int since = 0;
    for (const Test& test : tests) {
        if (test.method == Method::strip && of_lot(test.kit_lot) && is_later(test.time) && test.time.utc <= now.utc)
            since += control_samples.count(test.sample) == 0 ? 1 : 0;
    }
    for (const StartedStrip& strip : running) since += of_lot(strip.kit_lot) && is_later(strip.started) ? 1 : 0;
    const std::string strips =
        phrase("{} of grain since {}", counted(since, spoken(word("strip")), spoken(word("strips"))), which);
    if (every <= 0) return {false, strips, std::nullopt};
    if (since >= every) return {true, phrase("{}, and one is due after {}", strips, every), 0};
    return {false, strips, every - since};
}

}  // namespace models
