#include "app/window/bench_panel.h"

#include <utility>

#include "app/words.h"
#include "geo/store/started_strips.h"

namespace app::window {

namespace {

BenchDesk::Settings desk_settings() {
    BenchDesk::Settings settings;
    settings.last_results = 8;
    return settings;
}

}  // namespace

BenchPanel::BenchPanel(const std::filesystem::path& store, std::function<models::Stamp()> clock)
    : store_(geo::Store::open(store)), desk_(store_, desk_settings(), std::move(clock)) {
    desk_.bench().take_up();
    desk_.bench().announcements(desk_.now());
    view_ = desk_.view();
}

void BenchPanel::take(const BenchLine& line) {
    DeskAnswer answer = desk_.take(line);
    if (answer.leave) answer.says.push_back(words::bench_stays);
    question_ = std::move(answer.question);
    shows_help_ = answer.help;
    keep({line.text, std::move(answer.says), answer.refused, line.from == LineFrom::scanner});
    view_ = desk_.view();
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
