#include "app/window/bench_panel.h"

#include <utility>

#include "app/bench/bench_words.h"
#include "app/words.h"
#include "geo/store/started_strips.h"

namespace app::window {

namespace {

BenchDesk::Settings desk_settings(BenchPanel::Writer write) {
    BenchDesk::Settings settings;
    settings.last_results = 8;
    settings.write = std::move(write);
    return settings;
}

}  // namespace

BenchPanel::BenchPanel(const std::filesystem::path& store, std::function<models::Stamp()> clock, Writer write)
    : store_(geo::Store::open(store)), desk_(store_, desk_settings(std::move(write)), std::move(clock)) {
    desk_.bench().take_up();
    desk_.bench().announcements(desk_.now());
    view_ = desk_.view();
}

void BenchPanel::take_up_again(const std::string& strip, const std::map<std::string, std::string>& kept) {
    for (const benching::KeptWord& word : benching::kept_words()) {
        const auto found = kept.find(word.column);
        if (found != kept.end() && !found->second.empty()) desk_.bench().keep(word.word, found->second, desk_.now());
    }
    // Its name, as if it was typed: only where it runs, for any other code would start one.
    for (const RunningView& one : desk_.view().running)
        if (one.strip.strip == strip) desk_.bench().take({strip, LineFrom::keys}, desk_.now());
    view_ = desk_.view();
}

void BenchPanel::look_again() {
    desk_.look_again();
    view_ = desk_.view();
}

void BenchPanel::read_again() {
    desk_.read_again();
    view_ = desk_.view();
}

void BenchPanel::take(const BenchLine& line) {
    DeskAnswer answer = desk_.take(line);
    const bool looks_only = answer.show || answer.help || answer.refused;
    if (answer.leave) answer.says.push_back(spoken(words::bench_stays));
    question_ = std::move(answer.question);
    shows_help_ = answer.help;
    keep({line.text, std::move(answer.says), answer.refused, line.from == LineFrom::scanner});
    view_ = desk_.view();
    if (!view_.asks_yes_or_no)
        line_that_waits_.clear();
    else if (!looks_only)
        line_that_waits_ = line.text;
}

bool BenchPanel::listen() {
    std::vector<std::string> news = desk_.bench().announcements(desk_.now());
    if (news.empty()) return false;
    keep({"", std::move(news), false, false});
    return true;
}

const BenchView& BenchPanel::look() {
    view_ = desk_.view();
    return view_;
}

void BenchPanel::keep(Said said) {
    constexpr std::size_t most = 50;
    said_.push_back(std::move(said));
    if (said_.size() > most) said_.pop_front();
}

models::Stamp newest_at_bench(const geo::Store& store) {
    models::Stamp newest;
    const auto take = [&](const models::Stamp& time) {
        if (time.utc > newest.utc) newest = time;
    };
    for (const models::Test& test : store.tests()) take(test.time);
    for (const models::StartedStrip& strip : geo::running_strips(store)) take(strip.started);
    return newest;
}

}  // namespace app::window
