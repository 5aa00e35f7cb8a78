#include "app/commands/terminal_progress.h"

#include <algorithm>
#include <chrono>
#include <csignal>
#include <cstdio>
#include <mutex>

#include <fmt/format.h>
#include <unistd.h>

namespace app::commands {

namespace {

using Clock = std::chrono::steady_clock;

volatile std::sig_atomic_t stop_was_asked = 0;
void ask_to_stop(int) {
    stop_was_asked = 1;
}

double seconds_since(Clock::time_point then) {
    return std::chrono::duration<double>(Clock::now() - then).count();
}

}  // namespace

struct TerminalProgress::Line {
    const bool shown = ::isatty(STDERR_FILENO) == 1;
    const Clock::time_point begun = Clock::now();
    std::mutex mutex;
    Clock::time_point phase = begun, written = begun;
    double last_share = 0.0;
    bool there = false;
    struct sigaction before {};

    void step(std::string_view what, double share) {
        constexpr double shown_after_s = 0.5, written_every_s = 0.1;
        const std::lock_guard lock(mutex);
        if (share < last_share) phase = Clock::now();  // the next piece of work
        last_share = share;
        if (!shown || seconds_since(begun) < shown_after_s || seconds_since(written) < written_every_s) return;
        written = Clock::now();
        fmt::print(stderr, "\r{:<79}", progress_line(what, share, seconds_since(phase)));
        std::fflush(stderr);
        there = true;
    }
    void clear() {
        const std::lock_guard lock(mutex);
        if (there) fmt::print(stderr, "\r{:79}\r", "");
        std::fflush(stderr);
        there = false;
    }
};

TerminalProgress::TerminalProgress()
    : line_(std::make_unique<Line>()), progress_([line = line_.get()](std::string_view what, double share) {
          line->step(what, share);
          return stop_was_asked == 0;
      }) {
    stop_was_asked = 0;
    struct sigaction once {};
    once.sa_handler = ask_to_stop;
    once.sa_flags = static_cast<int>(SA_RESETHAND | static_cast<unsigned>(SA_RESTART));
    ::sigaction(SIGINT, &once, &line_->before);
}

TerminalProgress::~TerminalProgress() {
    ::sigaction(SIGINT, &line_->before, nullptr);
    line_->clear();
}

void TerminalProgress::clear() {
    line_->clear();
}

std::string progress_line(std::string_view what, double share, double elapsed_s) {
    constexpr std::size_t widest = 56;
    std::string line(what.substr(0, widest));
    line += fmt::format("  {:3.0f} %", 100.0 * std::clamp(share, 0.0, 1.0));
    // A guess from less than a fiftieth would jump about.
    if (share > 0.02 && share < 1.0) line += fmt::format(", {:.0f} s left", elapsed_s * (1.0 - share) / share);
    return line;
}

}  // namespace app::commands
