#include "app/stages/control_stage.h"

#include <algorithm>
#include <map>
#include <set>
#include <tuple>

#include <fmt/format.h>

#include "models/error.h"

namespace app {

namespace control_work {

bool is_of_season(const SeasonData& data, const ControlQuestion& question, const models::Test& test) {
    return !question.season || season_of_test(data, test) == *question.season;
}

void require_known_control(const SeasonData& data, const std::string& wanted) {
    std::vector<std::string> known;
    std::string list;
    for (const models::ControlMaterial& control : data.controls) {
        if (control.control == wanted && control.assigned_mg_per_kg > 0.0) return;
        if (control.control == wanted)
            throw models::Error("control " + wanted + " is a blank (assigned content 0), and a blank is not charted",
                                "--control", "chart a control that holds something");
        known.push_back(control.control);
        list += (list.empty() ? "" : ", ") + control.control;
    }
    const bool is_read = std::any_of(data.samples.begin(), data.samples.end(), [&](const models::Sample& sample) {
        return sample.stage == models::Stage::control && sample.sample == wanted;
    });
    const std::string mend = "lodicule add STORE controls control=" + wanted + " assigned_mg_per_kg=...";
    if (is_read) {
        throw models::Error("control " + wanted + " has no assigned content, so nothing says what it should read",
                            "--control", mend);
    }
    const std::string near = models::nearest_name(wanted, known);
    throw models::Error(
        "there is no control \"" + wanted + "\"" + (near.empty() ? "" : "; did you mean \"" + near + "\"?"),
        "--control", known.empty() ? mend : fmt::format("write one of {}; or {}", list, mend));
}

/// A season is known by its crop records, or its loads where nobody keeps any, or by a test.
void require_known_season(const SeasonData& data, int wanted) {
    std::set<int> known(data.seasons.begin(), data.seasons.end());
    for (const models::Test& test : data.tests) known.insert(season_of_test(data, test));
    if (known.count(wanted) != 0) return;
    std::string list;
    for (const int season : known) list += (list.empty() ? "" : ", ") + std::to_string(season);
    throw models::Error(fmt::format("the store has no records of season {}", wanted), "--season",
                        "it has " + (list.empty() ? "none at all" : list));
}

std::vector<double> values_of(const models::ControlSeries& series) {
    std::vector<double> contents;
    for (const models::ControlReading& reading : series.readings) {
        if (reading.test.reading == models::Reading::value) contents.push_back(reading.don_mg_per_kg);
    }
    return contents;
}

/// A control read with one kit lot after another: each with the one before.
void compare_by_controls(const std::vector<models::ControlSeries>& all, const ControlQuestion& question,
                         const std::set<std::string>& lots_of_season, std::vector<models::LotChange>& changes) {
    const models::ControlSeries* before = nullptr;
    for (const models::ControlSeries& series : all) {
        if (series.method != models::Method::strip || series.kit_lot.empty()) continue;
        if (before != nullptr && before->control.control == series.control.control &&
            lots_of_season.count(series.kit_lot) != 0) {
            changes.push_back(models::lot_change_of_control(series.control.control, before->kit_lot, series.kit_lot,
                                                            values_of(*before), values_of(series), question.lot_bound));
        }
        before = &series;
    }
}

/// Samples of grain that were read with two kit lots; of each lot a sample's first reading.
void compare_by_samples(const SeasonData& data, const ControlQuestion& question,
                        std::vector<models::LotChange>& changes) {
    std::map<std::string, std::chrono::sys_seconds> first_use;
    std::map<std::string, std::map<std::pair<std::string, models::Basis>, const models::Test*>> by_sample;
    for (const models::Test& test : data.tests) {
        if (test.method != models::Method::strip || test.kit_lot.empty()) continue;
        const auto [lot, fresh] = first_use.try_emplace(test.kit_lot, test.time.utc);
        if (!fresh) lot->second = std::min(lot->second, test.time.utc);
        if (test.reading != models::Reading::value || !(test.don_mg_per_kg > 0.0)) continue;
        const auto sample = sample_index(data, test.sample);
        if (!sample || data.samples[*sample].stage == models::Stage::control) continue;
        if (!is_of_season(data, question, test)) continue;
        const models::Test*& kept = by_sample[test.sample][{test.kit_lot, test.basis}];
        if (kept == nullptr || test.time.utc < kept->time.utc) kept = &test;
    }
    std::map<std::pair<std::string, std::string>, std::vector<models::LotPair>> pairs;
    for (const auto& [name, readings] : by_sample) {
        for (const auto& [one, first] : readings) {
            for (const auto& [other, second] : readings) {
                if (one.second != other.second) continue;
                const auto order = [&](const std::string& lot) { return std::tuple(first_use.at(lot), lot); };
                if (!(order(one.first) < order(other.first))) continue;
                pairs[{one.first, other.first}].push_back({first->don_mg_per_kg, second->don_mg_per_kg});
            }
        }
    }
    for (const auto& [lots, read] : pairs) {
        changes.push_back(models::lot_change_of_pairs(lots.first, lots.second, read, question.lot_bound));
    }
}

}  // namespace control_work

ControlView look_at_control(const SeasonData& data, const ControlQuestion& question) {
    if (!question.control.empty()) control_work::require_known_control(data, question.control);
    if (question.season) control_work::require_known_season(data, *question.season);
    const auto is_asked = [&](const std::string& control) {
        return question.control.empty() || control == question.control;
    };
    ControlView view;
    std::vector<models::ControlSeries> all = models::control_series(data.tests, data.samples, data.controls);
    std::erase_if(all, [&](const models::ControlSeries& series) { return !is_asked(series.control.control); });
    std::set<std::string> lots_of_season, tests_shown;
    for (const models::ControlSeries& series : all) {
        const bool shown = std::any_of(series.readings.begin(), series.readings.end(), [&](const auto& reading) {
            return control_work::is_of_season(data, question, reading.test);
        });
        if (!shown) continue;
        lots_of_season.insert(series.kit_lot);
        for (const models::ControlReading& reading : series.readings) tests_shown.insert(reading.test.test);
        view.charts.push_back(models::control_chart(series, question.charts));
        view.recoveries.push_back(models::recovery_of(series));
    }
    view.failed = models::failed_controls(data.tests, data.samples, data.controls, question.charts);
    std::erase_if(view.failed, [&](const models::FailedControl& one) { return tests_shown.count(one.test.test) == 0; });
    control_work::compare_by_controls(all, question, lots_of_season, view.lot_changes);
    std::vector<models::Test> of_season;
    for (const models::Test& test : data.tests) {
        if (control_work::is_of_season(data, question, test)) of_season.push_back(test);
    }
    for (models::RefusedControlTest& refused : models::control_tests_refused(of_season, data.samples, data.controls)) {
        if (is_asked(refused.control)) view.refused.push_back(std::move(refused));
    }
    if (!question.control.empty()) return view;
    control_work::compare_by_samples(data, question, view.lot_changes);
    models::DuplicatesFound found = models::duplicates_of(of_season, data.samples);
    for (const models::Duplicated what : {models::Duplicated::reading, models::Duplicated::split}) {
        view.duplicates.push_back(models::duplicate_chart(found.pairs, what, question.repeatability_cv));
    }
    view.refused_duplicates = std::move(found.refused);
    return view;
}

}  // namespace app
