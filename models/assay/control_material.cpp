#include "models/assay/control_material.h"

#include <algorithm>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "models/assay/basis.h"
#include "models/spoken.h"

namespace models {

namespace control_material {

std::map<std::string, const Sample*> samples_of_controls(const std::vector<Sample>& samples) {
    std::map<std::string, const Sample*> found;
    for (const Sample& sample : samples) {
        if (sample.stage == Stage::control) found[sample.sample] = &sample;
    }
    return found;
}

std::map<std::string, const ControlMaterial*> by_name(const std::vector<ControlMaterial>& controls) {
    std::map<std::string, const ControlMaterial*> found;
    for (const ControlMaterial& control : controls) found[control.control] = &control;
    return found;
}

const char* why_not_charted(bool blank) {
    return blank ? "a blank (assigned content 0), of which there is no recovery and no scatter in per cent"
                 : "which has no assigned content, so nothing says what it should read";
}

}  // namespace control_material

double on_basis_of_control(const ControlMaterial& control, const Test& test, const Sample& sample) {
    const Basis wanted = control.basis.value_or(test.basis);
    const bool needs_moisture = test.basis != wanted && (test.basis == Basis::as_is || wanted == Basis::as_is);
    if (test.basis == wanted || (needs_moisture && !sample.moisture_pct)) return test.don_mg_per_kg;
    return convert_basis(test.don_mg_per_kg, test.basis, wanted, sample.moisture_pct.value_or(0.0) / 100.0);
}

bool reads_outside(const ControlMaterial& control, Reading reading, double don_mg_per_kg) {
    switch (reading) {
        case Reading::value:
            return (control.low_mg_per_kg && don_mg_per_kg < *control.low_mg_per_kg) ||
                   (control.high_mg_per_kg && don_mg_per_kg > *control.high_mg_per_kg);
        case Reading::below:
            return control.low_mg_per_kg && don_mg_per_kg <= *control.low_mg_per_kg;
        case Reading::above:
            return control.high_mg_per_kg && don_mg_per_kg >= *control.high_mg_per_kg;
        case Reading::invalid:
            return false;
    }
    return false;
}

std::vector<ControlSeries> control_series(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                                          const std::vector<ControlMaterial>& controls) {
    const auto control_samples = control_material::samples_of_controls(samples);
    const auto known = control_material::by_name(controls);
    std::map<std::tuple<std::string, Method, std::string>, ControlSeries> by_lot;
    for (const Test& test : tests) {
        if (test.reading == Reading::invalid) continue;
        const auto sample = control_samples.find(test.sample);
        const auto control = known.find(test.sample);
        if (sample == control_samples.end() || control == known.end()) continue;
        if (!(control->second->assigned_mg_per_kg > 0.0)) continue;
        ControlSeries& series = by_lot[{test.sample, test.method, test.kit_lot}];
        series.control = *control->second;
        series.method = test.method;
        series.kit_lot = test.kit_lot;
        Test reading = test;
        if (test.reading == Reading::value && !(test.don_mg_per_kg > 0.0)) {
            reading.reading = Reading::below;
            reading.don_mg_per_kg = test.loq_mg_per_kg.value_or(0.05);
        }
        const double don_mg_per_kg = on_basis_of_control(*control->second, reading, *sample->second);
        series.readings.push_back({std::move(reading), don_mg_per_kg});
    }
    std::vector<ControlSeries> all;
    for (auto& [key, series] : by_lot) {
        std::stable_sort(
            series.readings.begin(), series.readings.end(),
            [](const ControlReading& a, const ControlReading& b) { return a.test.time.utc < b.test.time.utc; });
        all.push_back(std::move(series));
    }
    std::stable_sort(all.begin(), all.end(), [](const ControlSeries& a, const ControlSeries& b) {
        return std::tuple(a.control.control, a.method, a.readings.front().test.time.utc) <
               std::tuple(b.control.control, b.method, b.readings.front().test.time.utc);
    });
    return all;
}

std::vector<RefusedControlTest> control_tests_refused(const std::vector<Test>& tests,
                                                      const std::vector<Sample>& samples,
                                                      const std::vector<ControlMaterial>& controls) {
    const auto control_samples = control_material::samples_of_controls(samples);
    const auto known = control_material::by_name(controls);
    std::vector<RefusedControlTest> refused;
    for (const Test& test : tests) {
        if (test.reading == Reading::invalid || control_samples.count(test.sample) == 0) continue;
        const auto control = known.find(test.sample);
        if (control != known.end() && control->second->assigned_mg_per_kg > 0.0) continue;
        const bool blank = control != known.end();
        refused.push_back({test.test, test.sample,
                           fmt::format("test {} is of control {}, {}: it is on no chart and in no recovery", test.test,
                                       test.sample, control_material::why_not_charted(blank)),
                           blank});
    }
    return refused;
}

std::vector<std::string> in_words(const std::vector<RefusedControlTest>& refused) {
    std::map<std::string, std::vector<const RefusedControlTest*>> by_control;
    for (const RefusedControlTest& one : refused) by_control[one.control].push_back(&one);
    std::vector<std::string> said;
    for (const auto& [control, tests] : by_control) {
        if (tests.size() == 1) {
            said.push_back(tests.front()->why);
            continue;
        }
        said.push_back(fmt::format("{} tests are of control {}, {}: they are on no chart and in no recovery",
                                   tests.size(), control, control_material::why_not_charted(tests.front()->blank)));
    }
    return said;
}

std::string accepted_in_words(const ControlMaterial& control) {
    if (!control.high_mg_per_kg) return phrase("at least {}", control.low_mg_per_kg.value_or(0.0));
    if (!control.low_mg_per_kg) return phrase("at most {}", *control.high_mg_per_kg);
    return phrase("{} to {}", *control.low_mg_per_kg, *control.high_mg_per_kg);
}

std::string lot_in_words(Method method, const std::string& kit_lot) {
    if (!kit_lot.empty()) return kit_lot;
    return method == Method::laboratory ? phrase("the laboratory") : phrase("no kit lot recorded");
}

}  // namespace models
