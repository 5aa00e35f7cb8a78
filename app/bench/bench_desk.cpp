#include "app/bench/bench_desk.h"

#include <algorithm>
#include <ctime>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "app/bench/bench_words.h"
#include "app/result_words.h"
#include "app/stages/results_stage.h"
#include "app/stages/season_data.h"
#include "app/table_text.h"
#include "geo/check.h"
#include "geo/import.h"
#include "geo/store/started_strips.h"
#include "geo/store/store.h"
#include "models/error.h"

namespace app {

namespace {

/// A control has no budget: it is held against what it accepts.
BenchResult result_of_control(const SeasonData& data, const models::Test& test,
                              const std::vector<models::FailedControl>& failed) {
    BenchResult result{test.test, test.sample, "control", test.time, reads_cell(test.reading, test.don_mg_per_kg),
                       "",        {}};
    if (test.reading == models::Reading::invalid) result.flags.push_back("void: " + test.void_reason);
    if (const auto strip = data.strips.find(test.test); strip != data.strips.end()) {
        for (const models::StripFlag& flag : strip->second.flags) result.flags.push_back(flag.sentence);
    }
    for (const models::FailedControl& one : failed) {
        if (one.test.test == test.test) result.flags.push_back(models::in_words(one));
    }
    return result;
}

std::vector<BenchResult> last_results(const SeasonData& data, std::size_t wanted) {
    std::vector<const models::Test*> newest;
    for (const models::Test& test : data.tests) {
        if (test.method == models::Method::strip) newest.push_back(&test);
    }
    std::stable_sort(newest.begin(), newest.end(), [](const models::Test* a, const models::Test* b) {
        return std::tie(a->time.utc, a->test) > std::tie(b->time.utc, b->test);
    });
    if (newest.size() > wanted) newest.resize(wanted);
    std::map<int, ResultsView> seasons;
    std::optional<std::vector<models::FailedControl>> failed;
    std::vector<BenchResult> results;
    for (const models::Test* test : newest) {
        const auto index = sample_index(data, test->sample);
        if (!index) continue;
        if (data.samples[*index].stage == models::Stage::control) {
            if (!failed) failed = models::failed_controls(data.tests, data.samples, data.controls);
            results.push_back(result_of_control(data, *test, *failed));
            continue;
        }
        ResultsSettings settings;
        settings.season = season_of_test(data, *test);
        auto season = seasons.find(settings.season);
        if (season == seasons.end()) season = seasons.emplace(settings.season, results_of_season(data, settings)).first;
        for (const ResultRow& row : season->second.rows) {
            if (row.test.test != test->test) continue;
            results.push_back({row.test.test, row.test.sample, row.grain, row.test.time,
                               reads_cell(row.test.reading, row.test.don_mg_per_kg),
                               row.budget ? interval_cell(row.budget->truth) : "", row.flags});
        }
    }
    return results;
}

}  // namespace

BenchFacts bench_facts(const geo::Store& store, const models::ControlSchedule& schedule, std::size_t results,
                       bool lots_have_own) {
    SeasonData data = read_season_data(store);
    BenchFacts facts;
    facts.last = last_results(data, results);
    facts.kit_lots = store.kit_lots();
    facts.running = geo::running_strips(store);
    facts.names = geo::names_of_strips(store);
    facts.control_schedule = schedule;
    if (lots_have_own) facts.control_schedule.every_tests_of_lot = geo::control_rules_of_lots(store);
    facts.samples = std::move(data.samples);
    facts.controls = std::move(data.controls);
    facts.tests = std::move(data.tests);
    std::stable_sort(facts.tests.begin(), facts.tests.end(),
                     [](const models::Test& a, const models::Test& b) { return a.time.utc < b.time.utc; });
    return facts;
}

BenchDesk::BenchDesk(geo::Store& store, Settings settings, std::function<models::Stamp()> clock)
    : store_(store), settings_(std::move(settings)), clock_(std::move(clock)), bench_(facts()), seen_(last_record()) {}

BenchFacts BenchDesk::facts() const {
    return bench_facts(store_, settings_.control_schedule, settings_.last_results, !settings_.said_by_user);
}

std::string BenchDesk::last_record() const {
    return geo::end_of_chain(store_).sha256;
}

void BenchDesk::look_again() {
    const std::string now = last_record();
    if (now == seen_) return;
    bench_.learn(facts());
    seen_ = now;
}

DeskAnswer BenchDesk::take(const BenchLine& line) {
    look_again();
    return settle(bench_.take(line, clock_()));
}

DeskAnswer BenchDesk::settle(BenchAnswer answer) {
    DeskAnswer told{
        std::move(answer.says), std::move(answer.question), answer.refused, answer.show, answer.help, answer.leave};
    if (answer.writes.empty()) return told;
    try {
        geo::ImportOptions options;
        options.actor = settings_.actor;
        for (const BenchWrite& write : answer.writes) {
            if (write.withdraw_because.empty())
                geo::add_row(store_, write.kind, write.values, options);
            else
                geo::withdraw_row(store_, write.kind, write.values, write.withdraw_because, options.actor);
        }
    } catch (const models::Error& error) {
        bench_.not_written();
        told.refused = true;
        told.says.push_back(std::string("not recorded: ") + error.what());
        return told;
    }
    seen_ = last_record();
    for (std::string& sentence : bench_.written(facts(), clock_())) told.says.push_back(std::move(sentence));
    return told;
}

std::string bench_page(const BenchView& view) {
    std::string in_use;
    for (const benching::KeptWord& word : benching::kept_words()) {
        const auto kept = view.kept.find(word.column);
        const bool always = std::string(word.column) == "operator" || std::string(word.column) == "kit_lot";
        if (kept == view.kept.end() && !always) continue;
        in_use += fmt::format("{}{} {}", in_use.empty() ? "In use: " : ", ", word.label,
                              kept == view.kept.end() ? "not said" : kept->second);
    }
    std::string page = wrapped_text(in_use + ".");
    if (view.running.empty()) {
        page += "No strip is running.\n";
    } else {
        TextTable table({"running", "sample", "kit lot", ">ran", "read it at", "now", ""});
        for (const RunningView& one : view.running) {
            table.row({one.strip.strip, one.strip.sample, one.strip.kit_lot.empty() ? "–" : one.strip.kit_lot,
                       models::minutes_text(one.clock.ran),
                       one.window.why_none.empty() ? models::in_words(one.window) : "–",
                       models::in_words(one.clock, one.window), one.in_hand ? "in hand" : ""});
        }
        page += table.text();
    }
    if (!view.last.empty()) {
        TextTable table({"last tests", "sample", "time", ">reads", "90 % interval", "flags"});
        std::vector<std::string> flags;
        for (const BenchResult& one : view.last) {
            table.row({one.test, one.sample, models::to_text(one.time).substr(0, 16), one.reads,
                       one.interval.empty() ? "–" : one.interval,
                       one.flags.empty() ? "" : fmt::format("{}, see below", one.flags.size())});
            for (const std::string& flag : one.flags) flags.push_back(one.test + ": " + flag);
        }
        page += table.text() + "Contents in mg/kg. A screening result is no certificate.\n";
        for (const std::string& flag : flags) page += wrapped_text("Flag: " + flag + ".");
    }
    std::string control = (view.control.due ? "Control due: " : "No control is due: ") + view.control.why;
    if (view.control.tests_to && *view.control.tests_to > 0)
        control += fmt::format(", due in {}", *view.control.tests_to);
    page += wrapped_text(control + ".");
    if (view.question) page += wrapped_text("Waiting: " + *view.question + ".");
    return page;
}

models::Stamp machine_time() {
    const auto utc = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
    const std::time_t seconds = std::chrono::system_clock::to_time_t(utc);
    std::tm local{};
    localtime_r(&seconds, &local);
    return {utc, std::chrono::minutes(local.tm_gmtoff / 60)};
}

}  // namespace app
