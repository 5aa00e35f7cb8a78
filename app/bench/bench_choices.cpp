#include "app/bench/bench_choices.h"

#include <algorithm>
#include <set>

#include "models/calendar.h"
#include "models/spoken.h"

namespace app {

namespace {

/// Names in the order in which they were used last, then those that never were.
std::vector<std::string> last_used_first(const std::vector<models::Test>& tests, std::string models::Test::*name,
                                         const std::vector<std::string>& others) {
    std::vector<std::string> names;
    const auto add = [&](const std::string& one) {
        if (!one.empty() && std::find(names.begin(), names.end(), one) == names.end()) names.push_back(one);
    };
    for (auto test = tests.rbegin(); test != tests.rend(); ++test)
        if (test->method == models::Method::strip) add((*test).*name);  // a laboratory's do not sit here
    for (const std::string& other : others) add(other);
    return names;
}

/// A control that read right since then lifts the mark.
std::map<std::string, std::string> failed_lots(const std::vector<models::Sample>& samples,
                                               const std::vector<models::Test>& tests,
                                               const std::vector<models::FailedControl>& failed) {
    std::set<std::string> controls;
    for (const models::Sample& sample : samples)
        if (sample.stage == models::Stage::control) controls.insert(sample.sample);
    std::map<std::string, const models::Test*> last;  // of a control, by kit lot
    for (const models::Test& test : tests) {
        const bool counts = test.method == models::Method::strip && test.reading != models::Reading::invalid;
        if (counts && !test.kit_lot.empty() && controls.count(test.sample) != 0) last[test.kit_lot] = &test;
    }
    std::map<std::string, std::string> marks;
    for (const models::FailedControl& one : failed) {
        const auto newest = last.find(one.test.kit_lot);
        if (newest == last.end() || newest->second->test != one.test.test) continue;
        marks[one.test.kit_lot] = models::phrase("its last control, {}, failed on {}", one.control.control,
                                                 models::to_text(one.test.time.local_day()));
    }
    return marks;
}

}  // namespace

BenchChoices choices_at_bench(const std::vector<models::KitLot>& lots, const std::vector<models::Sample>& samples,
                              const std::vector<models::Test>& tests, const std::vector<models::FailedControl>& failed,
                              models::LocalDay today, std::size_t most) {
    BenchChoices choices;
    std::vector<std::string> usable;  // a lot has a record for each grain
    for (const models::KitLot& lot : lots)
        if (!lot.expires || *lot.expires >= today) usable.push_back(lot.kit_lot);
    choices.kit_lots = last_used_first(tests, &models::Test::kit_lot, usable);
    std::erase_if(choices.kit_lots,
                  [&](const std::string& lot) { return std::find(usable.begin(), usable.end(), lot) == usable.end(); });
    choices.operators = last_used_first(tests, &models::Test::operator_name, {});
    if (choices.kit_lots.size() > most) choices.kit_lots.resize(most);
    if (choices.operators.size() > most) choices.operators.resize(most);
    choices.failed_lots = failed_lots(samples, tests, failed);

    std::set<std::string> tested;
    for (const models::Test& test : tests)
        if (test.reading != models::Reading::invalid) tested.insert(test.sample);
    for (const models::Sample& sample : samples)
        if (sample.stage != models::Stage::control && tested.count(sample.sample) == 0)
            choices.samples.push_back(sample);
    std::stable_sort(choices.samples.begin(), choices.samples.end(),
                     [](const models::Sample& a, const models::Sample& b) {
                         if (a.taken_time.has_value() != b.taken_time.has_value()) return a.taken_time.has_value();
                         return a.taken_time && a.taken_time->utc > b.taken_time->utc;
                     });
    if (choices.samples.size() > most) {
        choices.more_samples = choices.samples.size() - most;
        choices.samples.resize(most);
    }
    return choices;
}

}  // namespace app
