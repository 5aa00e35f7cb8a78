#include "app/bench/bench_desk.h"

#include <algorithm>
#include <ctime>
#include <map>
#include <tuple>

#include <fmt/format.h>

#include "app/result_words.h"
#include "app/stages/results_stage.h"
#include "app/stages/season_data.h"
#include "geo/check.h"
#include "geo/import.h"
#include "geo/store/started_strips.h"
#include "geo/store/store.h"
#include "geo/tables/words.h"
#include "models/error.h"
#include "models/spoken.h"

namespace app {

namespace {

/// A control has no budget: it is held against what it accepts.
BenchResult result_of_control(const SeasonData& data, const models::Test& test) {
    BenchResult result{
        test.test, test.sample, models::phrase("control"), test.time, reads_cell(test.reading, test.don_mg_per_kg),
        "",        {}};
    if (test.reading == models::Reading::invalid) result.flags.push_back(models::phrase("void: {}", test.void_reason));
    if (const auto strip = data.strips.find(test.test); strip != data.strips.end()) {
        for (const models::StripFlag& flag : strip->second.flags) result.flags.push_back(flag.sentence);
    }
    return result;
}

void mark_by_controls(std::vector<BenchResult>& results, const std::vector<models::FailedControl>& failed) {
    for (BenchResult& result : results) {
        for (const models::FailedControl& one : failed) {
            if (one.test.test == result.test) result.failed = true;
            const auto& tests = one.in_doubt;
            if (std::find(tests.begin(), tests.end(), result.test) != tests.end()) result.in_doubt = true;
        }
    }
}

/// What grew in the field of a sample in the season in which it was taken.
std::optional<models::Crop> crop_of_sample(const SeasonData& data, std::size_t sample, const GrainOfSample& grain) {
    const std::optional<models::Stamp>& taken = data.samples[sample].taken_time;
    const auto crops = data.crops_by_field.find(grain.field);
    if (!taken || grain.field.empty() || crops == data.crops_by_field.end()) return std::nullopt;
    const int season = season_of(data, grain.field, taken->local_day());
    for (const std::size_t c : crops->second) {
        const models::CropRecord& crop = data.crops[c];
        if (crop.season == season && crop.part == grain.part) return crop.crop;
    }
    return std::nullopt;
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
    std::vector<BenchResult> results;
    for (const models::Test* test : newest) {
        const auto index = sample_index(data, test->sample);
        if (!index) continue;
        if (data.samples[*index].stage == models::Stage::control) {
            results.push_back(result_of_control(data, *test));
            continue;
        }
        ResultsSettings settings;
        settings.season = season_of_test(data, *test);
        auto season = seasons.find(settings.season);
        if (season == seasons.end()) season = seasons.emplace(settings.season, results_of_season(data, settings)).first;
        for (const ResultRow& row : season->second.rows) {
            if (row.test.test != test->test) continue;
            BenchResult& result = results.emplace_back();
            result = {row.test.test,
                      row.test.sample,
                      row.grain,
                      row.test.time,
                      reads_cell(row.test.reading, row.test.don_mg_per_kg),
                      "",
                      row.flags};
            if (!row.budget) continue;
            result.interval = interval_cell(row.budget->truth);
            result.parts = row.budget->parts;
            if (!row.budget->remedies.empty()) result.best_step = row.budget->remedies.front().what;
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
    facts.failed = models::failed_controls(data.tests, data.samples, data.controls);
    std::erase_if(facts.failed,
                  [](const models::FailedControl& one) { return one.test.method != models::Method::strip; });
    mark_by_controls(facts.last, facts.failed);
    for (const models::ControlSeries& series : models::control_series(data.tests, data.samples, data.controls)) {
        if (series.method == models::Method::strip && series.readings.size() > 1)
            facts.charts.push_back(models::control_chart(series));
    }
    for (std::size_t s = 0; s < data.samples.size(); ++s) {
        const std::string& sample = data.samples[s].sample;
        const GrainOfSample grain = grain_of_sample(data, s);
        const models::Load* load = load_named(data, grain.load);
        if (load != nullptr && load->commodity) {
            facts.grain[sample] = geo::words::word(*load->commodity);
            facts.load_grain[sample] = {load->load, facts.grain[sample]};
        } else if (const auto crop = crop_of_sample(data, s, grain)) {
            facts.grain[sample] = geo::words::word(*crop);
        }
    }
    facts.there = models::grain_there(data.samples, data.loads);
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
    BenchFacts facts = bench_facts(store_, settings_.control_schedule, settings_.last_results, !settings_.said_by_user);
    facts.choices = choices_at_bench(facts.kit_lots, facts.samples, facts.tests, facts.failed, clock_().local_day());
    return facts;
}

std::string BenchDesk::last_record() const {
    return geo::end_of_chain(store_).sha256;
}

void BenchDesk::look_again() {
    const std::string now = last_record();
    if (now != seen_) read_again();
}

void BenchDesk::read_again() {
    bench_.learn(facts());
    seen_ = last_record();
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
        if (settings_.write)
            settings_.write(store_, answer.writes, settings_.actor);
        else
            geo::write_rows(store_, answer.writes, settings_.actor);
    } catch (const models::Error& error) {
        bench_.not_written();
        told.refused = true;
        told.says.push_back(models::phrase("not recorded: {}", error.what()));
        return told;
    }
    seen_ = last_record();
    for (std::string& sentence : bench_.written(facts(), clock_())) told.says.push_back(std::move(sentence));
    return told;
}

models::Stamp machine_time() {
    const auto utc = std::chrono::floor<std::chrono::seconds>(std::chrono::system_clock::now());
    const std::time_t seconds = std::chrono::system_clock::to_time_t(utc);
    std::tm local{};
    localtime_r(&seconds, &local);
    return {utc, std::chrono::minutes(local.tm_gmtoff / 60)};
}

}  // namespace app
