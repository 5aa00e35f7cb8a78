#include "models/assay/control_check.h"

#include <algorithm>
#include <map>
#include <set>
#include <utility>

#include <fmt/format.h>

#include "models/counted.h"
#include "models/spoken.h"

namespace models {

namespace control_check {

bool share_a_run(const Test& control, const Test& other) {
    const bool lots_agree = control.kit_lot == other.kit_lot || control.kit_lot.empty() || other.kit_lot.empty();
    return lots_agree && control.method == other.method && control.time.local_day() == other.time.local_day();
}

std::string list_of_few(const std::vector<std::string>& names) {
    constexpr std::size_t named = 5;
    std::string list;
    for (std::size_t i = 0; i < names.size() && i < named; ++i) {
        const bool last = i + 1 == names.size();
        list += (i == 0 ? std::string() : last ? phrase(" and ") : std::string(", ")) + names[i];
    }
    if (names.size() > named) list += phrase(" and {} more", names.size() - named);
    return list;
}

std::map<std::string, std::vector<std::string>> rules_broken_by_test(const std::vector<ControlSeries>& all,
                                                                     const ChartSettings& settings) {
    std::map<std::string, std::vector<std::string>> broken;
    for (const ControlSeries& series : all) {
        for (const ChartPoint& point : control_chart(series, settings).points) {
            for (const ControlRule rule : point.broken) {
                broken[point.tests.back()].push_back(in_words(rule, settings.rules));
            }
            if (!point.broken.empty() && point.tests.size() > 1) {
                broken[point.tests.back()].back() += phrase(", as the mean of the run's {} readings, {} mg/kg",
                                                            point.tests.size(), limit_in_words(point.don_mg_per_kg));
            }
            if (point.by_later_limits) {
                broken[point.tests.back()].back() +=
                    phrase(", by limits set after it was read; by those of its day it broke none");
            }
        }
    }
    return broken;
}

std::string rules_in_words(const FailedControl& failed) {
    std::string rules;
    for (std::size_t i = 0; i < failed.broken_rules.size(); ++i) {
        const bool last = i + 1 == failed.broken_rules.size();
        rules += (i == 0 ? std::string() : last ? phrase(" and ") : std::string(", ")) + failed.broken_rules[i];
    }
    return failed.broken_rules.size() == 1 ? phrase("breaks a rule of its chart: {}", rules)
                                           : phrase("breaks rules of its chart: {}", rules);
}

}  // namespace control_check

std::vector<FailedControl> failed_controls(const std::vector<Test>& tests, const std::vector<Sample>& samples,
                                           const std::vector<ControlMaterial>& controls, const ChartSettings& charts) {
    std::map<std::string, const ControlMaterial*> control_named;
    for (const ControlMaterial& control : controls) control_named[control.control] = &control;
    std::map<std::string, const Sample*> control_samples;
    for (const Sample& sample : samples) {
        if (sample.stage == Stage::control) control_samples[sample.sample] = &sample;
    }
    const auto rules_broken = control_check::rules_broken_by_test(control_series(tests, samples, controls), charts);
    std::vector<FailedControl> failed;
    for (const Test& test : tests) {
        const auto sample = control_samples.find(test.sample);
        const auto control = control_named.find(test.sample);
        if (sample == control_samples.end() || control == control_named.end()) continue;
        const double don_mg_per_kg = on_basis_of_control(*control->second, test, *sample->second);
        FailedControl one{*control->second, test, {}, reads_outside(*control->second, test.reading, don_mg_per_kg), {}};
        const auto broken = rules_broken.find(test.test);
        if (broken != rules_broken.end()) one.broken_rules = broken->second;
        if (!one.outside_bounds && one.broken_rules.empty()) continue;
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

std::string failure_in_words(const FailedControl& failed) {
    std::string text;
    if (failed.outside_bounds) text = phrase("outside the {} that is accepted", accepted_in_words(failed.control));
    if (!failed.broken_rules.empty()) text += (text.empty() ? "" : "; ") + control_check::rules_in_words(failed);
    return text;
}

std::string in_words(const FailedControl& failed) {
    const char* sign = failed.test.reading == Reading::below ? "<" : failed.test.reading == Reading::above ? ">" : "";
    const std::string& lot = failed.test.kit_lot;
    std::string text =
        failed.outside_bounds
            ? phrase("control {} read {}{} mg/kg where {} is accepted", failed.control.control, sign,
                     failed.test.don_mg_per_kg, accepted_in_words(failed.control))
            : phrase("control {} read {}{} mg/kg", failed.control.control, sign, failed.test.don_mg_per_kg);
    if (!failed.broken_rules.empty()) text += phrase(" and ") + control_check::rules_in_words(failed);
    const std::string day = to_text(failed.test.time.local_day());
    text += lot.empty() ? phrase(" (test {}, {})", failed.test.test, day)
                        : phrase(" (test {}, {}, kit lot {})", failed.test.test, day, lot);
    if (failed.in_doubt.empty()) return text + phrase("; no result of grain shares its run");
    const std::string list = control_check::list_of_few(failed.in_doubt);
    if (failed.in_doubt.size() == 1)
        return text + (lot.empty()
                           ? phrase("; {} of that day is in doubt and counts as it is, nothing is left out", list)
                           : phrase("; {} of that day and kit lot is in doubt and counts as it is, nothing is "
                                    "left out",
                                    list));
    return text + (lot.empty()
                       ? phrase("; {} of that day are in doubt and count as they are, nothing is left out", list)
                       : phrase("; {} of that day and kit lot are in doubt and count as they are, nothing is "
                                "left out",
                                list));
}

std::vector<std::string> in_short(const std::vector<FailedControl>& failed) {
    std::map<std::pair<std::string, std::string>, std::vector<const FailedControl*>> runs;  // by day and kit lot
    long long without_grain = 0;
    for (const FailedControl& one : failed) {
        if (one.in_doubt.empty())
            ++without_grain;
        else
            runs[{to_text(one.test.time.local_day()), one.test.kit_lot}].push_back(&one);
    }
    std::vector<std::string> sentences;
    for (const auto& [run, controls] : runs) {
        std::set<std::string> in_doubt;  // a control that names no kit lot casts doubt on those of every lot
        std::map<std::string, std::vector<std::string>> tests;
        for (const FailedControl* one : controls) {
            in_doubt.insert(one->in_doubt.begin(), one->in_doubt.end());
            tests[one->control.control].push_back(one->test.test);
        }
        std::string by;
        for (const auto& [control, names] : tests)
            by += fmt::format("{}{} ({} {})", by.empty() ? "" : " and ", control,
                              by_number(static_cast<long long>(names.size()), "test", "tests"),
                              control_check::list_of_few(names));
        const auto number = static_cast<long long>(in_doubt.size());
        sentences.push_back(fmt::format("{} of {}{} {} in doubt by {} {} and {}, nothing is left out",
                                        control_check::list_of_few({in_doubt.begin(), in_doubt.end()}), run.first,
                                        run.second.empty() ? "" : " and kit lot " + run.second,
                                        by_number(number, "is", "are"),
                                        by_number(static_cast<long long>(tests.size()), "control", "controls"), by,
                                        by_number(number, "counts as it is", "count as they are")));
    }
    if (without_grain > 0)
        sentences.push_back(fmt::format("{}{} of controls failed in runs that hold no result of grain", without_grain,
                                        sentences.empty()
                                            ? by_number(without_grain, " reading", " readings")
                                            : by_number(without_grain, " more reading", " more readings")));
    return sentences;
}

}  // namespace models
