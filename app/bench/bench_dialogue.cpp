#include "app/bench/bench_dialogue.h"

#include <algorithm>
#include <cerrno>

#include <fmt/format.h>
#include <poll.h>
#include <unistd.h>

#include "app/table_text.h"
#include "models/counted.h"

namespace app {

bool bench_dialogue(BenchDesk& desk, BenchLines& lines, const std::function<void(const std::string&)>& print) {
    const bool person = lines.has_a_person();
    const auto say = [&](const std::vector<std::string>& sentences) {
        for (const std::string& sentence : sentences) print(wrapped_text(sentence));
    };
    desk.bench().announcements(desk.now());
    print(bench_page(desk.view()));
    if (person) print("Scan a sample or type; help lists the words, end leaves.\n");
    bool refused = false;
    std::string question;
    while (true) {
        if (person) {
            const BenchView view = desk.view();
            const bool calls = view.control.due && !view.controls.empty();  // said once, and shown until it is done
            print(!question.empty() ? question + " > " : calls ? "control due > " : "> ");
        }
        BenchLine line;
        const BenchLines::Got got = lines.next(line, desk.bench().until_next(desk.now()));
        const auto news = desk.bench().announcements(desk.now());
        if (person && got == BenchLines::Got::nothing_yet) print(news.empty() ? "\n" : "\a\n");
        say(news);
        if (got == BenchLines::Got::nothing_yet) continue;
        if (got == BenchLines::Got::ended) break;
        const DeskAnswer answer = desk.take(line);
        refused = refused || answer.refused;
        say(answer.says);
        question = answer.question;
        if (!question.empty() && !person) print(wrapped_text(question));
        if (answer.help) print(bench_help());
        if (answer.show) print(bench_page(desk.view()));
        if (answer.leave) break;
    }
    const BenchView view = desk.view();
    if (person) print("\n");
    if (view.question) say({"not answered and not recorded: " + *view.question});
    if (!view.running.empty()) {
        say({fmt::format("{} on running and {} there when the bench is opened again",
                         models::counted(static_cast<long long>(view.running.size()), "strip goes", "strips go"),
                         models::by_number(static_cast<long long>(view.running.size()), "is", "are"))});
    }
    return refused;
}

InputLines::InputLines() : terminal_(::isatty(STDIN_FILENO) == 1) {}

BenchLines::Got InputLines::next(BenchLine& line, std::optional<std::chrono::seconds> patience) {
    using Clock = std::chrono::steady_clock;
    const auto asked = Clock::now();
    while (true) {
        const std::size_t end = waiting_.find('\n');
        if (end != std::string::npos || (ended_ && !waiting_.empty())) {
            const std::size_t length = std::min(end, waiting_.size());
            line.text = waiting_.substr(0, length);
            waiting_.erase(0, std::min(length + 1, waiting_.size()));
            const bool at_once = terminal_ && Clock::now() - asked < faster_than_a_person;
            line.from = at_once ? LineFrom::scanner : LineFrom::keys;
            return Got::line;
        }
        if (ended_) return Got::ended;
        int wait_ms = -1;
        if (patience) {
            const auto left = std::chrono::duration_cast<std::chrono::milliseconds>(asked + *patience - Clock::now());
            if (left.count() <= 0) return Got::nothing_yet;
            wait_ms = static_cast<int>(std::min<long long>(left.count(), 60'000));
        }
        pollfd input{STDIN_FILENO, POLLIN, 0};
        const int ready = ::poll(&input, 1, wait_ms);
        if (ready < 0 && errno != EINTR) ended_ = true;
        if (ready <= 0) continue;
        char part[4096];
        const ssize_t count = ::read(STDIN_FILENO, part, sizeof part);
        if (count < 0 && errno == EINTR) continue;
        if (count <= 0)
            ended_ = true;
        else
            waiting_.append(part, static_cast<std::size_t>(count));
        constexpr std::size_t most_waiting = 1 << 20;  // a line that never ends
        if (waiting_.size() > most_waiting) waiting_.resize(most_waiting), ended_ = true;
    }
}

}  // namespace app
