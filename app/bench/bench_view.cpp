#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench.h"
#include "app/bench/bench_words.h"
#include "models/spoken.h"

/// What the bench shows, and what it says without being asked.
namespace app {

BenchView Bench::view(const models::Stamp& now) const {
    BenchView view;
    view.kept = kept_;
    for (const models::StartedStrip& strip : facts_.running) {
        const models::ReadingWindow window = window_of(strip);
        view.running.push_back({strip, window, models::clock_of(strip, window, now.utc), strip.strip == in_hand_});
    }
    view.last = facts_.last;
    view.choices = facts_.choices;
    view.control = control_due(now);
    view.doubts = doubts(now);
    for (const models::ControlMaterial& control : facts_.controls) view.controls.push_back(control.control);
    for (const models::ControlChart& chart : facts_.charts)
        if (chart.kit_lot == kept("kit_lot")) view.charts.push_back(chart);
    view.asks_yes_or_no = pending_.has_value();
    if (pending_) view.question = models::phrase("the result of {} waits for its yes or no", pending_->sample);
    if (asked_) view.question = fmt::format("sample {}: {}?", asked_->sample, asked_->column);
    return view;
}

std::vector<std::string> Bench::announcements(const models::Stamp& now) {
    std::vector<std::string> says;
    std::map<std::string, models::ClockState> seen;
    for (const models::StartedStrip& strip : facts_.running) {
        const models::ReadingWindow window = window_of(strip);
        const models::StripClock clock = models::clock_of(strip, window, now.utc);
        seen[strip.strip] = clock.state;
        const auto before = seen_.find(strip.strip);
        if (before == seen_.end() || before->second == clock.state) continue;
        if (clock.state != models::ClockState::readable && clock.state != models::ClockState::late) continue;
        says.push_back(
            models::phrase("{}, strip {}: {}", described(strip.sample), strip.strip, models::in_words(clock, window)));
    }
    seen_ = std::move(seen);
    return says;
}

std::optional<std::chrono::seconds> Bench::until_next(const models::Stamp& now) const {
    std::optional<std::chrono::seconds> next;
    for (const models::StartedStrip& strip : facts_.running) {
        const models::StripClock clock = models::clock_of(strip, window_of(strip), now.utc);
        if (!clock.left) continue;
        // The last second of its time is in it.
        const auto left = *clock.left + std::chrono::seconds(clock.state == models::ClockState::readable ? 1 : 0);
        next = next ? std::min(*next, left) : left;
    }
    return next;
}

models::ControlDue Bench::control_due(const models::Stamp& now) const {
    return models::control_due(facts_.tests, facts_.samples, facts_.controls, facts_.running, kept("kit_lot"), now,
                               facts_.control_schedule);
}

std::vector<std::string> Bench::control_news(const models::Stamp& now) {
    const models::ControlDue control = control_due(now);
    if (!control.due) {
        told_due_.reset();
        return {};
    }
    const std::string told = kept("kit_lot") + (control.last_outside ? ": " + control.why : "");  // names the test
    if (told_due_ == told) return {};
    told_due_ = told;
    std::vector<std::string> names;
    for (const models::ControlMaterial& one : facts_.controls) names.push_back(one.control);
    constexpr std::size_t named = 4;
    if (names.size() > named) names.resize(named);
    const std::string scanned = fmt::format("{}", fmt::join(names, models::phrase(" or ")));
    return {models::phrase(
        "control due: {}; {}",
        control.last_outside ? models::phrase("the last one reads outside what it accepts") : control.why,
        names.empty() ? models::phrase("no control is in the store (lodicule add STORE controls control=...)")
                      : models::phrase("scan {}", scanned))};
}

/// "all 13 results of today with K7 are in doubt: control C1 reads outside what it accepts (test B260726-03)"
std::vector<std::string> Bench::doubts(const models::Stamp& now, const std::string& by) const {
    // What shares a day and a kit lot shares its doubt, however many controls failed; the last of them is named.
    struct Run {
        models::LocalDay day;
        const models::FailedControl* last;
        std::set<std::string> in_doubt;
    };
    std::vector<Run> runs;
    for (const models::FailedControl& failed : facts_.failed) {
        const models::LocalDay day = failed.test.time.local_day();
        auto run = std::find_if(runs.begin(), runs.end(), [&](const Run& one) {
            return one.day == day && one.last->test.kit_lot == failed.test.kit_lot;
        });
        if (run == runs.end()) run = runs.insert(runs.end(), Run{day, &failed, {}});
        if (run->last->test.test != by) run->last = &failed;
        run->in_doubt.insert(failed.in_doubt.begin(), failed.in_doubt.end());
    }
    std::vector<std::string> sentences;
    for (const Run& run : runs) {
        const models::Test& test = run.last->test;
        const bool shown = std::any_of(facts_.last.begin(), facts_.last.end(), [&](const BenchResult& one) {
            return one.test == test.test || run.in_doubt.count(one.test) != 0;
        });
        if (by.empty() ? !shown && run.day != now.local_day() : test.test != by) continue;
        const std::string& control = run.last->control.control;
        const std::string failure = models::failure_in_words(*run.last);
        const std::string what =
            by.empty()                 ? (run.last->outside_bounds
                                              ? models::phrase("control {} reads outside what it accepts (test {})", control, test.test)
                                              : models::phrase("control {} breaks a rule of its chart (test {})", control, test.test))
            : run.last->outside_bounds ? models::phrase("control {} reads {} (test {})", control, failure, test.test)
                                       : fmt::format("{} {}", models::phrase("control {}", control),
                                                     models::phrase("{} (test {})", failure, test.test));
        const std::string day = run.day == now.local_day() ? models::phrase("today") : models::to_text(run.day);
        const std::string of = test.kit_lot.empty() ? day : models::phrase("{} with {}", day, test.kit_lot);
        const std::size_t count = run.in_doubt.size();
        if (count == 0)
            sentences.push_back(models::phrase("{}; no result of {} is there to be in doubt", what, of));
        else if (count == 1)
            sentences.push_back(models::phrase("the one result of {} is in doubt: {}", of, what));
        else
            sentences.push_back(count == 2 ? models::phrase("both results of {} are in doubt: {}", of, what)
                                           : models::phrase("all {} results of {} are in doubt: {}", count, of, what));
    }
    return sentences;
}

}  // namespace app
