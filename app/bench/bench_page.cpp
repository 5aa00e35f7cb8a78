#include <algorithm>
#include <cctype>

#include <fmt/format.h>

#include "app/bench/bench_desk.h"
#include "app/bench/bench_words.h"
#include "app/table_text.h"
#include "models/counted.h"
#include "models/spoken.h"

namespace app {

std::string bench_in_use(const BenchView& view) {
    std::string text;
    for (const benching::KeptWord& word : benching::kept_words()) {
        const auto kept = view.kept.find(word.column);
        const bool always = std::string(word.column) == "operator" || std::string(word.column) == "kit_lot";
        if (kept == view.kept.end() && !always) continue;
        text += fmt::format(
            "{}{} {}", text.empty() ? "" : ", ", models::spoken(word.label),
            kept == view.kept.end() ? models::phrase("not said") : benching::kept_in_words(word.column, kept->second));
    }
    return models::phrase("In use: {}.", text);
}

std::string bench_control(const BenchView& view) {
    const models::ControlDue& control = view.control;
    std::string why = control.last_outside ? models::phrase("the last one reads outside what it accepts") : control.why;
    if (control.tests_to && *control.tests_to > 0) why += models::phrase(", due in {}", *control.tests_to);
    return control.due ? models::phrase("Control due: {}.", why) : models::phrase("No control is due: {}.", why);
}

namespace benching {

/// A screen of 24 lines, less the sentence about help and the line that is being typed.
constexpr long lines_of_a_screen = 22;

long lines_of(const std::string& text) {
    return std::count(text.begin(), text.end(), '\n');
}

std::string in_use_text(const BenchView& view) {
    return wrapped_text(bench_in_use(view));
}

std::string control_text(const BenchView& view) {
    return wrapped_text(bench_control(view));
}

std::string clocks_text(const BenchView& view) {
    if (view.running.empty()) return "No strip is running.\n";
    constexpr std::size_t most = 14;
    TextTable table({"running", "sample", "kit lot", ">ran", "read it at", "now", ""});
    std::size_t left_out = 0;
    for (const RunningView& one : view.running) {
        if (static_cast<std::size_t>(&one - view.running.data()) >= most && !one.in_hand) {
            ++left_out;
            continue;
        }
        table.row({one.strip.strip, one.strip.sample, one.strip.kit_lot.empty() ? "–" : one.strip.kit_lot,
                   models::minutes_text(one.clock.ran),
                   one.window.why_none.empty() ? models::in_words(one.window) : "–",
                   models::in_words(one.clock, one.window), one.in_hand ? "in hand" : ""});
    }
    const auto more = static_cast<long long>(left_out);
    return table.text() + (more == 0 ? "" : "and " + models::counted(more, "strip") + " started later\n");
}

std::string last_text(const BenchView& view, std::size_t most) {
    if (view.last.empty() || most == 0) return "";
    TextTable table({"last tests", "sample", "time", ">reads", "90 % interval", "sign"});
    std::string signs;
    const auto explain = [&](const char* sign, const char* words) {
        if (signs.find(sign) == std::string::npos) signs += std::string(signs.empty() ? "" : ", ") + sign + " " + words;
    };
    for (std::size_t i = 0; i < std::min(most, view.last.size()); ++i) {
        const BenchResult& one = view.last[i];
        const std::string sign =
            std::string(one.in_doubt ? "?" : "") + (one.failed ? "!" : "") + (one.flags.empty() ? "" : "*");
        if (one.in_doubt) explain("?", "in doubt");
        if (one.failed) explain("!", "failed control");
        if (!one.flags.empty()) explain("*", "flagged");
        table.row({one.test, one.sample, models::to_text(one.time).substr(0, 16), one.reads,
                   one.interval.empty() ? "–" : one.interval, sign});
    }
    return table.text() + wrapped_text("Contents in mg/kg. A screening result is no certificate." +
                                       (signs.empty() ? "" : " " + signs + "."));
}

/// Each sentence once, with the tests that it is said of, as far as there is room for them.
std::string flags_text(const BenchView& view, std::size_t shown, long room) {
    std::vector<std::pair<std::string, std::vector<std::string>>> flags;
    for (std::size_t i = 0; i < std::min(shown, view.last.size()); ++i) {
        for (const std::string& flag : view.last[i].flags) {
            auto known = std::find_if(flags.begin(), flags.end(), [&](const auto& one) { return one.first == flag; });
            if (known == flags.end()) known = flags.insert(flags.end(), {flag, {}});
            known->second.push_back(view.last[i].test);
        }
    }
    std::string text;
    long long left_out = 0;
    for (const auto& [flag, tests] : flags) {
        const std::string one = wrapped_text("* " + listed(tests) + ": " + flag + ".");
        const bool fits = lines_of(text) + lines_of(one) + 1 <= room;  // the one is for those that do not
        if (left_out == 0 && fits)
            text += one;
        else
            ++left_out;
    }
    if (left_out == 0 || room < 1) return text;
    return text + models::counted(left_out, text.empty() ? "flag" : "more flag") + ": lodicule results STORE\n";
}

}  // namespace benching

std::string bench_page(const BenchView& view) {
    using namespace benching;
    const std::string clocks = clocks_text(view), in_use = in_use_text(view), control = control_text(view);
    const std::string waiting = view.question ? wrapped_text("Waiting: " + *view.question + ".") : "";
    std::string doubts;
    constexpr std::size_t told = 2;  // the newest stand last
    for (std::size_t i = view.doubts.size() - std::min(told, view.doubts.size()); i < view.doubts.size(); ++i) {
        std::string sentence = view.doubts[i] + ".";
        sentence.front() = static_cast<char>(std::toupper(static_cast<unsigned char>(sentence.front())));
        doubts += wrapped_text(sentence);
    }
    const long room = lines_of_a_screen - lines_of(clocks) - lines_of(in_use) - lines_of(control) - lines_of(waiting) -
                      lines_of(doubts);
    // What runs is what hands wait for: it stands last, and results make room for it.
    std::size_t shown = view.last.size();
    while (shown > 1 && lines_of(last_text(view, shown)) > room) --shown;
    const std::string last = last_text(view, shown);
    return last + flags_text(view, shown, room - lines_of(last)) + doubts + control + in_use + clocks + waiting;
}

}  // namespace app
