#include "models/assay/control_check.h"

#include <algorithm>
#include <map>

#include <fmt/format.h>

#include "models/assay/basis.h"

namespace models {

namespace control_check {

/// The reading on the basis of the bounds.
double on_basis_of(const ControlMaterial& control, const Test& test, const Sample& sample) {
    const Basis wanted = control.basis.value_or(test.basis);
    const bool needs_moisture = test.basis != wanted && (test.basis == Basis::as_is || wanted == Basis::as_is);
    if (test.basis == wanted || (needs_moisture && !sample.moisture_pct)) return test.don_mg_per_kg;
    return convert_basis(test.don_mg_per_kg, test.basis, wanted, sample.moisture_pct.value_or(0.0) / 100.0);
}

bool reads_outside(const ControlMaterial& control, const Test& test, const Sample& sample) {
    const double y = on_basis_of(control, test, sample);
    switch (test.reading) {
        case Reading::value:
            return (control.low_mg_per_kg && y < *control.low_mg_per_kg) ||
                   (control.high_mg_per_kg && y > *control.high_mg_per_kg);
        case Reading::below:
            return control.low_mg_per_kg && y <= *control.low_mg_per_kg;
        case Reading::above:
            return control.high_mg_per_kg && y >= *control.high_mg_per_kg;
        case Reading::invalid:
            return false;
    }
    return false;
}

bool share_a_run(const Test& control, const Test& other) {
    const bool lots_agree = control.kit_lot == other.kit_lot || control.kit_lot.empty() || other.kit_lot.empty();
    return lots_agree && control.method == other.method && control.time.local_day() == other.time.local_day();
}

std::string list_of_few(const std::vector<std::string>& names) {
    constexpr std::size_t named = 5;
    std::string list;
    for (std::size_t i = 0; i < names.size() && i < named; ++i) {
        const bool last = i + 1 == names.size();
        list += (i == 0 ? "" : last ? " and " : ", ") + names[i];
    }
    if (names.size() > named) list += fmt::format(" and {} more", names.size() - named);
    return list;
}

}  // namespace control_check

std::vector<FailedControl> failed_controls(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                                           const std::vector<ControlMaterial>& controls) {
    std::map<std::string, const ControlMaterial*> control_named;
    for (const ControlMaterial& control : controls) control_named[control.control] = &control;
    std::map<std::string, const Sample*> control_samples;
    for (const Sample& sample : samples) {
        if (sample.stage == Stage::control) control_samples[sample.sample] = &sample;
    }
    std::vector<FailedControl> failed;
    for (const Test& test : tests) {
        const auto sample = control_samples.find(test.sample);
        const auto control = control_named.find(test.sample);
        if (sample == control_samples.end() || control == control_named.end()) continue;
        if (!control_check::reads_outside(*control->second, test, *sample->second)) continue;
        FailedControl one{*control->second, test, {}};
        for (const Test& other : tests) {
            const bool of_grain = control_samples.count(other.sample) == 0 && other.reading != Reading::invalid;
            if (of_grain && control_check::share_a_run(test, other)) one.in_doubt.push_back(other.test);
        }
        failed.push_back(std::move(one));
    }
    std::stable_sort(failed.begin(), failed.end(),
                     [](const FailedControl& a, const FailedControl& b) { return a.test.time.utc < b.test.time.utc; });
    return failed;
}

std::string accepted_in_words(const ControlMaterial& control) {
    if (!control.high_mg_per_kg) return fmt::format("at least {}", control.low_mg_per_kg.value_or(0.0));
    if (!control.low_mg_per_kg) return fmt::format("at most {}", *control.high_mg_per_kg);
    return fmt::format("{} to {}", *control.low_mg_per_kg, *control.high_mg_per_kg);
}

std::string in_words(const FailedControl& failed) {
    const char* sign = failed.test.reading == Reading::below ? "<" : failed.test.reading == Reading::above ? ">" : "";
    const std::string& lot = failed.test.kit_lot;
    std::string text =
        fmt::format("control {} read {}{} mg/kg where {} is accepted (test {}, {}{})", failed.control.control, sign,
                    failed.test.don_mg_per_kg, accepted_in_words(failed.control), failed.test.test,
                    to_text(failed.test.time.local_day()), lot.empty() ? "" : ", kit lot " + lot);
    if (failed.in_doubt.empty()) return text + "; no result of grain shares its run";
    const std::string run = lot.empty() ? "of that day" : "of that day and kit lot";
    const bool one = failed.in_doubt.size() == 1;
    return text + fmt::format("; {} {} {} in doubt and {} as {}, nothing is left out",
                              control_check::list_of_few(failed.in_doubt), run, one ? "is" : "are",
                              one ? "counts" : "count", one ? "it is" : "they are");
}

}  // namespace models
