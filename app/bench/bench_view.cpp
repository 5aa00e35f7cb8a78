#include <algorithm>

#include <fmt/format.h>

#include "app/bench/bench.h"
#include "app/bench/bench_words.h"

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
    view.control = models::control_due(facts_.tests, facts_.samples, facts_.controls, facts_.running, kept("kit_lot"),
                                       now, facts_.control_schedule);
    for (const models::ControlMaterial& control : facts_.controls) view.controls.push_back(control.control);
    if (pending_) view.question = fmt::format("the result of {} waits for its yes or no", pending_->sample);
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
            fmt::format("{}, strip {}: {}", described(strip.sample), strip.strip, models::in_words(clock, window)));
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

std::vector<std::string> Bench::about_kit_lot(const models::Stamp& now) const {
    const std::string name = kept("kit_lot");
    if (name.empty()) return {};
    std::vector<std::string> says;
    const models::ReadingWindow window =
        models::reading_window(facts_.kit_lots, name, kept("commodity"), kept_number("lot_dilution"));
    says.push_back(window.why_none.empty() ? "its strips are read at " + models::in_words(window)
                                           : "nothing says when its strips may be read: " + window.why_none);
    const models::ChosenKitLot chosen =
        models::choose_kit_lot(facts_.kit_lots, name, kept("commodity"), kept_number("lot_dilution"));
    if (chosen.lot == nullptr && window.why_none.empty())
        says.push_back(chosen.why_none + ": say it (grain, dilution), or nothing says what range its strips have");
    const models::KitLot* lot = lot_named(name);
    if (lot != nullptr && lot->expires && *lot->expires < now.local_day()) {
        says.push_back(
            fmt::format("kit lot {} was good until {}: its results are flagged", name, models::to_text(*lot->expires)));
    }
    return says;
}

std::vector<std::string> Bench::control_sentences(const models::Stamp& now) const {
    const models::ControlDue control = models::control_due(
        facts_.tests, facts_.samples, facts_.controls, facts_.running, kept("kit_lot"), now, facts_.control_schedule);
    if (!control.due) return {};
    std::vector<std::string> names;
    for (const models::ControlMaterial& one : facts_.controls) names.push_back(one.control);
    constexpr std::size_t named = 4;
    if (names.size() > named) names.resize(named);
    return {fmt::format("control due: {}; {}", control.why,
                        names.empty() ? "no control is in the store (lodicule add STORE controls control=...)"
                                      : "scan " + fmt::format("{}", fmt::join(names, " or ")))};
}

}  // namespace app
